"""What lies in the results folder: which results, from which input, with which files."""

from __future__ import annotations

import csv
import io
import json
import shutil
import zipfile
from datetime import datetime
from pathlib import Path
from typing import Any

from fiddlehead.errors import FiddleheadError, InputError, StoreError
from fiddlehead.files import write_folder
from fiddlehead.material.card_file import read_card
from fiddlehead.project.check import Examination
from fiddlehead.report.export.store import load_bend_result, load_block_result, load_lateral_result
from fiddlehead.report.results import CONTENTS
from fiddlehead.report.summary import summarise_bend, summarise_block, summarise_lateral
from fiddlehead.web.scenes import is_scene

KEPT = "kept"
"""Folder of results that were put aside under a name, to be compared."""
ROWS = 5000
"""Rows of a table that are sent to the page."""


def overview(results: Path, hashes: dict[str, str]) -> list[dict[str, Any]]:
    """Every result with its place below ``results``, its files, and whether it still holds.

    Parameters
    ----------
    hashes : of the project and its material as they are now; empty when that cannot be said
    """
    found = []
    for marked in sorted(results.rglob(CONTENTS)):
        try:
            contents = json.loads(marked.read_text(encoding="utf-8"))
            listed = [str(name) for name in contents["files"]]
            kind = str(contents["kind"])
        except (OSError, ValueError, KeyError, TypeError):
            continue
        folder = marked.parent
        known = contents.get("input_hash_sha256")
        now = hashes.get("material" if kind == "material" else "project")
        found.append(
            {
                "place": folder.relative_to(results).as_posix(),
                "kind": kind,
                "written": datetime.fromtimestamp(marked.stat().st_mtime)
                .astimezone()
                .isoformat(timespec="seconds"),
                "fits": None if not (known and now) else known == now,
                "files": [name for name in listed if (folder / name).is_file()],
                "scenes": [
                    place.relative_to(results).as_posix()
                    for place in (folder, *sorted(p for p in folder.iterdir() if p.is_dir()))
                    if is_scene(place)
                ],
            }
        )
    return found


def summary(results: Path, place: Path, found: Examination) -> dict[str, list[str]]:
    """What a bending, block or lateral result says in sentences, and its warnings; others tell
    themselves by their tables.

    Raises
    ------
    StoreError : it cannot be read
    """
    sections = found.require()
    card = read_card(results / "material" / "card.toml")
    name = json.loads((place / CONTENTS).read_text(encoding="utf-8"))["kind"]
    if name == "bend":
        told = summarise_bend(
            load_bend_result(place), sections.loads, card, first=sections.tests.bend.bending_angle
        )
    elif name == "block":
        parts = [load_block_result(f.parent) for f in sorted(place.rglob("record.json"))]
        told = summarise_block(parts, sections.loads, card)
    elif name == "lateral":
        told = summarise_lateral(load_lateral_result(place), card)
    else:
        return {"sentences": [], "warnings": []}
    return {"sentences": list(told.sentences), "warnings": list(told.warnings)}


def table(path: Path) -> dict[str, Any]:
    """A CSV of ours as columns; numbers where a whole column holds them.

    Raises
    ------
    StoreError : it cannot be read
    """
    try:
        rows = list(csv.reader(io.StringIO(path.read_text(encoding="utf-8"))))
    except (OSError, ValueError, csv.Error) as error:
        raise StoreError("this table cannot be read", where=path.name) from error
    head, body = (rows[0], rows[1:]) if rows else ([], [])
    columns = [[row[k] if k < len(row) else "" for row in body[:ROWS]] for k in range(len(head))]
    return {
        "names": head,
        "columns": [_numbers(column) for column in columns],
        "rows": len(body),
    }


def _numbers(cells: list[str]) -> list[Any]:
    try:
        numbers = [float(cell) if cell else None for cell in cells]
    except ValueError:
        return list(cells)
    if not any(number is not None for number in numbers):
        return list(cells)
    finite = [n if n is None or abs(n) < float("inf") else None for n in numbers]
    return [None if n is None or n != n else n for n in finite]


def zipped(folder: Path) -> bytes:
    """A results folder as one archive."""
    whole = io.BytesIO()
    with zipfile.ZipFile(whole, "w", zipfile.ZIP_DEFLATED) as archive:
        for path in sorted(folder.rglob("*")):
            if path.is_file() and not path.is_symlink():
                archive.write(path, f"{folder.name}/{path.relative_to(folder).as_posix()}")
    return whole.getvalue()


def keep(results: Path, place: str, name: str) -> None:
    """Put a copy of a result aside under a name, to compare later ones with.

    Raises
    ------
    InputError : the name is no plain word
    StoreError : there is no such result, or it cannot be written
    """
    if not name or len(name) > 40 or not all(c.isalnum() or c in " -_." for c in name):
        raise InputError(
            "this name cannot be used", found=name[:60], allowed="letters, digits, spaces, - _ ."
        )
    source = results / place
    if not (source / CONTENTS).is_file():
        raise StoreError("there is no such result", where=place)

    def fill(folder: Path) -> None:
        shutil.copytree(source, folder, dirs_exist_ok=True)

    write_folder(results / KEPT / name.strip(". ") / source.name, fill, ours=CONTENTS)


def law_of_card(results: Path) -> dict[str, Any] | None:
    """The material card in a few words; ``None`` before a fit."""
    try:
        card = read_card(results / "material" / "card.toml")
    except (OSError, FiddleheadError):
        return None
    return {
        "name": card.name,
        "law": card.law_name,
        "constants": dict(card.constants),
        "youngs_modulus_mpa": card.youngs_modulus_mpa,
        "bulk_modulus_mpa": card.bulk_modulus_mpa,
        "reason": card.reason,
        "warnings": list(card.warnings),
    }

"""Files dropped on the page: what may come in, where it goes, and a first look at it."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

import numpy as np

from fiddlehead.errors import InputError
from fiddlehead.files import write_bytes
from fiddlehead.web.pack import packed

SHOWN = 8
"""Rows of a table that are shown."""
DELIMITERS = {"tab": "\t", "semicolon": ";", "comma": ","}
"""Looked for in this order: a comma may also be a decimal mark."""
HINTS = {
    "time": ("time", "elapsed", "clock", "t [", "t("),
    "pressure": ("press", "kpa", "psi", "mbar", "bar"),
    "force": ("force", "load", "newton", "kraft"),
    "angle": ("angle", "bend", "deg"),
    "temperature": ("temp", "celsius"),
    "deflection": ("deflection", "displacement", "travel"),
    "strain": ("strain", "stretch"),
    "stress": ("stress",),
    "extension": ("extension", "elongation", "stroke"),
    "specimen": ("specimen", "sample"),
    "finger": ("finger",),
    "repeat": ("run", "repeat"),
}
"""Words in a header that betray what a column holds."""


def _is_text(data: bytes) -> bool:
    return b"\0" not in data[:65536]


def _is_stl(data: bytes) -> bool:
    faces = int.from_bytes(data[80:84], "little")
    return len(data) == 84 + 50 * faces or data.lstrip()[:5].lower() == b"solid"


@dataclass(frozen=True)
class Drawer:
    """One kind of upload: the folder it goes to, and endings with what the bytes must look like."""

    folder: str
    kinds: dict[str, Callable[[bytes], bool]]


TABLES: dict[str, Callable[[bytes], bool]] = {".csv": _is_text, ".tsv": _is_text, ".txt": _is_text}
WORKBOOK: dict[str, Callable[[bytes], bool]] = {".xlsx": lambda data: data[:2] == b"PK"}
PHOTOS: dict[str, Callable[[bytes], bool]] = {
    ".jpg": lambda data: data[:3] == b"\xff\xd8\xff",
    ".jpeg": lambda data: data[:3] == b"\xff\xd8\xff",
    ".png": lambda data: data[:8] == b"\x89PNG\r\n\x1a\n",
}
DRAWERS = {
    "tensile": Drawer("tensile", TABLES),
    "bench": Drawer("bench", TABLES | WORKBOOK),
    "photos": Drawer("bench/photos", PHOTOS),
    "coupons": Drawer("coupons", TABLES),
    "objects": Drawer("objects", {".stl": _is_stl}),
}


def store(folder: Path, drawer: str, name: str, data: bytes) -> str:
    """Write an upload into the project; returns its path from the project's folder.

    A file of the same name is kept: the new one gets a number, unless both are the same.

    Raises
    ------
    InputError : a kind that is not taken here, an empty file, or a name that is none
    StoreError : it cannot be written
    """
    place = DRAWERS.get(drawer)
    if place is None:
        raise InputError("there is no such place for files", found=drawer[:40])
    clean = _clean(name)
    suffix = PurePosixPath(clean).suffix.lower()
    fits = place.kinds.get(suffix)
    if fits is None:
        raise InputError(
            "this kind of file is not taken here", found=clean, allowed=", ".join(place.kinds)
        )
    if not data:
        raise InputError("this file is empty", found=clean)
    if not fits(data):
        raise InputError(
            "what is in this file does not fit its ending", found=clean, remedy="Export it again."
        )
    path = folder / place.folder / clean
    number = 2
    while path.exists() and path.read_bytes() != data:
        path = folder / place.folder / f"{PurePosixPath(clean).stem}-{number}{suffix}"
        number += 1
    if not path.exists():
        write_bytes(path, data)
    return path.relative_to(folder).as_posix()


def _clean(name: str) -> str:
    """The last part of a name in characters every system takes."""
    last = name.replace("\\", "/").rsplit("/", 1)[-1]
    kept = "".join(c if c.isalnum() or c in "._- " else "_" for c in last).strip(" .")
    if not kept or len(kept) > 100:
        raise InputError("this file has no usable name", found=name[:100], remedy="Rename it.")
    return kept


def preview(path: Path) -> dict[str, Any]:
    """The head of a table: delimiter, columns, first rows, and what each column may hold.

    Raises
    ------
    InputError : no table can be seen in it
    """
    if path.suffix.lower() in (".xlsx", ".xlsm"):
        rows, delimiter = _workbook_rows(path), ""
    else:
        text = _decoded(path.read_bytes()[:200_000])
        lines = [line for line in text.splitlines() if line.strip() and line.lstrip()[:1] != "#"]
        delimiter = next((d for d, mark in DELIMITERS.items() if _separates(lines, mark)), "comma")
        rows = list(csv.reader(io.StringIO("\n".join(lines)), delimiter=DELIMITERS[delimiter]))
    head = _header_row(rows)
    if head is None:
        raise InputError(
            "no table with a header can be seen in this file",
            found=path.name,
            remedy="Export it as CSV with one line of column names.",
        )
    names = [cell.strip() for cell in rows[head]]
    body = rows[head + 1 :]
    decimal = "," if delimiter != "comma" and _decimal_commas(body) else "."
    return {
        "file": path.name,
        "delimiter": delimiter,
        "decimal": decimal,
        "columns": names,
        "rows": body[:SHOWN],
        "guesses": {name: guess for name in names if (guess := _guess(name))},
    }


def _decoded(data: bytes) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("latin-1")


def _separates(lines: list[str], mark: str) -> bool:
    """Whether most lines have this mark, and as often as each other."""
    counts = [line.count(mark) for line in lines[:50]]
    usual = max(set(counts), key=counts.count) if counts else 0
    return usual > 0 and 2 * counts.count(usual) > len(counts)


def _header_row(rows: list[list[str]]) -> int | None:
    """The last row of words before the numbers begin; a row of units below it is passed over."""
    for number in range(1, min(len(rows), 60)):
        cells = [cell for cell in rows[number] if cell.strip()]
        if cells and sum(_is_number(cell) for cell in cells) * 2 >= len(cells):
            words = [n for n in range(number) if len(rows[n]) == len(rows[number])]
            named = [n for n in words if not any(_is_number(cell) for cell in rows[n])]
            return named[0] if named else None
    return None


def _is_number(cell: str) -> bool:
    try:
        float(cell.strip().replace(",", "."))
    except ValueError:
        return False
    return True


def _decimal_commas(rows: list[list[str]]) -> bool:
    cells = [cell for row in rows[:200] for cell in row]
    return any("," in c and _is_number(c) for c in cells) and not any(
        "." in c and _is_number(c) for c in cells
    )


def _guess(name: str) -> str:
    low = name.lower()
    return next((what for what, words in HINTS.items() if any(w in low for w in words)), "")


def _workbook_rows(path: Path) -> list[list[str]]:
    from fiddlehead.bench.spreadsheet import first_rows

    return first_rows(path, 200)


def object_shape(path: Path) -> bytes:
    """An uploaded object as a surface with its sizes, packed for the page.

    Raises
    ------
    InputError : no closed surface
    """
    from fiddlehead.objects.scan import read_surface

    points, faces = read_surface(path)
    a, b, c = (points[faces[:, k]] for k in range(3))
    head = {
        "steps": [{"label": path.name}],
        "fields": [],
        "size_mm": [float(length) for length in np.ptp(points, axis=0)],
        "volume_cm3": float(np.einsum("ti,ti->", a, np.cross(b, c))) / 6e3,
    }
    arrays = {"positions": points[None].astype("<f4"), "triangles": faces.astype("<u4")}
    return packed(head, arrays)

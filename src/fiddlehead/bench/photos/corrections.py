"""Marks set by hand where the program did not find them: a table beside the photos."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from fiddlehead.bench.photos.records import PhotoReading, Setup
from fiddlehead.errors import CurveError
from fiddlehead.files import write_text
from fiddlehead.material.delimited import read_table

COLUMNS = ("file", "mark", "x_px", "y_px", "use")


@dataclass(frozen=True)
class Correction:
    """What a person said about one photo.

    places : mark number (from 1: root, path, tip) to pixel, NaN for "not visible"
    rejected : the photo is not to be used
    """

    places: dict[int, tuple[float, float]] = field(default_factory=dict)
    rejected: bool = False


def read_corrections(path: Path, setup: Setup) -> dict[str, Correction]:
    """Corrections by photo name.

    A row with ``use`` = ``no`` and no mark rejects the photo, with a mark it hides the mark.

    Raises
    ------
    CurveError : no such mark, or half a position
    """
    table = read_table(path, list(COLUMNS))
    found: dict[str, Correction] = {}
    for line, cells in table.rows:
        row = dict(zip(table.header, (*cells, *[""] * len(table.header)), strict=False))
        if not row["x_px"] and row["use"].lower() not in ("no", "yes"):
            continue
        correction = found.setdefault(row["file"], Correction())
        if not row["mark"]:
            found[row["file"]] = Correction(correction.places, row["use"].lower() == "no")
            continue
        try:
            mark = int(row["mark"])
            hidden = row["use"].lower() == "no"
            place = (np.nan, np.nan) if hidden else (float(row["x_px"]), float(row["y_px"]))
        except ValueError:
            mark, place = 0, (np.nan, np.nan)
        if not 1 <= mark <= len(setup.marks):
            raise CurveError(
                "this correction cannot be read",
                where=f"{path.name} line {line}",
                found=", ".join(cells),
                allowed=f"mark 1 to {len(setup.marks)}, and its place in pixels from the top left",
            )
        correction.places[mark] = place
    return found


def write_corrections(path: Path, readings: Sequence[PhotoReading]) -> Path:
    """All marks as found, as a table to correct and declare as ``corrections``.

    Raises
    ------
    StoreError : the place cannot be written
    """
    rows = [",".join(COLUMNS)]
    for reading in readings:
        for number, (x, y) in enumerate(reading.marks_px, start=1):
            place = f"{x:.2f},{y:.2f}" if np.isfinite(x) else ","
            rows.append(f"{reading.source},{number},{place},")
    return write_text(path, "\n".join(rows) + "\n")

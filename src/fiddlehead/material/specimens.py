"""Test specimens: the section that carries the force and the length that is stretched."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from importlib.resources import files
from statistics import median

from fiddlehead.errors import CurveError

THICKNESS_SPREAD = 0.02
"""Readings further than this from their median make a specimen invalid (ISO 37, section on
thickness measurement)."""


@dataclass(frozen=True)
class StandardSpecimen:
    """One row of the table of standard dumb-bells, with where the numbers are from."""

    name: str
    narrow_width_mm: float
    narrow_length_mm: float
    thickness_mm: float
    gauge_length_mm: float
    source: str


@cache
def standard_specimens() -> dict[str, StandardSpecimen]:
    """The shipped table (ISO 37, ASTM D412, ISO 527-2), by name."""
    text = (files("fiddlehead.material") / "specimens.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(line for line in text.splitlines() if not line.startswith("#"))
    return {
        row["name"]: StandardSpecimen(
            row["name"],
            float(row["narrow_width_mm"]),
            float(row["narrow_length_mm"]),
            float(row["thickness_mm"]),
            float(row["gauge_length_mm"]),
            row["source"],
        )
        for row in rows
    }


def standard_specimen(name: str, *, where: str) -> StandardSpecimen:
    """Look a specimen up by name.

    Raises
    ------
    CurveError : not in the table; the message gives the nearest name
    """
    table = standard_specimens()
    if name in table:
        return table[name]
    near = get_close_matches(name, table, n=1, cutoff=0.3)
    raise CurveError(
        "this specimen is not in the table",
        where=where,
        found=repr(name),
        allowed=", ".join(table),
        remedy=(f"Did you mean {near[0]!r}? " if near else "")
        + "Or give width_mm, thickness_mm and gauge_length_mm by hand.",
    )


def median_thickness(readings: float | Sequence[float], *, where: str) -> float:
    """Thickness of a specimen in mm: the median of the readings, each within 2 % of it (ISO 37).

    Raises
    ------
    CurveError : a reading is further off (the specimen is to be rejected), or none is given
    """
    values = [readings] if isinstance(readings, int | float) else list(readings)
    if not values:
        raise CurveError("no thickness reading", where=where, remedy="Give at least one, in mm.")
    middle = median(values)
    worst = max(values, key=lambda value: abs(value - middle))
    if abs(worst - middle) > THICKNESS_SPREAD * abs(middle) * (1 + 1e-9):
        raise CurveError(
            "the thickness readings of this specimen differ too much",
            where=where,
            found=", ".join(f"{value:g}" for value in values) + " mm",
            allowed=f"each within 2 % of the median {middle:g} mm (ISO 37)",
            remedy="Leave this specimen out, or measure again.",
        )
    return float(middle)

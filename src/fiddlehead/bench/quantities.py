"""What a bench column can hold, and how its cells become numbers in one unit."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from datetime import datetime
from typing import NamedTuple

import numpy as np
from jaxtyping import Float

from fiddlehead.errors import CurveError, ParameterError
from fiddlehead.units import convert, find


class Quantity(NamedTuple):
    """One kind of column: name in a record, unit there, and words that betray it in a header."""

    record: str
    unit: str
    words: tuple[str, ...]


QUANTITIES: dict[str, Quantity] = {
    "time": Quantity("time_s", "s", ("time", "elapsed", "clock")),
    "pressure": Quantity("pressure_kpa", "kPa", ("press", "kpa", "psi", "mbar", "bar")),
    "force": Quantity("force_n", "N", ("force", "load", "newton")),
    "angle": Quantity("angle_deg", "deg", ("angle", "bend", "deg")),
    "temperature": Quantity("temperature_c", "degC", ("temp", "celsius")),
    "deflection": Quantity("deflection_mm", "mm", ("deflection", "displacement", "travel")),
    "twist": Quantity("twist_deg", "deg", ("twist",)),
    "tip_x": Quantity("tip_x_mm", "mm", ("tip_x",)),
    "tip_y": Quantity("tip_y_mm", "mm", ("tip_y",)),
    "cycles": Quantity("cycles", "1", ("cycle",)),
    "failed": Quantity("failed", "yes/no", ("failed",)),
    "picked": Quantity("picked", "yes/no", ("picked",)),
    "damaged": Quantity("damaged", "yes/no", ("damaged",)),
}

NEEDED: dict[str, tuple[str, ...]] = {
    "bend": ("pressure", "angle"),
    "block": ("pressure", "force"),
    "lateral": ("deflection", "force"),
    "step": ("time", "pressure", "angle"),
    "creep": ("time", "angle"),
    "leak": ("time", "pressure"),
    "life": ("cycles", "failed"),
    "picks": ("picked",),
    "pull_off": ("force",),
}
"""Columns each test cannot do without; others are kept where they are declared."""

TEMPERATURES = ("degC", "K", "degF")
YES = {"1", "yes", "y", "true", "ok", "x", "1.0"}
NO = {"0", "no", "n", "false", "-", "0.0"}
_NUMBER = re.compile(r"\s*([-+]?(?:\d+(?:[.,]\d*)*|[.,]\d+)(?:[eE][-+]?\d+)?)\s*(.*?)\s*$")
_CLOCK = re.compile(r"\s*(?:(\d+):)?(\d{1,2}):(\d{1,2}(?:[.,]\d+)?)\s*$")


class Parsed(NamedTuple):
    """A column as numbers in the record's unit (NaN where a cell held none), and its own units."""

    numbers: Float[np.ndarray, " row"]
    units: tuple[str, ...]


def parse_cells(
    quantity: str, cells: Sequence[str], unit: str = "", *, decimal: str = "auto"
) -> Parsed:
    """Turn the cells of one column into numbers.

    A cell may carry its own unit (``1.5 bar``), which wins over the declared one; time may be a
    clock (``12:03:05.5``) or a date with a clock (ISO 8601), counted from the first.

    Parameters
    ----------
    quantity : a name of :data:`QUANTITIES`
    unit : declared unit; the record's own when empty
    decimal : ``"."``, ``","`` or ``"auto"``

    Raises
    ------
    CurveError, ParameterError : unknown quantity or unit
    """
    own = QUANTITIES[quantity].unit
    declared = unit or own
    check_unit(quantity, declared)
    if own == "yes/no":
        return Parsed(np.array([_flag(cell) for cell in cells]), ())
    comma = decimal == "," or (decimal == "auto" and _decimal_comma(cells))
    numbers = np.full(len(cells), np.nan)
    found: dict[str, None] = {}
    for row, cell in enumerate(cells):
        seconds = _clock(cell) if quantity == "time" else math.nan
        if math.isfinite(seconds):
            numbers[row] = seconds
            continue
        value, written = _number(cell, comma)
        if not math.isfinite(value):
            continue
        here = written or declared
        try:
            check_unit(quantity, here)
        except ParameterError:
            continue
        if written:
            found[written] = None
        numbers[row] = to_record_unit(value, here, own)
    if quantity == "time" and any(":" in cell for cell in cells):
        numbers = _from_the_first(numbers)
    return Parsed(numbers, tuple(found))


DAY_S = 86400.0


def _from_the_first(clock_s: Float[np.ndarray, " row"]) -> Float[np.ndarray, " row"]:
    """Clock times counted from the first; a fall by more than half a day is midnight."""
    good = np.flatnonzero(np.isfinite(clock_s))
    if not len(good):
        return clock_s
    counted = clock_s.copy()
    nights = np.cumsum(np.diff(clock_s[good], prepend=clock_s[good[0]]) < -0.5 * DAY_S)
    counted[good] += DAY_S * nights - clock_s[good[0]]
    return counted


def check_unit(quantity: str, unit: str) -> None:
    """Refuse a unit that does not measure ``quantity``.

    Raises
    ------
    ParameterError : unknown unit, or one of something else
    """
    own = QUANTITIES[quantity].unit
    if own == "degC":
        if unit not in TEMPERATURES:
            raise ParameterError(
                "no unit of temperature", found=repr(unit), allowed=", ".join(TEMPERATURES)
            )
    elif own != "yes/no" and find(unit).quantity != find(own).quantity:
        raise ParameterError(
            f"{unit} does not measure {quantity}", found=unit, allowed=f"a unit like {own}"
        )


def to_record_unit(value: float, unit: str, own: str) -> float:
    """``value`` in the unit a record keeps; temperatures by their definitions (SI brochure)."""
    if own != "degC":
        return float(convert(value, unit, own))
    if unit == "K":
        return value - 273.15
    return (value - 32.0) / 1.8 if unit == "degF" else value


def _decimal_comma(cells: Sequence[str]) -> bool:
    commas = any("," in cell for cell in cells)
    if commas and any("." in cell for cell in cells):
        raise CurveError(
            "this column holds points and commas; which one is the decimal mark?",
            found=next(cell for cell in cells if "," in cell).strip(),
            allowed="one decimal mark and no thousands separator",
            remedy='Declare decimal = "." or decimal = ",".',
        )
    return commas


def _number(cell: str, comma: bool) -> tuple[float, str]:
    match = _NUMBER.match(cell)
    if match is None:
        return math.nan, ""
    text = match[1].replace(",", ".") if comma else match[1]
    try:
        return float(text), match[2]
    except ValueError:
        return math.nan, ""


def _clock(cell: str) -> float:
    match = _CLOCK.match(cell)
    if match:
        hours, minutes, seconds = match[1] or "0", match[2], match[3].replace(",", ".")
        return 3600.0 * int(hours) + 60.0 * int(minutes) + float(seconds)
    if ":" in cell:
        try:
            return datetime.fromisoformat(cell.strip()).timestamp()
        except ValueError:
            return math.nan
    return math.nan


def _flag(cell: str) -> float:
    word = cell.strip().lower()
    return 1.0 if word in YES else 0.0 if word in NO else math.nan

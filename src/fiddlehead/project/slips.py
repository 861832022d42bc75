"""Slips of the pen: units swapped, names misspelt. Only suggestions; the user decides."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches

from fiddlehead.units import convert, find, say, unit_of_field

_LIKELY = {
    "kPa": ("bar", "MPa", "psi", "Pa"),
    "MPa": ("kPa", "Pa", "bar", "psi", "GPa"),
    "mm": ("m", "cm", "in", "um"),
    "deg": ("rad",),
    "g/cm3": ("kg/m3",),
}
"""Per unit of an entry the units people type instead, the likeliest first."""

_TYPED_AS = {"bar": "bar", "psi": "psi", "pa": "Pa", "mpa": "MPa", "kpa": "kPa", "mbar": "mbar"}
_TYPED_AS |= {"mm": "mm", "cm": "cm", "m": "m", "um": "um", "in": "in", "inch": "in"}
_TYPED_AS |= {"deg": "deg", "rad": "rad"}


FAR = 4.0
"""A value within this factor of the usual range is unusual, not in another unit (our choice)."""


def meant(value: float, unit: str, usual: tuple[float, float]) -> str:
    """Which other unit would make ``value`` a usual one, as a sentence; ``""`` if none does.

    ``meant(2, "kPa", (20, 350))`` answers ``"If you meant 2 bar, write 200."``
    """
    low, high = usual
    if low / FAR <= value <= high * FAR:
        return ""
    if unit == "%":
        if low <= 100.0 * value <= high:
            return f"If you meant the fraction {value:g}, write {100.0 * value:g}."
        return ""
    for other in _LIKELY.get(unit, ()):
        turned = convert(value, other, unit)
        if low <= turned <= high:
            return f"If you meant {say(value, other, 6)}, write {turned:.6g}."
    return ""


def nearest(name: str, known: Iterable[str]) -> str:
    """The known name most like ``name``, ``""`` if none is near."""
    names = list(known)
    stem = _stem(name)
    for candidate in names:
        if _stem(candidate) == stem:
            return candidate
    close = get_close_matches(name, names, n=1, cutoff=0.6)
    return close[0] if close else ""


def other_unit_in_name(name: str, known: Iterable[str]) -> tuple[str, str]:
    """For ``working_pressure_bar`` the entry ``working_pressure_kpa`` and the unit ``bar``."""
    stem, _, ending = name.rpartition("_")
    unit = _TYPED_AS.get(ending.lower(), "")
    for candidate in known:
        own = unit_of_field(candidate)
        if unit and own and _stem(candidate) == stem and find(unit)[0] == find(own)[0]:
            return candidate, unit
    return "", ""


def _stem(name: str) -> str:
    """A name without its unit: ``pitch_mm`` and ``pitch`` share one."""
    head, _, ending = name.rpartition("_")
    return head if ending in ("mm", "kpa", "mpa", "deg", "percent", "mm2") else name

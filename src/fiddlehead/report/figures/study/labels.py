"""Names of variables and quantities as axes show them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from jaxtyping import Int

from fiddlehead.study.space import Value
from fiddlehead.units import say, unit_of_field, written_unit

MORE_UNITS = {"_n_per_mm": "N/mm", "_g": "g", "_min": "min"}
MOST_MARKS = 2000
"""Designs a crowded picture shows at most; it says so when there are more."""


def split_unit(name: str) -> tuple[str, str]:
    """``"mass_g"`` as ``("mass", "g")``."""
    for ending, unit in MORE_UNITS.items():
        if name.endswith(ending):
            return name.removesuffix(ending).replace("_", " "), unit
    unit = unit_of_field(name)
    words = name.split("_")
    if unit:
        ending = {"%": "percent", "°": "deg"}.get(unit, unit.lower())
        words = words[:-1] if words[-1] == ending or unit != "" else words
    return " ".join(words), written_unit(unit)


def label(name: str) -> str:
    """``"tip_angle_deg"`` as ``"tip angle (°)"``."""
    words, unit = split_unit(name)
    return f"{words} ({unit})" if unit else words


def written(name: str, value: Value) -> str:
    """A value with the unit of its name: ``"1.2 mm"``."""
    if isinstance(value, str):
        return value
    return say(float(value), split_unit(name)[1])


def shown(count: int, always: Sequence[int] | Int[np.ndarray, " place"]) -> list[int]:
    """Places of the designs to draw: all, or evenly ``MOST_MARKS`` of them and ``always``."""
    if count <= MOST_MARKS:
        return list(range(count))
    even = np.linspace(0, count - 1, MOST_MARKS).astype(int)
    return sorted({*even.tolist(), *(int(place) for place in always)})


def crowd_note(count: int, drawn: int) -> str:
    """What to say when not all are drawn."""
    return f"; {drawn} of {count} designs drawn" if drawn < count else ""

"""Every way in which a pad's parameters can be impossible, alone or together."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any, get_args

import numpy as np

from fiddlehead.errors import ParameterError
from fiddlehead.finger.pad.measures import pad_measures
from fiddlehead.finger.pad.parameters import CellKind, PadParameters, used_sizes

SMALLEST_OPENING_MM = 0.3
"""Gaps between ribs, struts and skins below this cannot be printed or meshed (chosen by us)."""
MOST = {"rib_count": (0, 60), "cell_count": (1, 60), "cell_rows": (1, 8)}
"""Whole numbers allowed (the upper limits keep meshes solvable, chosen by us)."""
ANGLES = {"re-entrant": (5.0, 65.0), "hexagonal": (5.0, 65.0), "rotating squares": (5.0, 85.0)}
RIB_ANGLES = (20.0, 160.0)


def _problem(
    field: str, message: str, found: float | str, allowed: str, remedy: str
) -> ParameterError:
    text = found if isinstance(found, str) else f"{found:.6g}"
    return ParameterError(message, where=f"pad.{field}", found=text, allowed=allowed, remedy=remedy)


def wrong_pad_numbers(pad: PadParameters) -> list[ParameterError]:
    """Values that are wrong on their own: not numbers, not positive, out of range."""
    if pad.cells not in get_args(CellKind):
        choices = ", ".join(get_args(CellKind))
        return [_problem("cells", "no such cells", repr(pad.cells), choices, "Choose one.")]
    found = [*_wrong_counts(pad)]
    if not found and not pad.has_ribs and pad.cells == "none":
        found.append(
            _problem(
                "cells",
                "a pad needs ribs or cells",
                "no ribs and no cells",
                'rib_count 1 or more, or cells other than "none"',
                'cells = "solid" is a plain layer; leave the section out for a bare finger.',
            )
        )
    if not found:
        for name in used_sizes(pad):
            found += _wrong_size(pad, name)
    return found


def _wrong_counts(pad: PadParameters) -> Iterator[ParameterError]:
    for name, (low, high) in MOST.items():
        value: Any = getattr(pad, name)
        if name != "rib_count" and not pad.has_lattice:
            continue
        whole = isinstance(value, (int, np.integer)) and not isinstance(value, bool)
        if not whole or not low <= value <= high:
            yield _problem(
                name, "a count must be a whole number", str(value), f"{low} to {high}", "Count."
            )


def _wrong_size(pad: PadParameters, name: str) -> Iterator[ParameterError]:
    value: Any = getattr(pad, name)
    number = isinstance(value, (int, float, np.integer, np.floating))
    if isinstance(value, bool) or not number or not math.isfinite(value):
        yield _problem(name, "not a finite number", repr(value), "a number", "Give a number.")
    elif name == "rib_angle_deg" and not RIB_ANGLES[0] <= value <= RIB_ANGLES[1]:
        yield _problem(
            name, "the ribs lean too far", float(value), "20 to 160", "30 to 60 is usual."
        )
    elif name == "cell_angle_deg":
        low, high = ANGLES[pad.cells]
        if not low <= value <= high:
            yield _problem(
                name,
                f"no {pad.cells} can be made with this angle",
                float(value),
                f"{low:g} to {high:g}",
                "20 to 30 is usual for re-entrant cells, 30 for hexagonal ones.",
            )
    elif value <= 0:
        yield _problem(
            name, "no such size exists", float(value), "more than 0", "Give a positive size."
        )


def pad_contradictions(pad: PadParameters, span_mm: float) -> list[ParameterError]:
    """Sizes that are possible alone but not together.

    Parameters
    ----------
    pad : the pad
    span_mm : its length, from the root block to the tip
    """
    m = {k: float(v) for k, v in pad_measures(pad, pad, 0.0, span_mm, np).items()}
    found = []
    if "end wall" in m and 2 * m["end wall"] > span_mm / 4:
        found.append(
            _problem(
                "end_wall_thickness_mm",
                "the end walls leave no room for the pad",
                m["end wall"],
                f"{span_mm / 8:.3g} or less",
                "Thin them.",
            )
        )
        return found
    if pad.has_ribs:
        found += _ribs(pad, m)
    if pad.cells == "rotating squares":
        found += _squares(pad, m)
    elif pad.has_lattice:
        found += _honeycomb(pad, m)
    return found


def _ribs(pad: PadParameters, m: dict[str, float]) -> Iterator[ParameterError]:
    if m["rib gap"] < SMALLEST_OPENING_MM:
        taken = (pad.rib_count + 1) * (SMALLEST_OPENING_MM - m["rib gap"])
        yield _problem(
            "rib_count",
            f"the ribs overlap: they need {taken:.3g} mm more than the pad is long (each stands on"
            f" {m['rib foot']:.3g} mm and leans by {abs(m['rib lean']):.3g} mm)",
            f"{pad.rib_count}",
            f"gaps of {SMALLEST_OPENING_MM} mm or more",
            "Take fewer or thinner ribs, or stand them up more.",
        )


def _honeycomb(pad: PadParameters, m: dict[str, float]) -> Iterator[ParameterError]:
    half, row, rise = m["cell half"], m["cell row"], m["cell rise"]
    run = half - max(m["strut"] / 2 + m["cut along"], m["end wall"] / 2 + m["cut along"])
    if run < SMALLEST_OPENING_MM:
        yield _problem(
            "cell_count",
            "the cells overlap: their slanted struts are shorter than the joints they run into"
            f" (half a cell is {half:.3g} mm long)",
            f"{pad.cell_count}",
            f"half a cell {half - run + SMALLEST_OPENING_MM:.3g} mm long or more",
            "Take fewer cells or thinner struts.",
        )
    elif pad.cells == "re-entrant" and row / 2 + rise - m["joint far"] < SMALLEST_OPENING_MM:
        least = 2 * pad.cell_rows * (SMALLEST_OPENING_MM + m["joint far"] - rise)
        gap = row / 2 + rise - m["joint far"]
        yield _problem(
            "cell_depth_mm",
            "the re-entrant gap is closed: the struts that point inwards meet"
            f" (gap to the skin {gap:.3g} mm)",
            pad.cell_depth_mm,
            f"{math.ceil(least * 100) / 100:g} or more with these cells",
            "Deepen the layer, lower the re-entrant angle, or take more cells or fewer rows.",
        )
    elif pad.cells == "hexagonal" and row / 2 - rise - m["joint near"] < SMALLEST_OPENING_MM:
        least = 2 * pad.cell_rows * (SMALLEST_OPENING_MM + m["joint near"] + rise)
        yield _problem(
            "cell_depth_mm",
            "the cells overlap: no upright strut is left between the slanted ones",
            pad.cell_depth_mm,
            f"{math.ceil(least * 100) / 100:g} or more with these cells",
            "Deepen the layer, lower the angle, or take more cells or fewer rows.",
        )


def _squares(pad: PadParameters, m: dict[str, float]) -> Iterator[ParameterError]:
    sides = (m["square"] / 2 - m["hinge along"], m["cell row"] / 2 - m["hinge across"])
    backs = (m["square"] / 2 + m["hinge along"], m["cell row"] / 2 + m["hinge across"])
    slot = min(*sides, *backs) - m["strut"] / 2
    if slot < SMALLEST_OPENING_MM:
        yield _problem(
            "strut_thickness_mm",
            "the squares merge: their necks are wider than the openings between them"
            f" (squares repeat every {m['square']:.3g} by {m['cell row']:.3g} mm)",
            pad.strut_thickness_mm,
            f"{max(2 * (min(*sides, *backs) - SMALLEST_OPENING_MM), 0):.3g} or less",
            "Narrow the necks, open the squares more, or take fewer cells.",
        )

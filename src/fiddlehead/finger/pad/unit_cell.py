"""One cell of a pad's lattice as a pattern that repeats along both axes."""

from __future__ import annotations

import dataclasses
from collections.abc import Hashable, Sequence

import numpy as np
from jaxtyping import Float, Int

from fiddlehead.errors import ParameterError
from fiddlehead.finger.pad.honeycomb import HALF, JOINT_QUADS, RISE, ROW, cut_name, joint
from fiddlehead.finger.pad.lengths import Length
from fiddlehead.finger.pad.measures import pad_measures
from fiddlehead.finger.pad.parameters import PadParameters
from fiddlehead.finger.pad.squares import NECK, RotatingSquares, eight


@dataclasses.dataclass(frozen=True, eq=False)
class UnitCell:
    """Quadrilaterals of a periodic pattern, corners counter-clockwise.

    A vertex keeps its number in every repetition; ``shifts`` counts the repetitions a corner lies
    away along x and y.
    """

    corners: Float[np.ndarray, "quad 4 2"]
    """Places, mm."""
    vertices: Int[np.ndarray, "quad 4"]
    shifts: Int[np.ndarray, "quad 4 2"]
    edges: tuple[tuple[str, str], ...]
    """What the first and second edge run along: column or strut, as in ``finger.regions``."""
    period: tuple[float, float]
    """Distance from one repetition to the next along x and y, mm."""


Vertex = tuple[Hashable, int, int]
"""Name within its repetition, column and row of half cells."""


@dataclasses.dataclass
class _Pattern:
    """Collects quadrilaterals; two columns and two rows make a repetition."""

    places: dict[Vertex, tuple[Length, Length]]
    quads: list[list[Vertex]] = dataclasses.field(default_factory=list)
    edges: list[tuple[str, str]] = dataclasses.field(default_factory=list)

    def quad(self, corners: Sequence[Vertex], edges: tuple[str, str], mirrored: bool) -> None:
        a, b, c, d = corners
        self.quads.append([b, a, d, c] if mirrored else [a, b, c, d])
        self.edges.append(edges)

    def cell(self, measures: dict[str, float], period: tuple[float, float]) -> UnitCell:
        known = measures | {"start": 0.0, "end wall": 0.0, "cells top": 0.0}
        numbers: dict[tuple[Hashable, int, int], int] = {}
        corners, vertices, shifts = [], [], []
        for quad in self.quads:
            for name, column, row in quad:
                place = self.places[name, column, row]
                corners.append([sum(known[n] * f for n, f in axis.terms) for axis in place])
                key = (name, column % 2, row % 2)
                vertices.append(numbers.setdefault(key, len(numbers)))
                shifts.append((column // 2, -(row // 2)))
        return UnitCell(
            np.array(corners).reshape(-1, 4, 2),
            np.array(vertices).reshape(-1, 4),
            np.array(shifts).reshape(-1, 4, 2),
            tuple(self.edges),
            period,
        )


def unit_cell(pad: PadParameters, span_mm: float) -> UnitCell:
    """The cell of a pad's lattice, away from skins and end walls.

    Parameters
    ----------
    pad : the pad
    span_mm : its length, from the root block to the tip

    Raises
    ------
    ParameterError : the pad has no cells with openings
    """
    if not pad.has_lattice:
        raise ParameterError(
            "this pad has no cells",
            where="pad.cells",
            found=pad.cells,
            allowed="hexagonal, re-entrant, rotating squares",
        )
    m = {k: float(v) for k, v in pad_measures(pad, pad, 0.0, span_mm, np).items()}
    if pad.cells == "rotating squares":
        return _squares(pad).cell(m, (2 * m["square"], 2 * m["cell row"]))
    return _honeycomb().cell(m, (2 * m["cell half"], 2 * m["cell row"]))


def _honeycomb() -> _Pattern:
    """Two chains with two nodes each."""
    pattern = _Pattern({})

    def up(k: int, j: int) -> bool:
        return (j - k) % 2 == 1

    for k in range(4):
        for j in range(-1, 4):
            sign = 1.0 if up(k, j) else -1.0
            for name, (dx, dy) in joint(up(k, j)).items():
                x, y = float(j) * HALF + dx, -float(k) * ROW + sign * RISE + dy
                pattern.places[name, j, k] = (x, y)
    for k in range(2):
        for j in range(2):
            for names in JOINT_QUADS:
                quad = [(name, j, k) for name in names]
                pattern.quad(quad, ("column", "column"), not up(k, j))
            slanted = [
                (cut_name(up(k, j), right=True, high=False), j, k),
                (cut_name(up(k, j + 1), right=False, high=False), j + 1, k),
                (cut_name(up(k, j + 1), right=False, high=True), j + 1, k),
                (cut_name(up(k, j), right=True, high=True), j, k),
            ]
            pattern.quad(slanted, ("strut", "column"), False)
            if not up(k, j):
                for left, right in ("pm", "mq"):
                    quad = [(left, j, k + 1), (right, j, k + 1), (right, j, k), (left, j, k)]
                    pattern.quad(quad, ("column", "strut"), False)
    return pattern


def _squares(pad: PadParameters) -> _Pattern:
    """Two by two squares."""
    squares, pattern = RotatingSquares(pad.cell_count, pad.cell_rows), _Pattern({})
    for i in range(3):
        for k in range(3):
            x, y = squares.level_hinge(i, k)
            for part, share in enumerate((0.5, 0.0, -0.5)):
                pattern.places[("level", part), i, k] = (x, y + share * NECK)
            x, y = squares.upright_hinge(i, k)
            for part, share in enumerate((-0.5, 0.0, 0.5)):
                pattern.places[("upright", part), i, k] = (x + share * NECK, y)
            pattern.places["middle", i, k] = squares.middle(i, k)
            for h, side in enumerate(squares.sides(i, k)):
                pattern.places[("side", h), i, k] = side
    for i in range(2):
        for k in range(2):
            necks = [
                [(("level", part), i + 1, k) for part in (2, 1, 0)],
                [(("upright", part), i, k) for part in (2, 1, 0)],
                [(("level", part), i, k) for part in (0, 1, 2)],
                [(("upright", part), i, k + 1) for part in (0, 1, 2)],
            ]
            sides = [(("side", h), i, k) for h in range(4)]
            for corners, edges in eight(("middle", i, k), necks, sides):
                pattern.quad(corners, edges, False)  # type: ignore[arg-type]
    return pattern

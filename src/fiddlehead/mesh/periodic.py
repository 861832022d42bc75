"""A repeating pattern divided into 8-node quadrilaterals whose nodes know their repetitions."""

from __future__ import annotations

import dataclasses
from collections.abc import Hashable

import numpy as np
from jaxtyping import Float, Int

from fiddlehead.finger.pad.unit_cell import UnitCell

GRID = np.array([(0, 0), (2, 0), (2, 2), (0, 2), (1, 0), (2, 1), (1, 2), (0, 1)])
"""Places of an element's nodes on a grid of half elements."""


@dataclasses.dataclass(frozen=True, eq=False)
class PeriodicGrid:
    """Elements where they lie, and which of their nodes are the same in every repetition."""

    points: Float[np.ndarray, "element 8 2"]
    """Places of each element's own nodes, mm."""
    nodes: Int[np.ndarray, "element 8"]
    area: float
    """Of one repetition, openings included, mm²."""


def periodic_grid(cell: UnitCell, columns: int = 1, along_struts: int = 2) -> PeriodicGrid:
    """Divide a unit cell.

    Parameters
    ----------
    cell : the pattern
    columns : elements across half a strut (or a whole slanted one)
    along_struts : elements along each strut
    """
    divisions = {"column": columns, "strut": along_struts}
    number: dict[Hashable, int] = {}
    points, nodes = [], []
    for q, corners in enumerate(cell.corners):
        n, m = (2 * divisions[edge] for edge in cell.edges[q])
        for i in range(0, n, 2):
            for j in range(0, m, 2):
                around = GRID + np.array([i, j])
                u, v = (around / (n, m)).T[:, :, None]
                a, b, c, d = corners
                place = (1 - u) * (1 - v) * a + u * (1 - v) * b + u * v * c + (1 - u) * v * d
                points.append(place)
                names = [_name(cell, q, int(x), int(y), n, m) for x, y in around]
                nodes.append([number.setdefault(name, len(number)) for name in names])
    period = cell.period
    return PeriodicGrid(np.array(points), np.array(nodes), period[0] * period[1])


def _name(cell: UnitCell, q: int, i: int, j: int, n: int, m: int) -> Hashable:
    """Name of a node that is the same in the neighbour beyond the edge, and in repetitions."""
    on_level, on_upright = j in (0, m), i in (0, n)
    if not on_level and not on_upright:
        return ("inside", q, i, j)
    if on_level and on_upright:
        corner = {(0, 0): 0, (n, 0): 1, (n, m): 2, (0, m): 3}[i, j]
        return ("vertex", int(cell.vertices[q, corner]))
    if on_level:
        start, end, k, whole = (0, 1, i, n) if j == 0 else (3, 2, i, n)
    else:
        start, end, k, whole = (0, 3, j, m) if i == 0 else (1, 2, j, m)
    first, second = int(cell.vertices[q, start]), int(cell.vertices[q, end])
    step = tuple(int(s) for s in cell.shifts[q, end] - cell.shifts[q, start])
    if (first, step) > (second, (-step[0], -step[1])):
        first, second, step, k = second, first, (-step[0], -step[1]), whole - k
    return ("edge", first, second, step, k)

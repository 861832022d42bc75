"""The profile's regions divided into 8-node quadrilaterals that share their edges."""

from __future__ import annotations

import dataclasses
from collections.abc import Hashable

import numpy as np
from jaxtyping import Float, Int

from fiddlehead.finger.profile import ProfileLayout
from fiddlehead.finger.regions import Region
from fiddlehead.mesh.settings import MeshSettings


@dataclasses.dataclass(frozen=True)
class PlanarGrid:
    """Quadrilaterals of all regions, void and solid.

    Every node is a weighted sum of its region's corner vertices with weights that do not depend
    on the sizes. A cell's nodes are 4 corners, counter-clockwise, then the middle of the edges
    (0,1) (1,2) (2,3) (3,0): the middle node identifies the edge.
    """

    cells: Int[np.ndarray, "cell 8"]
    cell_region: Int[np.ndarray, " cell"]
    vertices: Int[np.ndarray, "node 4"]
    weights: Float[np.ndarray, "node 4"]


def planar_grid(layout: ProfileLayout, settings: MeshSettings) -> PlanarGrid:
    """Divide every region. Neighbours find their common nodes by name, never by distance."""
    number: dict[Hashable, int] = {}
    vertices: list[tuple[int, ...]] = []
    weights: list[tuple[float, ...]] = []
    cells: list[list[int]] = []
    cell_region: list[int] = []
    for r, region in enumerate(layout.regions):
        columns, rows = (settings.divisions(edge) for edge in region.edges)

        def node(i: int, j: int, r: int = r, region: Region = region) -> int:
            name, corners, factors = _node(r, region, i, j, 2 * columns, 2 * rows)  # noqa: B023
            if name not in number:
                number[name] = len(vertices)
                vertices.append(corners)
                weights.append(factors)
            return number[name]

        for i in range(0, 2 * columns, 2):
            for j in range(0, 2 * rows, 2):
                around = [(0, 0), (2, 0), (2, 2), (0, 2), (1, 0), (2, 1), (1, 2), (0, 1)]
                cells.append([node(i + di, j + dj) for di, dj in around])
                cell_region.append(r)
    return PlanarGrid(np.array(cells), np.array(cell_region), np.array(vertices), np.array(weights))


def _node(
    r: int, region: Region, i: int, j: int, columns: int, rows: int
) -> tuple[Hashable, tuple[int, ...], tuple[float, ...]]:
    """Name, corner vertices and weights of grid point ``(i, j)`` of a region.

    A point on an edge is named by the edge's two vertices and its place between them, so the
    region on the other side gives it the same name and the same weights.
    """
    a, b, c, d = region.corners
    edge = None
    if j in (0, rows):
        edge = (a, b, i, columns) if j == 0 else (d, c, i, columns)
    elif i in (0, columns):
        edge = (a, d, j, rows) if i == 0 else (b, c, j, rows)
    if edge is None:
        u, v = i / columns, j / rows
        factors = ((1 - u) * (1 - v), u * (1 - v), u * v, (1 - u) * v)
        return ("inside", r, i, j), region.corners, factors
    start, end, k, n = edge
    if k in (0, n):
        corner = start if k == 0 else end
        return ("vertex", corner), (corner,) * 4, (1.0, 0.0, 0.0, 0.0)
    if start > end:
        start, end, k = end, start, n - k
    return ("edge", start, end, k, n), (start, end, end, end), (1 - k / n, k / n, 0.0, 0.0)

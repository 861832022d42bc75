"""Plain bodies as parts, for checks with closed forms."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import Polygon

from fiddlehead.fabricate import kernel
from fiddlehead.fabricate.contour import straight
from fiddlehead.fabricate.records import Part

CUBE = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)], float)
CUBE_FACES = np.array(
    [
        *([0, 1, 3], [0, 3, 2], [4, 6, 7], [4, 7, 5], [0, 4, 5], [0, 5, 1]),
        *([2, 3, 7], [2, 7, 6], [0, 2, 6], [0, 6, 4], [1, 5, 7], [1, 7, 3]),
    ]
)


def box(size: tuple[float, float, float], at: tuple[float, float, float] = (0, 0, 0)) -> Part:
    """A box with its lowest corner at ``at``."""
    return Part("box", CUBE * np.array(size) + np.array(at), CUBE_FACES)


def part_of(shape: kernel.Shape, name: str = "part") -> Part:
    """Triangles of a kernel shape."""
    return Part(name, *kernel.triangles(shape))


def solid_of(polygon: Polygon, low: float, high: float) -> kernel.Shape:
    """A polygon extruded along z."""
    polygon = shapely.geometry.polygon.orient(polygon)
    holes = [straight(np.asarray(r.coords)[::-1, :2]) for r in polygon.interiors]
    return kernel.prism(straight(np.asarray(polygon.exterior.coords)[:, :2]), holes, low, high)


def icosphere(times: int) -> Part:
    """A unit icosahedron with every triangle cut in four, ``times`` times, on the unit sphere."""
    golden = (1 + 5**0.5) / 2
    points = [(-1, golden, 0), (1, golden, 0), (-1, -golden, 0), (1, -golden, 0)]
    points += [(0, -1, golden), (0, 1, golden), (0, -1, -golden), (0, 1, -golden)]
    points += [(golden, 0, -1), (golden, 0, 1), (-golden, 0, -1), (-golden, 0, 1)]
    faces = [(0, 11, 5), (0, 5, 1), (0, 1, 7), (0, 7, 10), (0, 10, 11), (1, 5, 9), (5, 11, 4)]
    faces += [(11, 10, 2), (10, 7, 6), (7, 1, 8), (3, 9, 4), (3, 4, 2), (3, 2, 6), (3, 6, 8)]
    faces += [(3, 8, 9), (4, 9, 5), (2, 4, 11), (6, 2, 10), (8, 6, 7), (9, 8, 1)]
    vertices = np.array(points, float)
    triangles = np.array(faces)
    for _ in range(times):
        vertices = vertices / np.linalg.norm(vertices, axis=1, keepdims=True)
        corners = vertices[triangles]
        middles = (corners + np.roll(corners, -1, axis=1)) / 2
        a, b, c = np.moveaxis(corners, 1, 0)
        ab, bc, ca = np.moveaxis(middles, 1, 0)
        parts = [[a, ab, ca], [b, bc, ab], [c, ca, bc], [ab, bc, ca]]
        soup = np.concatenate([np.stack(p, axis=1) for p in parts]).reshape(-1, 3)
        vertices, number = np.unique(soup.round(12), axis=0, return_inverse=True)
        triangles = number.reshape(-1, 3)
    return Part("ball", vertices / np.linalg.norm(vertices, axis=1, keepdims=True), triangles)

"""Bodies with known answers: structured 20-node bricks for tests of the mechanics.

Lengths in mm. Every body is numbered along its first grid direction, so that its equations are
banded in that direction. Nodes between corners lie on the true surface, not on chords.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable

import numpy as np
from jaxtyping import Bool, Float, Int
from scipy.spatial import cKDTree

from fiddlehead.mechanics.element import BRICK_NODES, EDGES

FACE_CORNERS = [(0, 4, 7, 3), (1, 2, 6, 5), (0, 1, 5, 4), (3, 7, 6, 2), (0, 3, 2, 1), (4, 5, 6, 7)]
"""Corners of the six faces of a brick, counter-clockwise seen from outside."""

Place = Callable[[Float[np.ndarray, "node 3"]], Float[np.ndarray, "node 3"]]


def _face_with_middles(corners: tuple[int, ...]) -> list[int]:
    middle = {frozenset(edge): 8 + k for k, edge in enumerate(EDGES)}
    ring = zip(corners, (*corners[1:], corners[0]), strict=True)
    return [*corners, *(middle[frozenset(edge)] for edge in ring)]


FACE_NODES_OF_BRICK = np.array([_face_with_middles(c) for c in FACE_CORNERS])


@dataclasses.dataclass(frozen=True)
class Body:
    """A meshed solid.

    ``elements`` are 20-node bricks in VTK order; ``faces`` are named sets of 8-node faces in VTK
    order whose normals point out of the solid.
    """

    points: Float[np.ndarray, "node 3"]
    elements: Int[np.ndarray, "element 20"]
    faces: dict[str, Int[np.ndarray, "face 8"]]

    def on(self, name: str) -> Bool[np.ndarray, " node"]:
        """Nodes lying on the named faces."""
        mask = np.zeros(len(self.points), dtype=bool)
        mask[self.faces[name]] = True
        return mask


def boundary_faces(elements: Int[np.ndarray, "element 20"]) -> Int[np.ndarray, "face 8"]:
    """Faces that belong to one element only, normals out of the solid."""
    faces = elements[:, FACE_NODES_OF_BRICK].reshape(-1, 8)
    corners = np.sort(faces[:, :4], axis=1)
    _, where, count = np.unique(corners, axis=0, return_inverse=True, return_counts=True)
    return faces[count[where.ravel()] == 1]


def _body(
    points: np.ndarray, elements: np.ndarray, sides: dict[str, Bool[np.ndarray, " node"]]
) -> Body:
    """A body whose face sets are the boundary faces with all nodes inside each mask."""
    skin = boundary_faces(elements)
    return Body(points, elements, {name: skin[m[skin].all(axis=1)] for name, m in sides.items()})


def _bricks(cells: Int[np.ndarray, "element 3"]) -> tuple[np.ndarray, np.ndarray]:
    """Half-step lattice positions of the nodes, and elements, of unit cells at integer places."""
    lattice = 2 * cells[:, None, :] + np.rint(BRICK_NODES + 1).astype(int)
    nodes, elements = np.unique(lattice.reshape(-1, 3), axis=0, return_inverse=True)
    return nodes / 2.0, elements.reshape(-1, 20)


def _cells(divisions: tuple[int, int, int]) -> Int[np.ndarray, "element 3"]:
    return np.stack(np.meshgrid(*map(np.arange, divisions), indexing="ij"), -1).reshape(-1, 3)


def _mapped(divisions: tuple[int, int, int], place: Place, names: tuple[str, ...]) -> Body:
    """The unit cube cut and moved by ``place``; names of its sides -x +x -y +y -z +z."""
    lattice, elements = _bricks(_cells(divisions))
    unit = lattice / np.array(divisions)
    masks = [unit[:, axis] == end for axis in range(3) for end in (0.0, 1.0)]
    return _body(place(unit), elements, dict(zip(names, masks, strict=True)))


def box(
    size_mm: tuple[float, float, float],
    divisions: tuple[int, int, int],
    place: Place = lambda points: points,
) -> Body:
    """A box from the origin, optionally moved by ``place``; sides x0 x1 y0 y1 z0 z1."""
    return _mapped(
        divisions, lambda unit: place(unit * size_mm), ("x0", "x1", "y0", "y1", "z0", "z1")
    )


def ring_quarter(
    inner_mm: float, outer_mm: float, height_mm: float, divisions: tuple[int, int, int]
) -> Body:
    """A quarter of a ring about the z axis, cut radially, around and along its height.

    Sides: inner, outer, cut_y (on y = 0), cut_x (on x = 0), bottom, top.
    """

    def place(unit: np.ndarray) -> np.ndarray:
        r = inner_mm + (outer_mm - inner_mm) * unit[:, 0]
        angle = 0.5 * np.pi * unit[:, 1]
        return np.stack([r * np.cos(angle), r * np.sin(angle), height_mm * unit[:, 2]], axis=1)

    return _mapped(divisions, place, ("inner", "outer", "cut_y", "cut_x", "bottom", "top"))


def _merged(points: np.ndarray, elements: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Nodes at one place made one, numbered by first appearance in ``elements``."""
    near = cKDTree(points).query_ball_point(points, 1e-9 * np.ptp(points))
    first = np.array([min(group) for group in near])[elements]
    kept, where = np.unique(first, return_index=True)
    order = np.argsort(where)
    number = np.empty(len(points), dtype=int)
    number[kept[order]] = np.arange(len(kept))
    return points[kept[order]], number[first]


def sphere_octant(inner_mm: float, outer_mm: float, radial: int, across: int) -> Body:
    """An eighth of a hollow sphere: three patches of ``across``² cells around (1, 1, 1).

    Sides: inner, outer, and cut_x, cut_y, cut_z on the planes x = 0, y = 0, z = 0.
    """
    lattice, elements = _bricks(_cells((radial, across, across)))
    unit = lattice / np.array([radial, across, across])
    r = inner_mm + (outer_mm - inner_mm) * unit[:, :1]
    ray = np.tan(0.25 * np.pi * np.column_stack([np.ones(len(unit)), unit[:, 1:]]))
    patch = r * ray / np.linalg.norm(ray, axis=1, keepdims=True)
    points = np.vstack([np.roll(patch, turn, axis=1) for turn in range(3)])
    layers = [elements + turn * len(patch) for turn in range(3)]
    by_radius = np.stack([e.reshape(radial, -1, 20) for e in layers], axis=1).reshape(-1, 20)
    points, elements = _merged(points, by_radius)
    points[np.abs(points) < 1e-12 * outer_mm] = 0.0
    radius = np.linalg.norm(points, axis=1)
    sides = {
        "inner": np.isclose(radius, inner_mm),
        "outer": np.isclose(radius, outer_mm),
        **{f"cut_{name}": points[:, k] == 0.0 for k, name in enumerate("xyz")},
    }
    return _body(points, elements, sides)


def _quarter_disc(inner: float, outer: float, core: int, ring: int, s: np.ndarray) -> np.ndarray:
    """Map of an L of square cells to a quarter disc: a core of ``core``² cells, then rings.

    ``s`` holds cell coordinates of three patches stacked in a third column: 0 the core, 1 and 2
    the two halves around it, whose first coordinate counts outwards from the core.
    """
    half = 0.55 * inner  # half the core's side; the corner is pulled in to keep angles fair
    corner = 0.86 * half
    u, v = s[:, 0] / core, s[:, 1] / core
    bilinear = np.stack(
        [half * u * (1 - v) + corner * u * v, half * v * (1 - u) + corner * u * v], axis=1
    )
    start = np.stack([half + (corner - half) * v, corner * v], axis=1)  # core edge facing +y axis
    angle = 0.25 * np.pi * v
    ray = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    out = s[:, :1]
    fan = np.where(
        out <= core,
        start + (inner * ray - start) * out / core,
        (inner + (outer - inner) * (out - core) / ring) * ray,
    )
    return np.where(s[:, 2:] == 0, bilinear, np.where(s[:, 2:] == 1, fan, fan[:, ::-1]))


def closed_tube_eighth(
    inner_mm: float,
    outer_mm: float,
    half_length_mm: float,
    cap_mm: float,
    divisions: tuple[int, int, int, int],
) -> Body:
    """An eighth of a tube along x with flat end caps: quarter section, half length from x = 0.

    ``divisions`` are cells along the tube, through the cap, across the core (a quarter of the
    circumference has twice as many) and through the wall. The bore ends at ``half_length_mm``.
    Sides: cavity, outer, cap (its outside), middle (x = 0), cut_y, cut_z.
    """
    along, through, core, wall = divisions
    core_cells = [(i, j, 0) for i in range(core) for j in range(core)]
    fan_cells = [(i, j, p) for p in (1, 2) for i in range(core + wall) for j in range(core)]
    x_of = np.concatenate(
        [
            np.linspace(0, half_length_mm, 2 * along + 1),
            half_length_mm + cap_mm * np.arange(1, 2 * through + 1) / (2 * through),
        ]
    )
    points, elements, total = [], [], 0
    for cell in range(along + through):
        bore = [] if cell < along else core_cells
        for i, j, p in [*bore, *(c for c in fan_cells if cell >= along or c[0] >= core)]:
            at = 0.5 * (BRICK_NODES + 1)
            section = np.column_stack([i + at[:, 1], j + at[:, 2], np.full(20, p)])
            yz = _quarter_disc(inner_mm, outer_mm, core, wall, section)
            x = x_of[np.rint(2 * (cell + at[:, 0])).astype(int)]
            node = np.arange(total, total + 20)
            points.append(np.column_stack([x, yz]))
            elements.append(node if p < 2 else node[MIRRORED])
            total += 20
    merged, bricks = _merged(np.vstack(points), np.array(elements))
    merged[np.abs(merged) < 1e-12 * outer_mm] = 0.0
    x, radius = merged[:, 0], np.hypot(merged[:, 1], merged[:, 2])
    sides = {
        "cavity": (radius < inner_mm * (1 + 1e-9)) & (x <= half_length_mm),
        "outer": np.isclose(radius, outer_mm),
        "cap": x == x_of[-1],
        "middle": x == 0.0,
        "cut_y": merged[:, 1] == 0.0,
        "cut_z": merged[:, 2] == 0.0,
    }
    return _body(merged, bricks, sides)


def cook_panel(cells: int, thickness_mm: float = 1.0) -> Body:
    """The tapered panel (0,0) (48,44) (48,60) (0,44) mm, one cell thick; sides as those of a box.

    Source: Cook (1974), J. Struct. Div. ASCE 100, 1851-1863.
    """

    def place(unit: np.ndarray) -> np.ndarray:
        s, t, depth = unit.T
        return np.stack(
            [48 * s, 44 * s * (1 - t) + (44 + 16 * s) * t, thickness_mm * depth], axis=1
        )

    return _mapped((cells, cells, 1), place, ("x0", "x1", "y0", "y1", "z0", "z1"))


def _mirror_order() -> np.ndarray:
    """Node order of a brick reflected through its middle plane normal to the third direction."""
    reflected = BRICK_NODES * (1, 1, -1)
    return np.array([int(np.flatnonzero((n == BRICK_NODES).all(axis=1))[0]) for n in reflected])


MIRRORED = _mirror_order()

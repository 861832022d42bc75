"""The outer surface of the whole finger, from the faces of the meshed half."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, Int

from fiddlehead.mesh.records import Mesh

EDGES = ((0, 4, 1), (1, 5, 2), (2, 6, 3), (3, 7, 0))
"""Nodes of the four edges of a face: start, middle, end."""

OUTER = ("outside", "underside", "tip", "root", "void")


@dataclass(frozen=True, eq=False)
class Surface:
    """Quadratic faces of the whole finger; nodes of the mirrored half are numbered behind.

    node : for each node of the surface the node of the half mesh it takes its values from
    mirrored : 1 for nodes of the half itself, -1 for mirrored ones (sign of z)
    """

    faces: Int[np.ndarray, "face 8"]
    node: Int[np.ndarray, " vertex"]
    mirrored: Float[np.ndarray, " vertex"]

    def place(self, points: Float[np.ndarray, "node 3"]) -> Float[np.ndarray, "vertex 3"]:
        """Positions of the whole surface from positions of the half mesh's nodes, mm."""
        whole = points[self.node].copy()
        whole[:, 2] *= self.mirrored
        return whole


def whole_surface(mesh: Mesh, sets: tuple[str, ...] = OUTER) -> Surface:
    """Collect the faces of the named sets and mirror them at z = 0 (orientation kept outward)."""
    half = np.concatenate([mesh.faces[name] for name in sets if name in mesh.faces])
    used, local = np.unique(half, return_inverse=True)
    faces = local.reshape(half.shape)
    reversed_order = faces[:, [0, 3, 2, 1, 7, 6, 5, 4]] + len(used)
    return Surface(
        faces=np.concatenate([faces, reversed_order]),
        node=np.concatenate([used, used]),
        mirrored=np.concatenate([np.ones(len(used)), -np.ones(len(used))]),
    )


def _grid(
    line: Float[np.ndarray, " place"],
) -> tuple[Float[np.ndarray, "point 8"], Int[np.ndarray, "cell 4"]]:
    """Values of the eight face functions on a square grid of lines, and the cells between them."""
    r, s = (a.ravel() for a in np.meshgrid(line, line, indexing="ij"))
    corners = [(-1, -1), (1, -1), (1, 1), (-1, 1)]
    values = [0.25 * (1 + a * r) * (1 + b * s) * (a * r + b * s - 1) for a, b in corners]
    values += [0.5 * (1 - r**2) * (1 - s), 0.5 * (1 + r) * (1 - s**2)]
    values += [0.5 * (1 - r**2) * (1 + s), 0.5 * (1 - r) * (1 - s**2)]
    number = np.arange(len(line) ** 2).reshape(len(line), len(line))
    cells = np.stack([number[:-1, :-1], number[1:, :-1], number[1:, 1:], number[:-1, 1:]], -1)
    return np.stack(values, axis=1), cells.reshape(-1, 4)


def cut_faces(
    surface: Surface,
    points: Float[np.ndarray, "vertex 3"],
    values: Float[np.ndarray, " vertex"],
    cuts: int = 2,
) -> tuple[Float[np.ndarray, "patch 4 3"], Float[np.ndarray, " patch"]]:
    """Flat patches that follow the curved faces, and the value in the middle of each."""
    shape, cells = _grid(np.linspace(-1.0, 1.0, cuts + 1))
    corners = np.einsum("pa,fai->fpi", shape, points[surface.faces])[:, cells]
    field = np.einsum("pa,fa->fp", shape, values[surface.faces])[:, cells].mean(-1)
    return corners.reshape(-1, 4, 3), field.ravel()


POINT_BORDERS = np.array([-1.0, -4 / 9, 4 / 9, 1.0])
"""Between the three points of the Gauss rule on each side of a face, as far apart as its weights
(5/9, 8/9, 5/9) say."""


def point_cells(x: Float[np.ndarray, "face 8 3"]) -> Float[np.ndarray, "patch 4 3"]:
    """The part of each face that each of its nine integration points stands for, in their order
    (``mechanics.quadrature.FACE_RULE``)."""
    shape, cells = _grid(POINT_BORDERS)
    corners: Float[np.ndarray, "patch 4 3"] = np.einsum("pa,fai->fpi", shape, x)[:, cells]
    return corners.reshape(-1, 4, 3)


def outline_edges(
    surface: Surface, points: Float[np.ndarray, "vertex 3"], steps: int = 4
) -> Float[np.ndarray, "face point 3"]:
    """Closed border of every face as a polyline along its curved edges."""
    t = np.linspace(0.0, 1.0, steps, endpoint=False)
    start, middle, end = 2 * t**2 - 3 * t + 1, 4 * t * (1 - t), 2 * t**2 - t
    x = points[surface.faces]
    weights = np.stack([start, middle, end], axis=1)
    sides = [np.einsum("tk,fki->fti", weights, x[:, side]) for side in EDGES]
    return np.concatenate(sides, axis=1)

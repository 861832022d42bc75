"""Walls of the pad's openings that face each other and may close under load."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from jaxtyping import Float, Int

FACING = -0.35
"""Two walls face each other when the product of their unit normals lies below this."""
REVERSED = np.array([1, 0, 3, 2, 4, 7, 6, 5])
"""Nodes of a wall in the order in which they lie opposite to a wall traversed the other way."""


def closing_walls(
    points: Float[np.ndarray, "node 3"], loops: Sequence[Int[np.ndarray, "_face 8"]]
) -> Int[np.ndarray, "pair 16"]:
    """Pairs of faces inside each opening, each face with the nearest one that looks at it.

    Columns 0 to 7 are a face, columns 8 to 15 the nodes opposite to them; both lie in one layer
    across the width. An opening's faces come edge by edge around it, its layers together.

    Parameters
    ----------
    points : undeformed coordinates, mm
    loops : faces of each opening in order around it, normals into the opening
    """
    pairs = [_pairs(points, loop) for loop in loops if len(loop)]
    return np.concatenate(pairs) if pairs else np.zeros((0, 16), dtype=int)


def _pairs(points: np.ndarray, loop: Int[np.ndarray, "face 8"]) -> Int[np.ndarray, "pair 16"]:
    middle = points[loop[:, :4]].mean(1)
    normal = np.cross(
        points[loop[:, 2]] - points[loop[:, 0]], points[loop[:, 3]] - points[loop[:, 1]]
    )
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    apart = middle[None, :] - middle[:, None]
    one_layer = np.abs(apart[..., 2]) < 1e-6 * np.ptp(points[:, 0])
    looks = (np.einsum("fgi,fi->fg", apart, normal) > 0) & (
        np.einsum("fgi,gi->fg", apart, normal) < 0
    )
    facing = one_layer & looks & (normal @ normal.T < FACING)
    distance = np.where(facing, np.linalg.norm(apart, axis=2), np.inf)
    nearest = distance.argmin(1)
    found = {(min(f, g), max(f, g)) for f, g in enumerate(nearest) if np.isfinite(distance[f, g])}
    rows = [[*loop[f], *loop[g][REVERSED]] for f, g in sorted(found)]
    return np.array(rows, dtype=int).reshape(-1, 16)

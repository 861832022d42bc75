"""Outer walls that face each other across a gap and may meet."""

from __future__ import annotations

import numpy as np
from jaxtyping import Float, Int

STEEP = 0.2
"""A face belongs to a flank when the finger's axis has at least this share of its normal."""


def facing_walls(
    points: Float[np.ndarray, "node 3"], faces: Int[np.ndarray, "face 8"]
) -> Int[np.ndarray, "pair 16"]:
    """Pairs of faces that look at each other along x, node by node.

    The flanks at both sides of a valley are mirror images, so each face has one opposite at the
    same height and width. Columns 0 to 7 are the face nearer to the root (its normal points to
    the other), columns 8 to 15 the nodes opposite to them.

    Parameters
    ----------
    points : undeformed coordinates, mm
    faces : outer 8-node faces, normals out of the solid
    """
    corner = points[faces[:, :4]]
    normal = np.cross(corner[:, 2] - corner[:, 0], corner[:, 3] - corner[:, 1])
    along = normal[:, 0] / np.linalg.norm(normal, axis=1)
    middle = corner.mean(1)
    near, far = np.flatnonzero(along > STEEP), np.flatnonzero(along < -STEEP)
    size = float(np.ptp(points[:, 0]))
    pairs = []
    for face in near:
        apart = middle[far, 0] - middle[face, 0]
        level = np.abs(middle[far, 1:] - middle[face, 1:]).max(1)
        opposite = far[(apart > 0) & (level < 1e-6 * size)]
        if len(opposite):
            other = opposite[np.argmin(middle[opposite, 0])]
            pairs.append([*faces[face], *_opposite(points, faces[face], faces[other])])
    return np.array(pairs, dtype=int).reshape(-1, 16)


def _opposite(
    points: np.ndarray, face: Int[np.ndarray, " node"], other: Int[np.ndarray, " node"]
) -> Int[np.ndarray, " node"]:
    """Nodes of ``other`` at the heights and widths of the nodes of ``face``."""
    apart = np.abs(points[face][:, None, 1:] - points[other][None, :, 1:]).max(2)
    return other[apart.argmin(1)]

"""Where a print may leak, as values on its surface that a page or a viewer can colour."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from jaxtyping import Float, Int

from fiddlehead.fabricate.printcheck import PrintCheck
from fiddlehead.files import write_whole

FILE = "leak_map.npz"
LONGEST_EDGE_MM = 1.5
"""Triangles are cut until no edge is longer, so that values follow places."""
NEAR_MM = 0.8
REACH_LINES = 10.0
"""A wall thicker than so many lines is no thin wall."""


@dataclass(frozen=True, eq=False)
class LeakMap:
    """The surface as printed, and what its walls lack.

    lacks : share of what a tight wall needs (lines, solid layers, overlap) that is missing in the
        wall under each vertex: 0 has all it needs, 1 has nothing; 0 where no thin wall is
    """

    vertices: Float[np.ndarray, "vertex 3"]
    triangles: Int[np.ndarray, "triangle 3"]
    lacks: Float[np.ndarray, " vertex"]

    def save(self, path: Path) -> Path:
        """Write the arrays under their names.

        Raises
        ------
        StoreError : the place cannot be written
        """
        return write_whole(
            path,
            lambda temporary: np.savez_compressed(
                temporary, vertices=self.vertices, triangles=self.triangles, lacks=self.lacks
            ),
        )


def leak_map(check: PrintCheck) -> LeakMap:
    """What the samples on the chambers found, over the surface: the worst one nearby counts."""
    from scipy.spatial import cKDTree
    from trimesh.remesh import subdivide_to_size

    part = check.layers.part
    vertices, triangles = subdivide_to_size(part.vertices, part.triangles, LONGEST_EDGE_MM)
    lacks = np.zeros(len(vertices))
    share = check.tightness()
    if len(share):
        distance, number = cKDTree(check.samples.points).query(vertices, k=min(16, len(share)))
        distance, number = (a.reshape(len(vertices), -1) for a in (distance, number))
        near = distance < distance[:, :1] + NEAR_MM
        worst = np.where(near, share[number], np.inf).min(axis=1)
        thin = distance[:, 0] < REACH_LINES * check.layers.process.line_width_mm
        lacks[thin] = 1.0 - np.clip(worst[thin], 0.0, 1.0)
    return LeakMap(vertices, triangles, lacks)

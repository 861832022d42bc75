"""The whole finger from its half, for grasps that its plane of symmetry does not mirror."""

from __future__ import annotations

import numpy as np

from fiddlehead.mesh.records import Mesh

MIRRORED_BRICK = (4, 5, 6, 7, 0, 1, 2, 3, 12, 13, 14, 15, 8, 9, 10, 11, 16, 17, 18, 19)
"""Order of a 20-node brick's nodes that turns it the right way round after a reflection."""
MIRRORED_FACE = (0, 3, 2, 1, 7, 6, 5, 4)
"""The same for an 8-node face, whose normal then points out again."""

MIRRORED_WALL = (3, 2, 1, 0, 6, 5, 4, 7)
"""The same for a wall of an opening, its first edge still along the way around it."""


def whole_mesh(half: Mesh) -> Mesh:
    """Both halves of a finger; nodes of the plane of symmetry are shared.

    The set ``symmetry`` is empty then, for nothing is held there; its faces are in ``midplane``.
    """
    middle = np.zeros(len(half.points), dtype=bool)
    middle[np.unique(half.faces["symmetry"])] = True
    other = np.where(middle, np.arange(len(middle)), len(middle) + np.cumsum(~middle) - 1)
    mirrored = half.points[~middle] * np.array([1.0, 1.0, -1.0])
    elements = np.vstack([half.elements, other[half.elements][:, MIRRORED_BRICK]])
    faces = {
        name: np.vstack([face, other[face][:, MIRRORED_FACE]])
        for name, face in half.faces.items()
        if name != "symmetry"
    }
    return Mesh(
        points=np.vstack([half.points, mirrored]),
        elements=elements,
        region_names=half.region_names,
        element_region=np.concatenate([half.element_region] * 2),
        void_loops=tuple(
            np.vstack([loop, other[loop][:, MIRRORED_WALL]]) for loop in half.void_loops
        ),
        faces={
            **faces,
            "symmetry": np.zeros((0, 8), dtype=half.elements.dtype),
            "midplane": half.faces["symmetry"],
        },
    )

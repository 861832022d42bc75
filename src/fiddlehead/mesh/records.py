"""The mesh as plain arrays."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
from jaxtyping import Float, Int


@dataclasses.dataclass(frozen=True, eq=False)
class Mesh:
    """Twenty-node bricks of the half finger ``z >= 0``, in the node order of the open VTK format.

    ``faces`` holds 8-node faces with normals out of the solid, by set: ``cavity`` (where air
    presses), ``root`` (x = 0), ``tip`` (end of the tip block), ``symmetry`` (z = 0),
    ``underside`` (the gripping face that meets the object: of the pad when there is one), ``void``
    (walls inside the pad) and ``outside`` (the rest).
    """

    points: Float[np.ndarray, "node 3"]
    """Coordinates, mm."""
    elements: Int[np.ndarray, "element 20"]
    region_names: tuple[str, ...]
    """Places in words: ``roof of bellows 3``, ``side wall of bellows 1`` ..."""
    element_region: Int[np.ndarray, " element"]
    faces: dict[str, Int[np.ndarray, "face 8"]]
    void_loops: tuple[Int[np.ndarray, "_face 8"], ...] = ()
    """The faces of the ``void`` set, one array for each opening of the pad, in order around it:
    walls that may close on each other."""
    template: Any = None
    """The ``mesh.template.MeshTemplate`` that placed the nodes; None for a mesh from elsewhere."""

    def region_of(self, element: int) -> str:
        """Where an element is, in words."""
        return self.region_names[self.element_region[element]]

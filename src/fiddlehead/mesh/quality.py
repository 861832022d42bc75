"""Is every brick well shaped, and where is the worst one."""

from __future__ import annotations

import dataclasses

import numpy as np
from jaxtyping import Float

from fiddlehead.errors import MeshError
from fiddlehead.mesh.records import Mesh

# Per corner: three edges leaving it, as (middle node, far corner), right-handed.
_LEAVING = (
    ((8, 1), (11, 3), (16, 4)),
    ((9, 2), (8, 0), (17, 5)),
    ((10, 3), (9, 1), (18, 6)),
    ((11, 0), (10, 2), (19, 7)),
    ((15, 7), (12, 5), (16, 0)),
    ((12, 4), (13, 6), (17, 1)),
    ((13, 5), (14, 7), (18, 2)),
    ((14, 6), (15, 4), (19, 3)),
)
_ENDS = np.array(
    [(0, 1), (1, 2), (2, 3), (3, 0), (4, 5), (5, 6), (6, 7), (7, 4), (0, 4), (1, 5), (2, 6), (3, 7)]
)


@dataclasses.dataclass(frozen=True)
class MeshQuality:
    """Shape of every element, and the worst of them.

    ``scaled_jacobian`` is the smallest, over the corners, of the triple product of the unit
    tangents of the three edges: 1 for a brick, 0 for a flat corner, negative when inverted
    (Knupp, 2000, IJNME 48, 1165-1185, value from memory). ``volume_ratio`` is the smallest
    Jacobian determinant at the corners over the largest, ``aspect`` the longest edge over the
    shortest.
    """

    scaled_jacobian: Float[np.ndarray, " element"]
    volume_ratio: Float[np.ndarray, " element"]
    aspect: Float[np.ndarray, " element"]
    worst_element: int
    worst_region: str
    worst_place_mm: tuple[float, float, float]
    """Middle of the element with the smallest scaled Jacobian."""

    def summary(self) -> str:
        """One line for people."""
        x, y, z = self.worst_place_mm
        return (
            f"{len(self.aspect)} elements, scaled Jacobian {self.scaled_jacobian.min():.3f} or"
            f" more, aspect up to {self.aspect.max():.1f}; worst shape: {self.worst_region} at"
            f" x {x:.1f}, y {y:.1f}, z {z:.1f} mm"
        )


def mesh_quality(mesh: Mesh) -> MeshQuality:
    """Measure every element at its corners.

    The tangent at a corner follows from the three nodes of the edge, which is exact for 20-node
    bricks whatever the other nodes do.
    """
    x = mesh.points[mesh.elements]
    tangents = np.stack(
        [
            np.stack(
                [(-3 * x[:, c] + 4 * x[:, middle] - x[:, far]) / 2 for middle, far in leaving],
                axis=1,
            )
            for c, leaving in enumerate(_LEAVING)
        ],
        axis=1,
    )  # element, corner, direction, axis
    determinant = np.linalg.det(tangents)
    lengths = np.prod(np.linalg.norm(tangents, axis=-1), axis=-1)
    with np.errstate(invalid="ignore", divide="ignore"):
        scaled = np.nan_to_num(determinant / lengths, nan=0.0).min(axis=1)
        ratio = determinant.min(axis=1) / np.abs(determinant).max(axis=1)
    edges = np.linalg.norm(x[:, _ENDS[:, 0]] - x[:, _ENDS[:, 1]], axis=-1)
    with np.errstate(divide="ignore"):
        aspect = edges.max(axis=1) / edges.min(axis=1)
    worst = int(np.argmin(scaled))
    middle = x[worst, :8].mean(axis=0)
    return MeshQuality(
        scaled_jacobian=scaled,
        volume_ratio=ratio,
        aspect=aspect,
        worst_element=worst,
        worst_region=mesh.region_of(worst),
        worst_place_mm=(float(middle[0]), float(middle[1]), float(middle[2])),
    )


def require_sound(mesh: Mesh) -> MeshQuality:
    """Measure the mesh and refuse it when an element is inverted or flat.

    Raises
    ------
    MeshError : with the place of the worst element
    """
    if not np.all(np.isfinite(mesh.points)):
        raise MeshError("a node has no finite coordinates", where="mesh")
    quality = mesh_quality(mesh)
    smallest = float(quality.scaled_jacobian[quality.worst_element])
    if smallest <= 1e-6:
        raise MeshError(
            "an element is inverted or flat" if smallest < 0 else "an element is flat",
            where=f"{quality.worst_region} (element {quality.worst_element})",
            found=f"scaled Jacobian {smallest:.3g}",
            allowed="more than 0",
            remedy="The sizes around this place leave it no room: widen it or thin its walls.",
        )
    return quality

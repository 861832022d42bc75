"""Triangles with a name: what every exporter and every check takes."""

from __future__ import annotations

import dataclasses

import numpy as np
from jaxtyping import Float, Int


@dataclasses.dataclass(frozen=True, eq=False)
class Part:
    """A named closed surface.

    vertices : mm
    triangles : vertex numbers, counter-clockwise seen from outside
    to_plate : rotation (rows are the plate's x, y and up in part coordinates) in which the part is
        printed
    """

    name: str
    vertices: Float[np.ndarray, "vertex 3"]
    triangles: Int[np.ndarray, "triangle 3"]
    to_plate: Float[np.ndarray, "3 3"] = dataclasses.field(default_factory=lambda: np.eye(3))

    @property
    def corners(self) -> Float[np.ndarray, "triangle 3 3"]:
        """Corners of every triangle, mm."""
        return self.vertices[self.triangles]

    @property
    def volume_mm3(self) -> float:
        """Enclosed volume, by the divergence theorem: the sum of ``v1 . (v2 x v3) / 6``."""
        a, b, c = np.moveaxis(self.corners - self.vertices.mean(axis=0), 1, 0)
        return float(np.einsum("ti,ti->", a, np.cross(b, c)) / 6.0)

    @property
    def centroid_mm(self) -> Float[np.ndarray, " 3"]:
        """Centre of the enclosed volume."""
        middle = self.vertices.mean(axis=0)
        a, b, c = np.moveaxis(self.corners - middle, 1, 0)
        cone = np.einsum("ti,ti->t", a, np.cross(b, c)) / 6.0
        return middle + (cone @ (a + b + c)) / (4.0 * cone.sum())

    def on_plate(self) -> Part:
        """The part turned into its printing orientation, lowest point at 0, centred on x and y."""
        turned = self.vertices @ self.to_plate.T
        low, high = turned.min(axis=0), turned.max(axis=0)
        origin = np.array([*(low + high)[:2] / 2.0, low[2]])
        return dataclasses.replace(self, vertices=turned - origin, to_plate=np.eye(3))

    def in_orientation(self, to_plate: Float[np.ndarray, "3 3"]) -> Part:
        """The same part, to be printed in another orientation."""
        return dataclasses.replace(self, to_plate=to_plate)

"""Mesh series in open VTK files: one unstructured grid per pressure, and the list of them.

The whole finger is written (the half mesh mirrored at z = 0, nodes on the mid-plane shared) as
20-node bricks (VTK cell type 25) in the undeformed place, with ``displacement_mm`` as a vector:
warp by it to see the deformed finger. Time in the series is the gauge pressure in kPa.
Format: VTK XML files, as The VTK User's Guide describes them.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any
from xml.sax.saxutils import quoteattr

import numpy as np
from jaxtyping import Float, Int

from fiddlehead.files import write_text, write_whole
from fiddlehead.mesh.records import Mesh
from fiddlehead.report.export.tables import write_table
from fiddlehead.trials.records import BendResult, BlockResult, LateralResult, PressResult

MIRROR = np.array([0, 3, 2, 1, 4, 7, 6, 5, 11, 10, 9, 8, 15, 14, 13, 12, 16, 19, 18, 17])
"""Order in which a brick's nodes form a right-handed brick after mirroring."""
ON_MID_PLANE_MM = 1e-9


@dataclass(frozen=True, eq=False)
class WholeMesh:
    """The half mesh and its mirror image, nodes on the mid-plane shared.

    node : for each node of the whole the node of the half it takes its values from
    side : 1 for nodes of the half itself, -1 for mirrored ones
    """

    points: Float[np.ndarray, "vertex 3"]
    elements: Int[np.ndarray, "element 20"]
    region: Int[np.ndarray, " element"]
    node: Int[np.ndarray, " vertex"]
    side: Float[np.ndarray, " vertex"]

    def vectors(self, half: Float[np.ndarray, "node 3"]) -> Float[np.ndarray, "vertex 3"]:
        """A vector field of the half on the whole (z components change sign)."""
        whole = half[self.node].copy()
        whole[:, 2] *= self.side
        return whole

    def sideways(self, half: Float[np.ndarray, "node 3"]) -> Float[np.ndarray, "vertex 3"]:
        """An antisymmetric vector field of the half on the whole (x and y change sign)."""
        return self.vectors(half) * self.side[:, None]


def whole_mesh(mesh: Mesh) -> WholeMesh:
    """Mirror the half mesh at z = 0."""
    count = len(mesh.points)
    apart = np.abs(mesh.points[:, 2]) > ON_MID_PLANE_MM
    image = np.arange(count)
    image[apart] = count + np.arange(int(apart.sum()))
    node = np.concatenate([np.arange(count), np.flatnonzero(apart)])
    side = np.concatenate([np.ones(count), -np.ones(int(apart.sum()))])
    points = mesh.points[node].copy()
    points[:, 2] *= side
    return WholeMesh(
        points=points,
        elements=np.concatenate([mesh.elements, image[mesh.elements][:, MIRROR]]),
        region=np.concatenate([mesh.element_region, mesh.element_region]),
        node=node,
        side=side,
    )


Result = BendResult | BlockResult | LateralResult | PressResult


def write_series(folder: Path, name: str, result: Result) -> Path:
    """Write ``name.pvd``, one grid per pressure in ``steps/``, and ``regions.csv``.

    Point data: ``displacement_mm``, and ``largest_log_strain`` (nodal average, fraction) or the
    weakest sideways shape, ``weakest_sideways_mm``; pressing adds ``contact_pressure_mpa``.
    Cell data: ``region`` (its name stands in ``regions.csv``).

    Raises
    ------
    StoreError : the folder cannot be written
    """
    import meshio

    whole = whole_mesh(result.mesh)
    entries = []
    for step, pressure in enumerate(result.pressure_mpa):
        grid = meshio.Mesh(
            whole.points,
            [("hexahedron20", whole.elements)],
            point_data={
                "displacement_mm": whole.vectors(result.displacement_mm[step]),
                **_own_data(result, whole, step),
            },
            cell_data={"region": [whole.region.astype(np.int32)]},
        )
        place = f"steps/{name}_{step:03d}.vtu"
        write_whole(folder / place, partial(meshio.write, mesh=grid, file_format="vtu"))
        time = f"{1e3 * pressure:.9g}"
        entries.append(f'<DataSet timestep="{time}" part="0" file={quoteattr(place)}/>')
    write_table(
        folder / "regions.csv",
        {"region": range(len(result.mesh.region_names)), "name": result.mesh.region_names},
    )
    lines = [
        '<?xml version="1.0"?>',
        '<VTKFile type="Collection" version="0.1" byte_order="LittleEndian">',
        "<Collection>",
        *entries,
        "</Collection>",
        "</VTKFile>",
    ]
    return write_text(folder / f"{name}.pvd", "\n".join(lines) + "\n")


def _own_data(result: Result, whole: WholeMesh, step: int) -> dict[str, Any]:
    if isinstance(result, LateralResult):
        return {"weakest_sideways_mm": whole.sideways(result.weakest_mm[step])}
    if isinstance(result, PressResult):
        pressed = result.contact_node_mpa[step][whole.node]
        strain = result.node_strain[step][whole.node]
        return {"largest_log_strain": strain, "contact_pressure_mpa": pressed}
    return {"largest_log_strain": result.node_strain[step][whole.node]}

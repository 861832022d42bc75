"""Out-of-balance forces and tangent of a body under its loads, in band order."""

from __future__ import annotations

import dataclasses
from typing import NamedTuple

import jax
import jax.numpy as jnp
from jaxtyping import Array, Float, Int

from fiddlehead.material.laws.base import Energy
from fiddlehead.mechanics import band_lu
from fiddlehead.mechanics import plate as plates
from fiddlehead.mechanics import pressure as pressures
from fiddlehead.mechanics.arrays import Scalar
from fiddlehead.mechanics.band_lu import BandMatrix
from fiddlehead.mechanics.body import Body
from fiddlehead.mechanics.inner import (
    InnerStiffness,
    eliminate_inner,
    recover_inner,
    reduce_right,
)
from fiddlehead.mechanics.plate import Plate
from fiddlehead.mechanics.solid import (
    Geometry,
    Linearised,
    Stress,
    internal_forces,
    linearise,
)


@dataclasses.dataclass(frozen=True)
class Loading:
    """Loads as linear functions of one load factor ``t``: ``start + t (end - start)``."""

    pressure_start: Float[Array, ""]
    pressure_end: Float[Array, ""]
    dead: Float[Array, " row"]
    """Nodal forces at ``t = 1``, N, band order."""
    prescribed_start: Float[Array, " row"]
    prescribed_end: Float[Array, " row"]
    """Displacements of supported components at ``t = 0`` and ``t = 1``, mm, band order."""
    plate: Plate

    def pressure(self, t: Scalar) -> Scalar:
        """Live pressure at load factor ``t``, MPa."""
        return self.pressure_start + t * (self.pressure_end - self.pressure_start)

    def prescribed(self, t: Scalar) -> Float[Array, " row"]:
        """Displacements of the supported components at load factor ``t``, mm."""
        return self.prescribed_start + t * (self.prescribed_end - self.prescribed_start)


jax.tree_util.register_dataclass(
    Loading,
    data_fields=[
        "pressure_start",
        "pressure_end",
        "dead",
        "prescribed_start",
        "prescribed_end",
        "plate",
    ],
    meta_fields=[],
)


@dataclasses.dataclass(frozen=True)
class Solid:
    """One design: its undeformed coordinates, their derived geometry, and its material."""

    points: Float[Array, "node 3"]
    geometry: Geometry
    law: Energy
    bulk: Float[Array, ""]


jax.tree_util.register_dataclass(
    Solid, data_fields=["points", "geometry", "law", "bulk"], meta_fields=[]
)


def face_positions(
    body: Body, solid: Solid, faces: Int[Array, "face 8"], u: Float[Array, " row"]
) -> Float[Array, "face 8 3"]:
    """Current positions of the nodes of ``faces``, mm."""
    return solid.points[faces] + u[body.rows(faces)].reshape(len(faces), 8, 3)


def pressure_forces(body: Body, solid: Solid, u: Float[Array, " row"]) -> Float[Array, " row"]:
    """Nodal forces of a live pressure of 1 MPa; on a closed cavity ``dV/du`` (mm²)."""
    faces = body.pressure_faces
    forces = pressures.unit_pressure_forces(face_positions(body, solid, faces, u))
    return jnp.zeros(body.size).at[body.rows(faces)].add(forces.reshape(len(faces), 24))


def cavity_volume(body: Body, solid: Solid, u: Float[Array, " row"]) -> Scalar:
    """Volume enclosed by the pressure faces, mm³ (of the modelled half or quarter)."""
    return pressures.enclosed_volume(face_positions(body, solid, body.pressure_faces, u))


def plate_forces(
    body: Body, solid: Solid, plate: Plate, u: Float[Array, " row"]
) -> Float[Array, " row"]:
    """Nodal forces of the plate, N."""
    faces = body.plate_faces
    x = face_positions(body, solid, faces, u)
    forces = plates.plate_forces(plate, solid.points[faces], x)
    return jnp.zeros(body.size).at[body.rows(faces)].add(forces.reshape(len(faces), 24))


def external_forces(
    body: Body, solid: Solid, loading: Loading, t: Scalar, u: Float[Array, " row"]
) -> Float[Array, " row"]:
    """All applied forces at load factor ``t``, N."""
    forces = loading.pressure(t) * pressure_forces(body, solid, u) + t * loading.dead
    if len(body.plate_faces):
        forces = forces + plate_forces(body, solid, loading.plate, u)
    return forces


def out_of_balance(
    body: Body, solid: Solid, loading: Loading, t: Scalar, u: Float[Array, " row"]
) -> Float[Array, " row"]:
    """Internal minus external forces, N, on all rows (reactions on the supported ones)."""
    inner = internal_forces(body, solid.geometry, solid.law, solid.bulk, u)
    return inner - external_forces(body, solid, loading, t, u)


class System(NamedTuple):
    """The linear system of one Newton step."""

    residual: Float[Array, " row"]
    tangent: BandMatrix
    """Of the band rows, the inner functions eliminated."""
    inner: InnerStiffness
    at: Linearised


def linear_system(
    body: Body,
    solid: Solid,
    loading: Loading,
    t: Scalar,
    u: Float[Array, " row"],
    carried: Stress | None = None,
) -> System:
    """Out-of-balance forces and the full tangent (supports not yet applied).

    ``carried`` stresses stand in for the true ones in the geometric part of the tangent.
    """
    at = linearise(body, solid.geometry, solid.law, solid.bulk, u, carried)
    residual = at.forces - external_forces(body, solid, loading, t, u)
    faces = body.pressure_faces
    live = -loading.pressure(t) * pressures.unit_pressure_stiffness(
        face_positions(body, solid, faces, u)
    )
    condensed, inner = eliminate_inner(at.stiffness)
    cells = [(body.elements, condensed), (faces, live)]
    if len(body.plate_faces):
        x = face_positions(body, solid, body.plate_faces, u)
        push = plates.plate_stiffness(loading.plate, solid.points[body.plate_faces], x)
        cells.append((body.plate_faces, push))
    return System(residual, _assemble(body, cells), inner, at)


def _assemble(body: Body, cells: list[tuple[Array, Array]]) -> BandMatrix:
    """Add cell matrices into the diagonal and lower blocks; upper blocks follow by symmetry."""
    bands, width = body.bands, body.width
    diagonal_end = bands * width * width
    out_of_range = (2 * bands - 1) * width * width
    flat = jnp.zeros(out_of_range)
    for connectivity, matrices in cells:
        rows = body.rows(connectivity)
        band, place = rows // width, rows % width
        r, c = band[:, :, None], band[:, None, :]
        inside = r * width * width + place[:, :, None] * width + place[:, None, :]
        below = diagonal_end + c * width * width + place[:, :, None] * width + place[:, None, :]
        target = jnp.where(r == c, inside, jnp.where(r == c + 1, below, out_of_range))
        flat = flat.at[target].add(matrices, mode="drop")
    return BandMatrix(
        flat[:diagonal_end].reshape(bands, width, width),
        flat[diagonal_end:].reshape(bands - 1, width, width),
    )


def solve_system(
    body: Body, system: System, right: Float[Array, "row columns"], jump: Float[Array, " row"]
) -> Float[Array, "row columns"]:
    """Solve the tangent for displacement increments.

    ``right`` holds forces; ``jump`` the increments of supported components, which go with the
    first column.
    """
    bands, width = body.free.shape
    carried = reduce_right(body, system.inner, right)[: bands * width]
    moved = jump[: bands * width].reshape(bands, width) * (1.0 - body.free)
    carried = carried.reshape(bands, width, -1) * body.free[..., None]
    pull = band_lu.multiply(system.tangent, moved) * body.free
    carried = carried.at[..., 0].add(moved - pull)
    solved = band_lu.solve(apply_supports(body, system.tangent), carried)
    return recover_inner(body, system.inner, right, solved.reshape(bands * width, -1))


def apply_supports(body: Body, matrix: BandMatrix) -> BandMatrix:
    """Replace supported and padding rows and columns by those of the identity."""
    free = body.free
    diagonal = matrix.diagonal * free[:, :, None] * free[:, None, :]
    diagonal = diagonal + jnp.eye(body.width) * (1.0 - free)[:, :, None]
    return BandMatrix(diagonal, matrix.lower * free[1:, :, None] * free[:-1, None, :])

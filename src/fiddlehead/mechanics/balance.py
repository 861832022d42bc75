"""Out-of-balance forces and tangent of a body under its loads."""

from __future__ import annotations

import dataclasses
from typing import Any, NamedTuple

import jax
import jax.numpy as jnp
from jaxtyping import Array, Float, Int

from fiddlehead.material.laws.base import Energy
from fiddlehead.mechanics import contact, elimination, walls
from fiddlehead.mechanics import plate as plates
from fiddlehead.mechanics import pressure as pressures
from fiddlehead.mechanics.arrays import Scalar
from fiddlehead.mechanics.body import Body
from fiddlehead.mechanics.cells import Cells, assemble, multiply
from fiddlehead.mechanics.elimination import Columns
from fiddlehead.mechanics.factors import factorise, substitute
from fiddlehead.mechanics.inner import (
    InnerStiffness,
    eliminate_inner,
    recover_inner,
    reduce_right,
)
from fiddlehead.mechanics.mixed import solve_in_single
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
    """Nodal forces at ``t = 1``, N, by rows."""
    prescribed_start: Float[Array, " row"]
    prescribed_end: Float[Array, " row"]
    """Displacements of supported components at ``t = 0`` and ``t = 1``, mm, by rows."""
    plate: Plate
    obstacle: Any = None
    """A ``contact.Obstacle``, for a body with ``contact_faces``; it stays where it is."""

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
        "obstacle",
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
    body: Body, solid: Solid, faces: Int[Array, "face corner"], u: Float[Array, " row"]
) -> Float[Array, "face corner 3"]:
    """Current positions of the nodes of ``faces``, mm."""
    return solid.points[faces] + u[body.rows(faces)].reshape(*faces.shape, 3)


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


def contact_forces(
    body: Body, solid: Solid, obstacle: contact.Obstacle, u: Float[Array, " row"]
) -> Float[Array, " row"]:
    """Nodal forces of the obstacle on the body, N."""
    faces = body.contact_faces
    x = face_positions(body, solid, faces, u)
    forces = contact.contact_forces(obstacle, solid.points[faces], x)
    return jnp.zeros(body.size).at[body.rows(faces)].add(forces.reshape(len(faces), 24))


def contact_past(body: Body) -> contact.Past | None:
    """What friction remembers before anything has touched; None without contact faces."""
    return contact.no_past(len(body.contact_faces)) if len(body.contact_faces) else None


def remember(
    body: Body, solid: Solid, loading: Loading, u: Float[Array, " row"]
) -> contact.Past | None:
    """What friction remembers of the balanced state ``u``."""
    if loading.obstacle is None:
        return contact_past(body)
    return contact.remember(loading.obstacle, face_positions(body, solid, body.contact_faces, u))


def remembering(loading: Loading, past: contact.Past | None) -> Loading:
    """The loading with what friction remembers of the last balance."""
    if loading.obstacle is None:
        return loading
    return dataclasses.replace(loading, obstacle=dataclasses.replace(loading.obstacle, past=past))


def wall_forces(body: Body, solid: Solid, u: Float[Array, " row"]) -> Float[Array, " row"]:
    """Nodal forces of walls that meet, N."""
    pairs = body.wall_pairs
    x = face_positions(body, solid, pairs, u)
    forces = walls.wall_forces(solid.points[pairs], x, solid.law.shear_modulus_mpa)
    return jnp.zeros(body.size).at[body.rows(pairs)].add(forces.reshape(len(pairs), 48))


def external_forces(
    body: Body, solid: Solid, loading: Loading, t: Scalar, u: Float[Array, " row"]
) -> Float[Array, " row"]:
    """All forces but the inner ones at load factor ``t``, N: applied, and of contact."""
    forces = loading.pressure(t) * pressure_forces(body, solid, u) + t * loading.dead
    if len(body.plate_faces):
        forces = forces + plate_forces(body, solid, loading.plate, u)
    if loading.obstacle is not None:
        forces = forces + contact_forces(body, solid, loading.obstacle, u)
    if body.walls_push:
        forces = forces + wall_forces(body, solid, u)
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
    tangent: Cells
    """Of the nodes' rows, the inner functions eliminated; supports not yet applied."""
    inner: InnerStiffness
    at: Linearised
    coupling: Cells = ()
    """The part of the tangent that is not symmetric, small beside the rest."""


def linear_system(
    body: Body,
    solid: Solid,
    loading: Loading,
    t: Scalar,
    u: Float[Array, " row"],
    carried: Stress | None = None,
) -> System:
    """Out-of-balance forces and the full tangent.

    ``carried`` stresses stand in for the true ones in the geometric part of the tangent.
    """
    at = linearise(body, solid.geometry, solid.law, solid.bulk, u, carried)
    residual = at.forces - external_forces(body, solid, loading, t, u)
    faces = body.pressure_faces
    live = -loading.pressure(t) * pressures.unit_pressure_stiffness(
        face_positions(body, solid, faces, u)
    )
    condensed, inner = eliminate_inner(at.stiffness)
    coupling: Cells = ()
    cells = [(body.rows(body.elements), condensed), (body.rows(faces), live)]
    if len(body.plate_faces):
        x = face_positions(body, solid, body.plate_faces, u)
        push = plates.plate_stiffness(loading.plate, solid.points[body.plate_faces], x)
        cells.append((body.rows(body.plate_faces), push))
    if loading.obstacle is not None:
        x = face_positions(body, solid, body.contact_faces, u)
        push = contact.contact_stiffness(loading.obstacle, solid.points[body.contact_faces], x)
        cells.append((body.rows(body.contact_faces), push))
        if loading.obstacle.friction is not None:
            slip = contact.slip_coupling(loading.obstacle, solid.points[body.contact_faces], x)
            coupling = ((body.rows(body.contact_faces), slip),)
    if body.walls_push:
        pairs = body.wall_pairs
        x = face_positions(body, solid, pairs, u)
        meet = walls.wall_stiffness(solid.points[pairs], x, solid.law.shear_modulus_mpa)
        cells.append((body.rows(pairs), meet))
    return System(residual, tuple(cells), inner, at, coupling)


def solve_system(
    body: Body,
    system: System,
    right: Float[Array, "row columns"],
    jump: Float[Array, " row"],
    *,
    in_single: bool = False,
) -> Float[Array, "row columns"]:
    """Solve the tangent for displacement increments.

    ``right`` holds forces; ``jump`` the increments of supported components, which go with the
    first column. ``in_single`` does the heavy arithmetic in single precision.
    """
    nodal, free = body.nodal_size, body.free.ravel()
    carried = reduce_right(body, system.inner, right)[:nodal]
    moved = jump[:nodal] * (1.0 - free)
    carried = carried * free[:, None]
    carried = carried.at[:, 0].add(moved - multiply(system.tangent, moved) * free)
    if in_single:
        solved = solve_in_single(body, system.tangent, carried)
    else:
        columns = assemble(body, system.tangent)
        if system.coupling:
            solved = _with_coupling(body, system.coupling, columns, carried)
        else:
            solved = elimination.solve(columns, body.slots, carried.reshape(*body.free.shape, -1))
    return recover_inner(body, system.inner, right, solved.reshape(nodal, -1))


COUPLING_ROUNDS = 4
"""Each shrinks the error about tenfold (measured on a finger that slips at 0.4)."""


def _with_coupling(
    body: Body, coupling: Cells, columns: Columns, right: Float[Array, "nodal_row columns"]
) -> Float[Array, "nodal_row columns"]:
    """Solve with the symmetric part, and again with what the rest of the tangent adds."""
    factors, free = factorise(columns, body.slots), body.free.ravel()[:, None]

    def rest(x: Float[Array, "nodal_row columns"]) -> Float[Array, "nodal_row columns"]:
        return jax.vmap(lambda one: multiply(coupling, one), in_axes=1, out_axes=1)(x) * free

    def again(_: int, x: Float[Array, "nodal_row columns"]) -> Float[Array, "nodal_row columns"]:
        return substitute(factors, right - rest(x))

    return jax.lax.fori_loop(0, COUPLING_ROUNDS, again, substitute(factors, right))

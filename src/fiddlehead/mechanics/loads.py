"""Forces on a body: its loads by one load factor, and what it touches."""

from __future__ import annotations

import dataclasses
from typing import Any

import jax
import jax.numpy as jnp
from jaxtyping import Array, Float, Int

from fiddlehead.material.laws.base import Energy
from fiddlehead.mechanics import contact, walls
from fiddlehead.mechanics import plate as plates
from fiddlehead.mechanics import pressure as pressures
from fiddlehead.mechanics.arrays import Scalar
from fiddlehead.mechanics.body import Body
from fiddlehead.mechanics.plate import Plate
from fiddlehead.mechanics.solid import Geometry


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


def wall_law(solid: Solid, loading: Loading) -> walls.WallLaw:
    """How walls of this material push on each other under this load."""
    return walls.wall_law(solid.law.shear_modulus_mpa, loading.pressure_end)


def wall_pressure(
    body: Body, solid: Solid, loading: Loading, u: Float[Array, " row"]
) -> Float[Array, "pair point"]:
    """Pressure between facing walls, MPa; no pairs for walls that do not push."""
    pairs = body.wall_pairs[: len(body.wall_pairs) if body.walls_push else 0]
    gap = walls.gaps(face_positions(body, solid, pairs, u))
    return walls.wall_pressure(wall_law(solid, loading), gap)


def wall_forces(
    body: Body, solid: Solid, u: Float[Array, " row"], pressure: Float[Array, "pair point"]
) -> Float[Array, " row"]:
    """Nodal forces of walls that push on each other, N."""
    pairs = body.wall_pairs
    x = face_positions(body, solid, pairs, u)
    forces = walls.wall_forces(solid.points[pairs], x, pressure)
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
        forces = forces + wall_forces(body, solid, u, wall_pressure(body, solid, loading, u))
    return forces

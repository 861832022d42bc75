"""Out-of-balance forces and tangent of a body under its loads."""

from __future__ import annotations

from typing import NamedTuple

import jax
import jax.numpy as jnp
from jaxtyping import Array, Float

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
from fiddlehead.mechanics.loads import (
    Loading,
    Solid,
    external_forces,
    face_positions,
    wall_forces,
    wall_law,
    wall_pressure,
)
from fiddlehead.mechanics.mixed import solve_in_single
from fiddlehead.mechanics.solid import (
    Linearised,
    Stress,
    extrapolate,
    internal_forces,
    linearise,
    stresses,
)


def out_of_balance(
    body: Body, solid: Solid, loading: Loading, t: Scalar, u: Float[Array, " row"]
) -> Float[Array, " row"]:
    """Internal minus external forces, N, on all rows (reactions on the supported ones)."""
    inner = internal_forces(body, solid.geometry, solid.law, solid.bulk, u)
    return inner - external_forces(body, solid, loading, t, u)


class Carried(NamedTuple):
    """What is carried from one Newton step to the next for the tangent."""

    second_piola: Float[Array, "6 element point"]
    pressure: Float[Array, "element point"]
    wall_pressure: Float[Array, "pair point"]

    @property
    def stress(self) -> Stress:
        """Stresses of the solid."""
        return Stress(self.second_piola, self.pressure)


def carried_at(body: Body, solid: Solid, loading: Loading, u: Float[Array, " row"]) -> Carried:
    """The true stresses and pressures between walls at ``u``."""
    stress = stresses(body, solid.geometry, solid.law, solid.bulk, u)
    return Carried(*stress, wall_pressure(body, solid, loading, u))


def carry(
    body: Body, solid: Solid, loading: Loading, at: Linearised, carried: Carried,
    u: Float[Array, " row"], du: Float[Array, " row"],
) -> Carried:  # fmt: skip
    """Stresses and pressures after the step ``du`` from ``u`` (linearised in ``at``), to first
    order."""
    stress = extrapolate(body, solid.geometry, solid.bulk, at, du)
    if not body.walls_push:
        return Carried(*stress, carried.wall_pressure)
    law, pairs = wall_law(solid, loading), body.wall_pairs
    x = face_positions(body, solid, pairs, u)
    gap, closing = jax.jvp(walls.gaps, (x,), (du[body.rows(pairs)].reshape(x.shape),))
    before = jnp.maximum(carried.wall_pressure, walls.least_pressure(law))
    after = walls.linearised_pressure(law, gap, before)
    after -= walls.pressure_slope(law, before) * closing
    return Carried(*stress, jnp.maximum(after, walls.LEAST_SHARE * before))


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
    carried: Carried | None = None,
) -> System:
    """Out-of-balance forces and the full tangent.

    ``carried`` stresses stand in for the true ones in the geometric part of the tangent, and
    carried pressures between walls in the law of contact and its tangent.
    """
    stress = None if carried is None else carried.stress
    at = linearise(body, solid.geometry, solid.law, solid.bulk, u, stress)
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
        pairs, law = body.wall_pairs, wall_law(solid, loading)
        x = face_positions(body, solid, pairs, u)
        true = wall_pressure(body, solid, loading, u)
        pressure = true
        if carried is not None:
            pressure = jnp.maximum(carried.wall_pressure, walls.least_pressure(law))
            linear = walls.linearised_pressure(law, walls.gaps(x), pressure)
            residual = residual - wall_forces(body, solid, u, linear - true)
        meet = walls.wall_stiffness(solid.points[pairs], x, pressure, law)
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

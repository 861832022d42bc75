"""A rigid, frictionless, flat plate that faces of the body may press on.

The plate pushes with ``k·(depth beyond it)`` per area, entered smoothly over a short ramp so that
Newton's method sees no kink; the stiffness is high enough that the depth is negligible beside the
motion of a soft finger (it is reported with the results).
"""

from __future__ import annotations

import dataclasses

import jax
import jax.numpy as jnp
from jaxtyping import Array, Float

from fiddlehead.mechanics.pressure import FACE_VALUES, FACE_WEIGHTS, face_edges


@dataclasses.dataclass(frozen=True)
class Plate:
    """Half space the body cannot enter.

    ``normal`` points from the plate to the body; ``stiffness`` is in N/mm³, ``ramp`` in mm.
    """

    point: Float[Array, "3"]
    normal: Float[Array, "3"]
    stiffness: Float[Array, ""]
    ramp: Float[Array, ""]


jax.tree_util.register_dataclass(
    Plate, data_fields=["point", "normal", "stiffness", "ramp"], meta_fields=[]
)


def no_plate() -> Plate:
    """A plate that is never met."""
    return Plate(jnp.zeros(3), jnp.zeros(3), jnp.asarray(0.0), jnp.asarray(1.0))


def plate_pressure(plate: Plate, gap: Float[Array, "*point"]) -> Float[Array, "*point"]:
    """Contact pressure (MPa) at a signed distance ``gap`` (mm, negative inside the plate)."""
    depth = jnp.maximum(-gap, 0.0)
    entry = depth**2 / (2.0 * plate.ramp)
    return plate.stiffness * jnp.where(depth < plate.ramp, entry, depth - plate.ramp / 2.0)


def _plate_slope(plate: Plate, gap: Array) -> Array:
    """Derivative of the contact pressure by the depth, N/mm³."""
    return plate.stiffness * jnp.clip(-gap / plate.ramp, 0.0, 1.0)


def _area(reference: Float[Array, "face 8 3"]) -> Float[Array, "face point"]:
    return FACE_WEIGHTS * jnp.linalg.norm(jnp.cross(*face_edges(reference)), axis=-1)


def gap_to(plate: Plate, x: Float[Array, "face 8 3"]) -> Float[Array, "face point"]:
    """Signed distance of the faces' integration points from the plate, mm (negative inside)."""
    return jnp.einsum("qa,fai,i->fq", FACE_VALUES, x, plate.normal) - plate.point @ plate.normal


def plate_forces(
    plate: Plate, reference: Float[Array, "face 8 3"], x: Float[Array, "face 8 3"]
) -> Float[Array, "face 8 3"]:
    """Nodal forces (N) of the plate on the body; integrated over the undeformed faces."""
    push = _area(reference) * plate_pressure(plate, gap_to(plate, x))
    return jnp.einsum("fq,qa,i->fai", push, FACE_VALUES, plate.normal)


def plate_stiffness(
    plate: Plate, reference: Float[Array, "face 8 3"], x: Float[Array, "face 8 3"]
) -> Float[Array, "face 24 24"]:
    """Derivative of minus :func:`plate_forces` by the positions, N/mm (symmetric)."""
    slope = _area(reference) * _plate_slope(plate, gap_to(plate, x))
    pair = jnp.einsum("fq,qa,qb->fab", slope, FACE_VALUES, FACE_VALUES)
    square = jnp.einsum("fab,i,j->faibj", pair, plate.normal, plate.normal)
    return square.reshape(len(x), 24, 24)

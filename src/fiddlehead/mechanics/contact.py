"""Contact of outer faces with a rigid surface that is known by its signed distance.

The surface pushes each point of a face along its normal with a pressure that grows with the depth
beyond it, so steeply that points lie deeper by a micrometre or less: results do not depend on that
number. Friction follows Coulomb: a point that touches is tied to the place of the surface where it
was at the last balance, by a stiff spring that slips at the friction coefficient times the
pressure. Everything is per face, so the front of the elimination stays as it is; everything is
traced, so designs, surfaces and poses run in batches and can be differentiated. Source of the
penalty potential and of the return mapping: Wriggers (2006), Computational Contact Mechanics, 2nd
ed., sec. 5.2 and 6.3. The tangent of slipping is not symmetric; the part that is not is kept apart.
"""

from __future__ import annotations

import dataclasses
from typing import Any, NamedTuple, Protocol

import jax
import jax.numpy as jnp
from jaxtyping import Array, Float

from fiddlehead.mechanics.arrays import Scalar
from fiddlehead.mechanics.pressure import FACE_VALUES, FACE_WEIGHTS, face_edges

MODULI_PER_MM = 200.0
"""Slope of contact pressure with depth over the body's shear modulus, 1/mm."""
STICK_SHARE = 0.02
"""Stiffness of the tie of a sticking point over the contact stiffness."""
RAMP_MM = 0.001
"""Depth over which the contact stiffness comes in."""


class Surface(Protocol):
    """A rigid surface in its own frame, as a JAX pytree."""

    def distance(self, points: Float[Array, "*batch 3"]) -> Float[Array, "*batch"]:
        """Signed distance, mm; negative inside; twice differentiable near the surface."""


class Past(NamedTuple):
    """What friction remembers of the last balance (seen from the surface)."""

    anchor: Float[Array, "contact_face point 3"]
    """Place of the surface each point is tied to, mm, in the surface's frame."""
    touched: Float[Array, "contact_face point"]
    """1.0 where it touched."""


@dataclasses.dataclass(frozen=True)
class Obstacle:
    """A rigid surface at a pose, and how it is felt."""

    surface: Any
    """A :class:`Surface`."""
    pose: Any
    """Pytree that carries points ``into_shape`` and ``into_world``; its ``position_mm`` is where
    moments are taken about."""
    friction: Float[Array, ""] | None
    """Coulomb's coefficient; None for a smooth surface."""
    stiffness: Float[Array, ""]
    """Slope of the pressure with depth, N/mm³."""
    past: Past | None = None


jax.tree_util.register_dataclass(
    Obstacle,
    data_fields=["surface", "pose", "friction", "stiffness", "past"],
    meta_fields=[],
)


def make_obstacle(
    surface: Any, pose: Any, shear_modulus_mpa: Any, friction: Any = None
) -> Obstacle:
    """An obstacle for a body of the given shear modulus, MPa; smooth without a coefficient."""
    return Obstacle(
        surface,
        pose,
        None if friction is None else jnp.asarray(friction, float),
        MODULI_PER_MM * jnp.asarray(shear_modulus_mpa, float),
    )


def no_past(faces: int) -> Past:
    """Nothing has touched yet."""
    points = len(FACE_WEIGHTS)
    return Past(jnp.zeros((faces, points, 3)), jnp.zeros((faces, points)))


def contact_pressure(obstacle: Obstacle, gap: Float[Array, "*point"]) -> Float[Array, "*point"]:
    """Pressure (MPa, per undeformed area) at a signed distance ``gap`` (mm)."""
    depth = jnp.maximum(-gap, 0.0)
    entry = depth**2 / (2.0 * RAMP_MM)
    return obstacle.stiffness * jnp.where(depth < RAMP_MM, entry, depth - RAMP_MM / 2.0)


class Felt(NamedTuple):
    """Contact at the faces' integration points, vectors in the world."""

    position: Float[Array, "contact_face point 3"]
    gap: Float[Array, "contact_face point"]
    """Signed distance, mm."""
    normal: Float[Array, "contact_face point 3"]
    """Out of the surface."""
    pressure: Float[Array, "contact_face point"]
    """On the undeformed area, MPa."""
    friction: Float[Array, "contact_face point 3"]
    """Traction on the body along the surface, on the undeformed area, MPa."""
    area: Float[Array, "contact_face point"]
    """Undeformed area of each point, mm²."""
    current_area: Float[Array, "contact_face point"]
    """The same when deformed, mm²."""


class _Local(NamedTuple):
    """Contact seen from the surface."""

    place: Array
    gap: Array
    normal: Array
    pressure: Array
    slip: Array
    """Tangential way from the anchor, mm."""
    hold: Array
    """Traction over slip, N/mm³."""
    slipping: Array


def _positions(x: Float[Array, "contact_face 8 3"]) -> Float[Array, "contact_face point 3"]:
    return jnp.einsum("qa,fai->fqi", FACE_VALUES, x)


def _area(x: Float[Array, "contact_face 8 3"]) -> Float[Array, "contact_face point"]:
    return FACE_WEIGHTS * jnp.linalg.norm(jnp.cross(*face_edges(x)), axis=-1)


def _rotation(pose: Any) -> Float[Array, "3 3"]:
    """Columns are the surface's axes in the world."""
    return (pose.into_world(jnp.eye(3)) - pose.into_world(jnp.zeros((1, 3)))).T


def _local(obstacle: Obstacle, x: Float[Array, "contact_face 8 3"]) -> _Local:
    place = obstacle.pose.into_shape(_positions(x))
    shape = place.shape[:-1]
    gap, normal = jax.vmap(jax.value_and_grad(obstacle.surface.distance))(place.reshape(-1, 3))
    gap, normal = gap.reshape(shape), normal.reshape(place.shape)
    pressure = contact_pressure(obstacle, gap)
    if obstacle.past is None or obstacle.friction is None:
        nothing = jnp.zeros_like(gap)
        return _Local(place, gap, normal, pressure, jnp.zeros_like(place), nothing, nothing > 1)
    way = (place - obstacle.past.anchor) * obstacle.past.touched[..., None]
    slip = way - (way * normal).sum(-1, keepdims=True) * normal
    square = (slip**2).sum(-1)
    length = jnp.sqrt(jnp.where(square > 0, square, 1.0))
    tie = STICK_SHARE * obstacle.stiffness
    limit = obstacle.friction * pressure
    slipping = tie * jnp.where(square > 0, length, 0.0) >= limit
    hold = jnp.where(slipping, limit / length, tie) * obstacle.past.touched
    return _Local(place, gap, normal, pressure, slip, hold, slipping)


def feel(
    obstacle: Obstacle,
    reference: Float[Array, "contact_face 8 3"],
    x: Float[Array, "contact_face 8 3"],
) -> Felt:
    """Contact at all integration points of the faces.

    Parameters
    ----------
    reference, x : undeformed and current positions of the faces' nodes, mm
    """
    here, turn = _local(obstacle, x), _rotation(obstacle.pose)
    friction = -here.hold[..., None] * here.slip
    return Felt(
        position=_positions(x),
        gap=here.gap,
        normal=here.normal @ turn.T,
        pressure=here.pressure,
        friction=friction @ turn.T,
        area=_area(reference),
        current_area=_area(x),
    )


def contact_forces(
    obstacle: Obstacle,
    reference: Float[Array, "contact_face 8 3"],
    x: Float[Array, "contact_face 8 3"],
) -> Float[Array, "contact_face 8 3"]:
    """Nodal forces (N) of the surface on the body; integrated over the undeformed faces."""
    felt = feel(obstacle, reference, x)
    traction = felt.pressure[..., None] * felt.normal + felt.friction
    return jnp.einsum("fq,qa,fqi->fai", felt.area, FACE_VALUES, traction)


def contact_stiffness(
    obstacle: Obstacle,
    reference: Float[Array, "contact_face 8 3"],
    x: Float[Array, "contact_face 8 3"],
) -> Float[Array, "contact_face 24 24"]:
    """Symmetric derivative of minus :func:`contact_forces` by the positions, N/mm."""
    here, turn = _local(obstacle, x), _rotation(obstacle.pose)
    flat = here.place.reshape(-1, 3)
    curvature = jax.vmap(jax.hessian(obstacle.surface.distance))(flat)
    curvature = curvature.reshape(*here.gap.shape, 3, 3)
    slope = obstacle.stiffness * jnp.clip(-here.gap / RAMP_MM, 0.0, 1.0)
    square = here.normal[..., :, None] * here.normal[..., None, :]
    matrix = slope[..., None, None] * square
    matrix -= jnp.where(here.pressure > 0, here.pressure, 0.0)[..., None, None] * jnp.where(
        (here.pressure > 0)[..., None, None], curvature, 0.0
    )
    if obstacle.past is not None and obstacle.friction is not None:
        along = jnp.eye(3) - square
        length = (here.slip**2).sum(-1)
        spent = here.slip[..., :, None] * here.slip[..., None, :]
        spent = spent / jnp.where(length > 0, length, 1.0)[..., None, None]
        slipping = here.slipping[..., None, None]
        matrix += here.hold[..., None, None] * (along - jnp.where(slipping, spent, 0.0))
    matrix = jnp.einsum("ij,fqjk,lk->fqil", turn, matrix, turn)
    weighted = jnp.einsum("fq,qa,qb->fqab", _area(reference), FACE_VALUES, FACE_VALUES)
    return jnp.einsum("fqab,fqij->faibj", weighted, matrix).reshape(len(x), 24, 24)


def slip_coupling(
    obstacle: Obstacle,
    reference: Float[Array, "contact_face 8 3"],
    x: Float[Array, "contact_face 8 3"],
) -> Float[Array, "contact_face 24 24"]:
    """What :func:`contact_stiffness` leaves out: friction of slipping points grows with their
    pressure, N/mm. Not symmetric."""
    here, turn = _local(obstacle, x), _rotation(obstacle.pose)
    assert obstacle.friction is not None
    square = (here.slip**2).sum(-1)
    slips = here.slipping & (square > 0)
    length = jnp.sqrt(jnp.where(slips, square, 1.0))
    slope = obstacle.stiffness * jnp.clip(-here.gap / RAMP_MM, 0.0, 1.0)
    size = jnp.where(slips, obstacle.friction * slope / length, 0.0)
    if obstacle.past is not None:
        size = size * obstacle.past.touched
    along, normal = here.slip @ turn.T, here.normal @ turn.T
    weighted = jnp.einsum("fq,fq,qa,qb->fqab", _area(reference), -size, FACE_VALUES, FACE_VALUES)
    full = jnp.einsum("fqab,fqi,fqj->faibj", weighted, along, normal)
    return full.reshape(len(x), 24, 24)


def wrench(obstacle: Obstacle, felt: Felt) -> Float[Array, "6"]:
    """Force (N) and moment (N mm, about the pose's position) of the body on the surface."""
    traction = felt.pressure[..., None] * felt.normal + felt.friction
    force = -felt.area[..., None] * traction
    arm = felt.position - jnp.asarray(obstacle.pose.position_mm)
    return jnp.concatenate([force.sum((0, 1)), jnp.cross(arm, force).sum((0, 1))])


def remember(obstacle: Obstacle, x: Float[Array, "contact_face 8 3"]) -> Past:
    """What friction keeps of a balanced state: points that slipped drag their anchors along."""
    here = _local(obstacle, x)
    tie = STICK_SHARE * obstacle.stiffness
    anchor = here.place - here.hold[..., None] * here.slip / tie
    return Past(anchor, (here.pressure > 0).astype(float))


def smallest_gap(obstacle: Obstacle, x: Float[Array, "contact_face 8 3"]) -> Scalar:
    """Smallest signed distance of the faces' nodes, mm; negative where they overlap."""
    return obstacle.surface.distance(obstacle.pose.into_shape(x)).min()

"""Walls of one body that face each other: they push when they meet and never pass through.

Opposite faces are known beforehand and slide little on each other, so each point keeps its
opposite. The gap is measured along the normal of the surface midway between the walls, and the
pressure acts along the gap's gradient, so neither forces nor moments are made up. It
solves ``p (g + p / k) = m``: it comes in before the walls meet (a thousandth of the full live
pressure at a tenth of a millimetre), and grows with the overlap by ``k``; at usual air pressures
walls overlap by a few micrometres.

Newton's method on that law alone runs in circles as points open and close. The tangent is
therefore taken at pressures carried from step to step, positive always, as in primal-dual
interior-point methods. Sources: Wriggers (2006), Computational Contact Mechanics, 2nd ed., sec.
5.3 and 6.2; Nocedal & Wright (2006), Numerical Optimization, 2nd ed., ch. 19 (carried pressures).
"""

from __future__ import annotations

from typing import NamedTuple

import jax
import jax.numpy as jnp
from jaxtyping import Array, Float

from fiddlehead.mechanics.arrays import Scalar
from fiddlehead.mechanics.pressure import FACE_VALUES, FACE_WEIGHTS, face_edges

MODULI_PER_MM = 10.0
"""Contact stiffness ``k`` over shear modulus, 1/mm."""
REACH_MM = 1e-4
"""``m`` over full live pressure."""
PRESSED_SHARE = 0.01
"""What stands for the full live pressure over the shear modulus where the body has none."""
LEAST_SHARE = 0.1
"""A carried pressure keeps at least this share of itself in one step."""
FARTHEST_MM = 1000.0
"""A carried pressure never falls below that of walls so far apart."""
TOUCHING_MM = 0.01
"""Walls nearer than this push with more than a hundredth of the live pressure."""


class WallLaw(NamedTuple):
    """How walls push."""

    stiffness: Scalar
    """``k``, N/mm³."""
    reach: Scalar
    """``m``, N/mm."""


def wall_law(shear_modulus_mpa: Scalar, full_pressure_mpa: Scalar) -> WallLaw:
    """The law for a material under a live pressure; without one, a share of the modulus counts."""
    full = jnp.where(full_pressure_mpa > 0.0, full_pressure_mpa, PRESSED_SHARE * shear_modulus_mpa)
    return WallLaw(MODULI_PER_MM * shear_modulus_mpa, REACH_MM * full)


def gaps(x: Float[Array, "pair 16 3"]) -> Float[Array, "pair point"]:
    """Distance between the walls at their integration points, mm; negative where they overlap."""
    apart, normal = _apart(x)
    return (apart * normal).sum(-1)


def slides(x: Float[Array, "pair 16 3"]) -> Float[Array, "pair point"]:
    """How far opposite points have slid along the walls, in lengths of a face's edge."""
    apart, normal = _apart(x)
    along = apart - (apart * normal).sum(-1, keepdims=True) * normal
    return jnp.linalg.norm(along, axis=-1) / jnp.sqrt(_area(x).sum(-1, keepdims=True))


def _apart(x: Array) -> tuple[Array, Array]:
    """From each point to its opposite, and the unit normal midway."""
    near, far = x[:, :8], x[:, 8:]
    normal = jnp.cross(*face_edges(0.5 * (near + far)))
    normal = normal / jnp.linalg.norm(normal, axis=-1, keepdims=True)
    return jnp.einsum("qa,fai->fqi", FACE_VALUES, far - near), normal


def _area(x: Float[Array, "pair 16 3"]) -> Float[Array, "pair point"]:
    return FACE_WEIGHTS * jnp.linalg.norm(jnp.cross(*face_edges(x[:, :8])), axis=-1)


def wall_pressure(law: WallLaw, gap: Float[Array, "*point"]) -> Float[Array, "*point"]:
    """Pressure (MPa) at a gap (mm)."""
    k, m = law
    root = jnp.sqrt(gap**2 + 4.0 * m / k)
    # both are the positive root; each is free of cancellation on its side
    return jnp.where(gap > 0.0, 2.0 * m / (jnp.maximum(gap, 0.0) + root), 0.5 * k * (root - gap))


def pressure_slope(law: WallLaw, pressure: Float[Array, "*point"]) -> Float[Array, "*point"]:
    """Rise of the pressure per closing gap, N/mm³, where the pressure is ``pressure``."""
    return 1.0 / (1.0 / law.stiffness + law.reach / pressure**2)


def linearised_pressure(
    law: WallLaw, gap: Float[Array, "*point"], carried: Float[Array, "*point"]
) -> Float[Array, "*point"]:
    """Pressure at ``gap`` by the tangent of the law at the pressure ``carried``, MPa."""
    unmet = gap + carried / law.stiffness - law.reach / carried
    return carried - pressure_slope(law, carried) * unmet


def least_pressure(law: WallLaw) -> Scalar:
    """What a carried pressure never falls below, MPa."""
    return wall_pressure(law, jnp.asarray(FARTHEST_MM))


def wall_forces(
    reference: Float[Array, "pair 16 3"],
    x: Float[Array, "pair 16 3"],
    pressure: Float[Array, "pair point"],
) -> Float[Array, "pair 16 3"]:
    """Forces (N) of the walls on their nodes; pressures act on the undeformed area."""
    _, pull = jax.vjp(gaps, x)
    return pull(_area(reference) * pressure)[0]


def wall_stiffness(
    reference: Float[Array, "pair 16 3"],
    x: Float[Array, "pair 16 3"],
    pressure: Float[Array, "pair point"],
    law: WallLaw,
) -> Float[Array, "pair 48 48"]:
    """Derivative of minus the forces by the positions at the (carried) ``pressure``, N/mm."""

    def one(reference: Array, x: Array, pressure: Array) -> Array:
        area = _area(reference[None])[0]

        def gap(flat: Array) -> Array:
            return gaps(flat.reshape(1, 16, 3))[0]

        steep = jax.jacfwd(gap)(x.ravel())
        pushed = (steep * (area * pressure_slope(law, pressure))[:, None]).T @ steep
        turned = jax.hessian(lambda flat: (area * pressure * gap(flat)).sum())(x.ravel())
        return pushed - turned

    return jax.vmap(one)(reference, x, pressure)

"""Walls of one body that face each other: they push when they meet and never pass through.

Opposite faces are known beforehand and slide little on each other, so each point keeps its
opposite. Contact is a potential of the gap along the normal of the surface midway between the
walls; forces and their tangent follow from it by differentiation, so neither forces nor moments
are made up. The pressure grows with the overlap, smoothly over a short ramp; walls overlap by a few
micrometres. Source of the penalty potential: Wriggers (2006), Computational Contact Mechanics, 2nd
ed., sec. 5.3.2 and 6.2.
"""

from __future__ import annotations

import jax
import jax.numpy as jnp
from jaxtyping import Array, Float

from fiddlehead.mechanics.arrays import Scalar
from fiddlehead.mechanics.pressure import FACE_VALUES, FACE_WEIGHTS, face_edges

MODULI_PER_MM = 10.0
"""Contact stiffness over shear modulus, 1/mm: at the pressure of the modulus itself walls overlap
by a tenth of a millimetre, at usual air pressures by a few micrometres."""
RAMP_MM = 0.005
"""Overlap over which the contact stiffness comes in."""


def gaps(x: Float[Array, "pair 16 3"]) -> Float[Array, "pair point"]:
    """Distance between the walls at their integration points, mm; negative where they overlap."""
    near, far = x[:, :8], x[:, 8:]
    normal = jnp.cross(*face_edges(0.5 * (near + far)))
    normal = normal / jnp.linalg.norm(normal, axis=-1, keepdims=True)
    return jnp.einsum("qa,fai,fqi->fq", FACE_VALUES, far - near, normal)


def wall_energy(
    reference: Float[Array, "pair 16 3"], x: Float[Array, "pair 16 3"], modulus: Scalar
) -> Scalar:
    """Contact potential, mJ; ``modulus`` is the material's shear modulus, MPa."""
    area = FACE_WEIGHTS * jnp.linalg.norm(jnp.cross(*face_edges(reference[:, :8])), axis=-1)
    depth = jnp.maximum(-gaps(x), 0.0)
    entry = depth**3 / (6.0 * RAMP_MM)
    beyond = depth - RAMP_MM
    full = beyond**2 / 2.0 + RAMP_MM * beyond / 2.0 + RAMP_MM**2 / 6.0
    density = MODULI_PER_MM * modulus * jnp.where(depth < RAMP_MM, entry, full)
    return (area * density).sum()


def wall_forces(
    reference: Float[Array, "pair 16 3"], x: Float[Array, "pair 16 3"], modulus: Scalar
) -> Float[Array, "pair 16 3"]:
    """Forces (N) of the walls on their nodes."""
    return -jax.grad(wall_energy, argnums=1)(reference, x, modulus)


def wall_stiffness(
    reference: Float[Array, "pair 16 3"], x: Float[Array, "pair 16 3"], modulus: Scalar
) -> Float[Array, "pair 48 48"]:
    """Derivative of minus :func:`wall_forces` by the positions, N/mm."""

    def one(reference: Array, x: Array) -> Array:
        def energy(flat: Array) -> Scalar:
            return wall_energy(reference[None], flat.reshape(1, 16, 3), modulus)

        return jax.hessian(energy)(x.ravel())

    return jax.vmap(one)(reference, x)

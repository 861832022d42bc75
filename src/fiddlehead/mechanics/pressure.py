"""Live (follower) pressure on faces, and the volume they enclose.

The pressure turns and stretches with the wall. On a closed cavity it derives from the potential
``p V`` with ``V = 1/3 ∮ x·n dA`` and its tangent is symmetric; on an open surface the symmetric
part of the tangent is used, which only slows the last Newton steps. Source: Schweizerhof & Ramm
(1984), Displacement dependent pressure loads in nonlinear finite element analyses, Computers &
Structures 18, 1099-1114.
"""

from __future__ import annotations

import jax.numpy as jnp
from jaxtyping import Array, Float

from fiddlehead.mechanics.arrays import Scalar
from fiddlehead.mechanics.element import face_functions
from fiddlehead.mechanics.quadrature import FACE_RULE

FACE_VALUES, FACE_SLOPES = (jnp.asarray(a) for a in face_functions(FACE_RULE.points))
FACE_WEIGHTS = jnp.asarray(FACE_RULE.weights)


def face_edges(
    x: Float[Array, "face 8 3"],
) -> tuple[Float[Array, "face point 3"], Float[Array, "face point 3"]]:
    """Tangent vectors along the two face coordinates at the integration points."""
    return (
        jnp.einsum("qa,fai->fqi", FACE_SLOPES[..., 0], x),
        jnp.einsum("qa,fai->fqi", FACE_SLOPES[..., 1], x),
    )


def enclosed_volume(x: Float[Array, "face 8 3"]) -> Scalar:
    """Volume (mm³) enclosed by faces whose normals point into it, ``-1/3 ∮ x·n dA``.

    Planes of symmetry through the origin may stay open: ``x·n`` is zero on them.
    """
    along, across = face_edges(x)
    position = jnp.einsum("qa,fai->fqi", FACE_VALUES, x)
    return -jnp.einsum("q,fqi,fqi->", FACE_WEIGHTS, position, jnp.cross(along, across)) / 3.0


def unit_pressure_forces(x: Float[Array, "face 8 3"]) -> Float[Array, "face 8 3"]:
    """Nodal forces (N) of a pressure of 1 MPa pushing against the face normals, ``-∫ N n dA``."""
    along, across = face_edges(x)
    return -jnp.einsum("q,qa,fqi->fai", FACE_WEIGHTS, FACE_VALUES, jnp.cross(along, across))


def unit_pressure_stiffness(x: Float[Array, "face 8 3"]) -> Float[Array, "face 24 24"]:
    """Symmetric part of the derivative of :func:`unit_pressure_forces` by the positions, N/mm."""
    along, across = face_edges(x)
    weighted = FACE_WEIGHTS[:, None] * FACE_VALUES
    # d(along × across) = (D2_b [along]× - D1_b [across]×) dx_b, a skew matrix for each node pair
    axial = jnp.einsum("qa,qb,fqk->fabk", weighted, FACE_SLOPES[..., 1], along)
    axial -= jnp.einsum("qa,qb,fqk->fabk", weighted, FACE_SLOPES[..., 0], across)
    zero = jnp.zeros(axial.shape[:-1])
    v0, v1, v2 = (axial[..., k] for k in range(3))
    skew = jnp.stack(
        [
            jnp.stack([zero, -v2, v1], -1),
            jnp.stack([v2, zero, -v0], -1),
            jnp.stack([-v1, v0, zero], -1),
        ],
        axis=-2,
    )
    full = -skew.transpose(0, 1, 3, 2, 4).reshape(len(x), 24, 24)
    return 0.5 * (full + full.transpose(0, 2, 1))

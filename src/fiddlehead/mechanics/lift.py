"""From an energy density to stress and tangent in three dimensions.

Everything is elementwise over integration points and follows from the energy by exact
differentiation; a law supplies nothing but its energy.
"""

from __future__ import annotations

from typing import Any

import jax
import jax.numpy as jnp
from jaxtyping import Array, Float

from fiddlehead.material.laws.base import Energy, InvariantEnergy, StretchEnergy
from fiddlehead.mechanics.spectral import spectral_sum


def isochoric_density(law: Energy, strain: Float[Array, "6 *point"]) -> Float[Array, " *point"]:
    """Energy density (MPa) of the volume-preserving part of a Green-Lagrange strain.

    ``strain`` holds ``E11 E22 E33 2E12 2E23 2E13``; ``C = 1 + 2 E``, ``C̄ = det(C)^(-1/3) C``.
    Source: Holzapfel (2000), Nonlinear Solid Mechanics, sec. 6.4.
    """
    c11, c22, c33 = 1 + 2 * strain[0], 1 + 2 * strain[1], 1 + 2 * strain[2]
    c12, c23, c13 = strain[3], strain[4], strain[5]
    minors = c11 * c22 + c22 * c33 + c33 * c11 - c12**2 - c23**2 - c13**2
    det = c11 * (c22 * c33 - c23**2) - c12 * (c12 * c33 - c23 * c13) + c13 * (c12 * c23 - c22 * c13)
    scale = det ** (-1.0 / 3.0)
    if isinstance(law, InvariantEnergy):
        return law.density(scale * (c11 + c22 + c33), scale**2 * minors)
    assert isinstance(law, StretchEnergy)
    unimodular = scale * jnp.stack([c11, c22, c33, c12, c23, c13])
    return spectral_sum(_stretch_density_of_square, unimodular, law)


def _stretch_density_of_square(square: Array, law: StretchEnergy) -> Array:
    return law.density_of_stretch(jnp.sqrt(square))


def stress(law: Energy, strain: Float[Array, "6 *point"]) -> Float[Array, "6 *point"]:
    """Isochoric second Piola-Kirchhoff stress, MPa (``dW/dE``)."""
    return jax.grad(lambda e: isochoric_density(law, e).sum())(strain)


def stress_and_tangent(
    law: Energy, strain: Float[Array, "6 *point"]
) -> tuple[Float[Array, "6 *point"], Float[Array, "6 6 *point"]]:
    """Isochoric stress and its derivative by the strain, MPa."""

    def along(direction: Any) -> tuple[Array, Array]:
        tangent = jnp.broadcast_to(direction.reshape((6,) + (1,) * (strain.ndim - 1)), strain.shape)
        return jax.jvp(lambda e: stress(law, e), (strain,), (tangent,))

    values, tangents = jax.vmap(along)(jnp.eye(6))
    return values[0], tangents

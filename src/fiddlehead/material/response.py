"""Lifts: stress and tangent of any law in the homogeneous tests, from its energy alone.

The material is incompressible here and the third direction is free of stress. With logarithmic
stretches ``a, b`` in the plane the third is ``-(a + b)``; the gradient of the energy in ``(a, b)``
is the true stress pair and its Hessian the tangent that decides stability.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import jax
import jax.numpy as jnp
import numpy as np
from jaxtyping import Array, Float

from fiddlehead.material.laws.base import Energy, InvariantEnergy, StretchEnergy
from fiddlehead.material.records import Mode, ResponseCurve

SECOND_LOG_STRETCH: dict[Mode, float] = {
    "uniaxial": -0.5,
    "compression": -0.5,
    "planar": 0.0,
    "equibiaxial": 1.0,
}
"""Logarithmic stretch of the second direction as a multiple of the first."""


def energy_density(law: Energy, stretches: Sequence[Any]) -> Any:
    """Energy density in MPa of a volume-preserving state, from its three principal stretches."""
    if isinstance(law, StretchEnergy):
        return sum(law.density_of_stretch(stretch) for stretch in stretches)
    if isinstance(law, InvariantEnergy):
        i1 = sum(stretch**2 for stretch in stretches)
        i2 = sum(stretch**-2 for stretch in stretches)
        return law.density(i1, i2)
    raise TypeError(f"{type(law).__name__} is neither an InvariantEnergy nor a StretchEnergy")


def _plane_energy(law: Energy, log_stretches: Float[Array, "2"]) -> Float[Array, ""]:
    a, b = log_stretches[0], log_stretches[1]
    return energy_density(law, (jnp.exp(a), jnp.exp(b), jnp.exp(-a - b)))


@jax.jit
def plane_stress(law: Energy, log_stretches: Float[Array, "point 2"]) -> Float[Array, "point 2"]:
    """True stress in MPa in the two loaded directions, third direction free."""
    return jax.vmap(jax.grad(_plane_energy, argnums=1), (None, 0))(law, log_stretches)


@jax.jit
def plane_tangent(law: Energy, log_stretches: Float[Array, "point 2"]) -> Float[Array, "point 2 2"]:
    """Derivative of true stress by logarithmic strain in MPa, third direction free; symmetric."""
    return jax.vmap(jax.hessian(_plane_energy, argnums=1), (None, 0))(law, log_stretches)


def log_stretch_pairs(
    stretch: Float[Any, " point"], second: Float[Any, " point"] | float
) -> Float[Array, "point 2"]:
    """In-plane logarithmic stretches, the second a multiple of the first."""
    log_stretch = jnp.log(jnp.asarray(stretch))
    return jnp.stack([log_stretch, second * log_stretch], axis=-1)


def nominal_stress_mpa(
    law: Energy, mode: Mode, stretch: Float[np.ndarray, " point"]
) -> Float[Array, " point"]:
    """Nominal (engineering) stress in MPa of an incompressible specimen in one test mode."""
    pairs = log_stretch_pairs(jnp.asarray(stretch), SECOND_LOG_STRETCH[mode])
    return plane_stress(law, pairs)[:, 0] / jnp.asarray(stretch)


def response_curves(
    label: str,
    law: Energy,
    ranges: dict[Mode, tuple[float, float]],
    *,
    points: int = 101,
) -> list[ResponseCurve]:
    """Stress curves of a law for drawing, one per mode.

    Parameters
    ----------
    label : what the curve is called in the legend
    ranges : per mode the smallest and largest stretch
    """
    curves = []
    for mode, (low, high) in ranges.items():
        stretch = np.linspace(low, high, points)
        stress = np.asarray(nominal_stress_mpa(law, mode, stretch))
        curves.append(ResponseCurve(label, mode, stretch, stress))
    return curves

"""Extrapolation through the last balanced states."""

from __future__ import annotations

from typing import Any

import jax.numpy as jnp
from jaxtyping import Array, Float, Int

from fiddlehead.mechanics.arrays import Scalar


def lagrange(times: Float[Array, "3"], filled: Int[Array, ""], t: Scalar) -> Float[Array, "3"]:
    """Weights that extrapolate the newest ``filled`` of three states (constant to quadratic).

    Parameters
    ----------
    times : load factors of the states, newest first
    t : where to
    """
    a, b, c = times

    def ratio(top: Any, bottom: Any) -> Any:
        return top / jnp.where(bottom == 0.0, 1.0, bottom)

    quadratic = jnp.stack(
        [
            ratio((t - b) * (t - c), (a - b) * (a - c)),
            ratio((t - a) * (t - c), (b - a) * (b - c)),
            ratio((t - a) * (t - b), (c - a) * (c - b)),
        ]
    )
    linear = jnp.stack([ratio(t - b, a - b), ratio(t - a, b - a), jnp.zeros_like(t)])
    constant = jnp.array([1.0, 0.0, 0.0])
    return jnp.where(filled >= 3, quadratic, jnp.where(filled == 2, linear, constant))

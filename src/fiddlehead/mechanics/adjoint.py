"""Derivatives of results by everything the balance depends on, with one solve for all of them.

At balance ``R(u, θ) = 0`` a result ``J(u, θ)`` changes by ``dJ/dθ = ∂J/∂θ - λ·∂R/∂θ`` with the
adjoint state ``K λ = ∂J/∂u``; the tangent K is symmetric, so the solver of the balance serves.
Source: Tortorelli & Michaleris (1994), Design sensitivity analysis: overview and review, Inverse
Problems in Engineering 1, 71-105.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import jax
import jax.numpy as jnp
from jaxtyping import Array, Float

from fiddlehead.mechanics.arrays import Scalar
from fiddlehead.mechanics.balance import linear_system, out_of_balance, solve_system
from fiddlehead.mechanics.body import Body
from fiddlehead.mechanics.loads import Loading, Solid

Made = Callable[[Any], tuple[Solid, Loading]]
Results = Callable[[Solid, Float[Array, " row"]], Float[Array, " result"]]


def sensitivities(
    body: Body,
    made: Made,
    parameters: Any,
    results: Results,
    t: Scalar,
    u: Float[Array, " row"],
) -> tuple[Float[Array, " result"], Any]:
    """Results at the balanced state ``u`` at load factor ``t``, and their derivatives.

    Parameters
    ----------
    made : solid and loading from the parameters, differentiable
    parameters : any tree of arrays
    results : numbers read from the solid and its displacements, differentiable

    Returns
    -------
    The results, and a tree like ``parameters`` whose leaves have the results' axis in front.
    """
    solid, loading = made(parameters)
    values, pull = jax.vjp(lambda v: results(solid, v), u)
    (slopes,) = jax.vmap(pull)(jnp.eye(len(values)))
    system = linear_system(body, solid, loading, t, u)
    right = (slopes * body.unknown).T
    adjoint = solve_system(body, system, right, jnp.zeros(body.size)) * body.unknown[:, None]

    def balanced_results(varied: Any) -> Float[Array, " result"]:
        solid, loading = made(varied)
        return results(solid, u) - out_of_balance(body, solid, loading, t, u) @ adjoint

    return values, jax.jacrev(balanced_results)(parameters)

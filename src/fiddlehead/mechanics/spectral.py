"""Eigenvalues of symmetric 3 x 3 tensors and smooth tensor functions, elementwise over points.

A symmetric tensor is six arrays ``(11, 22, 33, 12, 23, 13)`` stacked on the leading axis, points
on the trailing ones, so that everything vectorises on CPU and GPU alike. Derivatives are exact
also where eigenvalues coincide (divided differences instead of eigenvector derivatives).
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

import jax
import jax.numpy as jnp
from jaxtyping import Array, Float

VOIGT = ((0, 0), (1, 1), (2, 2), (0, 1), (1, 2), (0, 2))
INDEX = ((0, 3, 5), (3, 1, 4), (5, 4, 2))  # Voigt position of component (i, j)
SWEEPS = 5  # cyclic Jacobi converges quadratically; five sweeps reach round-off for 3 x 3


def eigen(
    a: Float[Array, "6 *point"],
) -> tuple[Float[Array, "3 *point"], Float[Array, "3 3 *point"]]:
    """Eigenvalues and eigenvectors (column k is ``vectors[:, k]``), unsorted, by Jacobi rotations.

    Source: Golub & Van Loan (2013), Matrix Computations, 4th ed., sec. 8.5.
    """
    m = [[a[INDEX[i][j]] for j in range(3)] for i in range(3)]
    one, zero = jnp.ones_like(a[0]), jnp.zeros_like(a[0])
    v = [[one if i == j else zero for j in range(3)] for i in range(3)]
    for _ in range(SWEEPS):
        for p, q in ((0, 1), (1, 2), (0, 2)):
            off = m[p][q]
            small = jnp.abs(off) < 1e-300
            tau = (m[q][q] - m[p][p]) / jnp.where(small, 1.0, 2.0 * off)
            t = jnp.where(tau >= 0, 1.0, -1.0) / (jnp.abs(tau) + jnp.sqrt(1.0 + tau**2))
            t = jnp.where(small, 0.0, t)
            c = 1.0 / jnp.sqrt(1.0 + t**2)
            s = t * c
            r = 3 - p - q
            mpr, mqr = m[p][r], m[q][r]
            m[p][p], m[q][q] = m[p][p] - t * off, m[q][q] + t * off
            m[p][q] = m[q][p] = zero
            m[p][r] = m[r][p] = c * mpr - s * mqr
            m[q][r] = m[r][q] = s * mpr + c * mqr
            for k in range(3):
                v[k][p], v[k][q] = c * v[k][p] - s * v[k][q], s * v[k][p] + c * v[k][q]
    values = jnp.stack([m[k][k] for k in range(3)])
    return values, jnp.stack([jnp.stack(row) for row in v])


def _rebuild(vectors: Array, values: Array) -> Array:
    """``sum_k values_k n_k n_k`` in six components."""
    return jnp.stack([(values * vectors[i] * vectors[j]).sum(0) for i, j in VOIGT])


@partial(jax.custom_jvp, nondiff_argnums=(0,))
def _tensor_slope(phi: Callable[[Any, Any], Any], a: Array, constants: Any) -> Array:
    """``d(sum_k phi(a_k))/da``, six components (off-diagonals counted once)."""
    values, vectors = eigen(a)
    return _rebuild(vectors, _slope(phi, values, constants))


def _slope(phi: Callable[[Any, Any], Any], x: Array, constants: Any) -> Array:
    return jax.jvp(lambda y: phi(y, constants), (x,), (jnp.ones_like(x),))[1]


@_tensor_slope.defjvp
def _(phi, primals, tangents):  # type: ignore[no-untyped-def]
    a, constants = primals
    da, dconstants = tangents
    values, vectors = eigen(a)
    slope, slope_dot = jax.jvp(lambda c: _slope(phi, values, c), (constants,), (dconstants,))
    # in the eigenframe each component of da is scaled by a divided difference of the slope
    rotated = [
        [
            sum(vectors[i, k] * vectors[j, m] * da[INDEX[i][j]] for i in range(3) for j in range(3))
            for m in range(3)
        ]
        for k in range(3)
    ]
    total = _rebuild(vectors, slope_dot)
    for k in range(3):
        for m in range(3):
            gap = values[k] - values[m]
            near = jnp.abs(gap) < 1e-4 * (jnp.abs(values[k]) + jnp.abs(values[m]))
            middle = 0.5 * (values[k] + values[m])
            bend = jax.jvp(
                lambda x: _slope(phi, x, constants), (middle,), (jnp.ones_like(middle),)
            )[1]
            ratio = jnp.where(near, bend, (slope[k] - slope[m]) / jnp.where(near, 1.0, gap))
            weight = ratio * rotated[k][m]
            total = total + jnp.stack([weight * vectors[i, k] * vectors[j, m] for i, j in VOIGT])
    return _rebuild(vectors, slope), total


@partial(jax.custom_jvp, nondiff_argnums=(0,))
def spectral_sum(
    phi: Callable[[Any, Any], Any], a: Float[Array, "6 *point"], constants: Any
) -> Float[Array, " *point"]:
    """``sum_k phi(a_k, constants)`` over the eigenvalues of ``a``; twice differentiable.

    Parameters
    ----------
    phi : elementwise function of an eigenvalue and a pytree of constants
    a : symmetric tensors, shape (6, ...)

    Source of the derivative of a tensor function: Higham (2008), Functions of Matrices, thm 3.11.
    """
    return phi(eigen(a)[0], constants).sum(0)


@spectral_sum.defjvp
def _(phi, primals, tangents):  # type: ignore[no-untyped-def]
    a, constants = primals
    da, dconstants = tangents
    values, _ = eigen(a)
    value, value_dot = jax.jvp(lambda c: phi(values, c).sum(0), (constants,), (dconstants,))
    slope = _tensor_slope(phi, a, constants)
    twice = jnp.array([1.0, 1.0, 1.0, 2.0, 2.0, 2.0]).reshape((6,) + (1,) * (a.ndim - 1))
    return value, value_dot + (twice * slope * da).sum(0)

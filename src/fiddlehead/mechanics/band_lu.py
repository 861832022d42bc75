"""Block-tridiagonal elimination: one dense sweep along the body and back.

Source: Golub & Van Loan (2013), Matrix Computations, 4th ed., sec. 4.5. The tangent of a loaded
soft body is symmetric but not positive definite on the way to balance, so blocks are factored
with row pivoting (LU), not Cholesky.
"""

from __future__ import annotations

from typing import NamedTuple

import jax
import jax.numpy as jnp
import jax.scipy.linalg as jsl
from jaxtyping import Array, Float

_Swept = tuple[Array, Array]


class BandMatrix(NamedTuple):
    """Symmetric block-tridiagonal matrix: ``lower[k]`` couples band k + 1 (rows) to band k."""

    diagonal: Float[Array, "bands width width"]
    lower: Float[Array, "bands-1 width width"]


def multiply(matrix: BandMatrix, x: Float[Array, "bands width"]) -> Float[Array, "bands width"]:
    """``A x``."""
    y = jnp.einsum("kij,kj->ki", matrix.diagonal, x)
    y = y.at[1:].add(jnp.einsum("kij,kj->ki", matrix.lower, x[:-1]))
    return y.at[:-1].add(jnp.einsum("kji,kj->ki", matrix.lower, x[1:]))


def solve(
    matrix: BandMatrix, right: Float[Array, "bands width columns"]
) -> Float[Array, "bands width columns"]:
    """``A⁻¹ b`` for a few right-hand sides at once."""
    width, columns = right.shape[1:]
    border = jnp.zeros((1, width, width), right.dtype)
    below = jnp.concatenate([border, matrix.lower])
    above = jnp.concatenate([matrix.lower, border])

    def eliminate(carry: _Swept, band: tuple[Array, ...]) -> tuple[_Swept, _Swept]:
        coupling, reduced = carry
        diagonal, left, right_of, b = band
        pivot = jsl.lu_factor(diagonal - left @ coupling)
        solved = jsl.lu_solve(pivot, jnp.concatenate([right_of.T, b - left @ reduced], axis=1))
        step = (solved[:, :width], solved[:, width:])
        return step, step

    def substitute(after: Array, band: tuple[Array, Array]) -> tuple[Array, Array]:
        coupling, reduced = band
        x = reduced - coupling @ after
        return x, x

    start = (jnp.zeros((width, width), right.dtype), jnp.zeros((width, columns), right.dtype))
    _, swept = jax.lax.scan(eliminate, start, (matrix.diagonal, below, above, right))
    _, x = jax.lax.scan(substitute, start[1], swept, reverse=True)
    return x

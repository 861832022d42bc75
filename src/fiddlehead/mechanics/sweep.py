"""Inverse of a small symmetric block: a library's on the processor, a kernel on a graphics card.

Libraries invert one small block after another there, which leaves the card idle; the kernel gives
every block one group of threads that keeps it in registers. Source of the sweep operator: Goodnight
(1979), A tutorial on the SWEEP operator, The American Statistician 33, 149-158.
"""

from __future__ import annotations

from typing import Any

import jax
import jax.numpy as jnp
from jaxtyping import Array, Float

LARGEST = 32
"""Rows of the largest block; a power of two, as the kernel needs."""


def small_inverse(a: Float[Array, "n n"]) -> Float[Array, "n n"]:
    """Inverse of a symmetric block of at most ``LARGEST`` rows."""
    return jax.lax.platform_dependent(a, cuda=_by_kernel, default=_by_library)


def _by_library(a: Float[Array, "n n"]) -> Float[Array, "n n"]:
    return jnp.linalg.inv(a)


def _by_kernel(a: Float[Array, "n n"], *, interpret: bool = False) -> Float[Array, "n n"]:
    from jax.experimental import pallas

    options: dict[str, Any] = {"interpret": interpret}
    if not interpret:
        from jax.experimental.pallas import triton

        options["compiler_params"] = triton.CompilerParams(num_warps=2, num_stages=1)
    n = len(a)
    padded = jnp.eye(LARGEST, dtype=a.dtype).at[:n, :n].set(a)
    swept = pallas.pallas_call(
        _sweep_all, out_shape=jax.ShapeDtypeStruct(padded.shape, padded.dtype), **options
    )(padded)
    return swept[:n, :n]


def _sweep_all(block: Any, swept: Any) -> None:
    """Sweep every row in turn; a matrix swept on all its rows is minus its inverse."""
    size = block.shape[0]
    row = jax.lax.broadcasted_iota(jnp.int32, (size, size), 0)
    column = jax.lax.broadcasted_iota(jnp.int32, (size, size), 1)
    row_of_column = jax.lax.broadcasted_iota(jnp.int32, (size, 1), 0)
    column_of_row = jax.lax.broadcasted_iota(jnp.int32, (1, size), 1)

    def sweep(k: Array, a: Array) -> Array:
        down = jnp.sum(jnp.where(column == k, a, 0.0), axis=1, keepdims=True)
        across = jnp.sum(jnp.where(row == k, a, 0.0), axis=0, keepdims=True)
        pivot = 1.0 / jnp.sum(jnp.where(row_of_column == k, down, 0.0), axis=0, keepdims=True)
        others_down = jnp.where(row_of_column == k, 0.0, down)
        others_across = jnp.where(column_of_row == k, 0.0, across)
        rest = a - others_down * pivot * others_across
        swept_row = jnp.where(row == k, across * pivot, rest)
        both = jnp.where(column == k, down * pivot, swept_row)
        return jnp.where((row == k) & (column == k), -pivot, both)

    swept[...] = -jax.lax.fori_loop(0, size, sweep, block[...])

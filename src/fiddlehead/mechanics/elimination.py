"""Frontal elimination of a symmetric system in dense blocks, and back-substitution.

The tangent of a loaded soft body is symmetric but not positive definite on the way to balance.
Pivoting stays inside the block of one step; the blocks are kept exactly symmetric, without which
round-off grows along the sweep. Source: Irons (1970), A frontal solution program for finite
element analysis, IJNME 2, 5-32; inverse by blocks: Golub & Van Loan (2013), Matrix Computations,
4th ed., sec. 3.2.11 (Schur complements).
"""

from __future__ import annotations

from typing import NamedTuple

import jax
import jax.numpy as jnp
from jaxtyping import Array, Float, Int

from fiddlehead.mechanics.sweep import LARGEST, small_inverse

Columns = tuple[Float[Array, "_ _ _"], ...]
"""Per segment of the sweep: each step's matrix rows, in the slots of the front (not yet eliminated
entries only), shape (step, width, front)."""


def _symmetric(a: Float[Array, "n n"]) -> Float[Array, "n n"]:
    return 0.5 * (a + a.T)


def inverse(a: Float[Array, "n n"]) -> Float[Array, "n n"]:
    """Inverse of a symmetric block, in parts, so that most of the work is matrix products."""
    n = len(a)
    if n <= LARGEST:
        return _symmetric(small_inverse(_symmetric(a)))
    h = LARGEST * (-(-n // LARGEST) // 2)
    head = inverse(a[:h, :h])
    carried = head @ a[:h, h:]
    tail = inverse(a[h:, h:] - a[:h, h:].T @ carried)
    beside = -carried @ tail
    return jnp.block([[_symmetric(head - beside @ carried.T), beside], [beside.T, tail]])


class _Carry(NamedTuple):
    matrix: Float[Array, "front front"]
    right: Float[Array, "front columns"]


def _resize(carry: _Carry, size: int) -> _Carry:
    """The same front with more or fewer slots; slots that vanish are empty."""
    kept = min(size, len(carry.matrix))
    matrix = jnp.zeros((size, size), carry.matrix.dtype).at[:kept, :kept]
    right = jnp.zeros((size, carry.right.shape[1]), carry.right.dtype).at[:kept]
    return _Carry(matrix.set(carry.matrix[:kept, :kept]), right.set(carry.right[:kept]))


def _eliminate(carry: _Carry, step: tuple[Array, ...]) -> tuple[_Carry, tuple[Array, Array]]:
    slots, stays, columns, right = step
    rows = carry.matrix[slots] + columns
    pivot = inverse(rows[:, slots])
    scaled = rows.T @ pivot
    solved = pivot @ (carry.right[slots] + right)
    matrix = (carry.matrix - scaled @ rows) * (stays[:, None] * stays)
    return (
        _Carry(matrix, (carry.right - rows.T @ solved) * stays[:, None]),
        (scaled * stays[:, None], solved),
    )


def _substitute(
    active: Float[Array, "front columns"], step: tuple[Array, Array, Array]
) -> tuple[Array, Array]:
    slots, scaled, solved = step
    x = solved - scaled.T @ active
    return active.at[slots].set(x), x


def solve(
    columns: Columns,
    slots: Int[Array, "step width"],
    right: Float[Array, "step width columns"],
) -> Float[Array, "step width columns"]:
    """``A⁻¹ b`` for a few right-hand sides at once.

    Parameters
    ----------
    columns : the matrix, step by step (see :func:`fiddlehead.mechanics.cells.assemble`)
    slots : front slot of every row of every step
    """
    carry = _Carry(jnp.zeros((0, 0), right.dtype), jnp.zeros((0, right.shape[2]), right.dtype))
    swept, first = [], 0
    for block in columns:
        stop, size = first + len(block), block.shape[2]
        here = slots[first:stop]
        stays = jnp.ones((len(block), size), right.dtype)
        stays = jax.vmap(lambda row, gone: row.at[gone].set(0.0))(stays, here)
        carry, kept = jax.lax.scan(
            _eliminate, _resize(carry, size), (here, stays, block, right[first:stop])
        )
        swept.append((here, *kept))
        first = stop
    active = jnp.zeros((0, right.shape[2]), right.dtype)
    found = []
    for here, scaled, solved in reversed(swept):
        size = scaled.shape[1]
        active = jnp.zeros((size, right.shape[2]), right.dtype).at[: len(active)].set(active[:size])
        active, x = jax.lax.scan(_substitute, active, (here, scaled, solved), reverse=True)
        found.append(x)
    return jnp.concatenate(found[::-1])

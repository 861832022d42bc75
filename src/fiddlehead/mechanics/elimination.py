"""Frontal elimination of a symmetric system in dense blocks, and back-substitution.

The tangent of a loaded soft body is symmetric but not positive definite on the way to balance.
Pivoting stays inside the block of one step; the blocks are kept exactly symmetric, without which
round-off grows along the sweep. Source: Irons (1970), A frontal solution program for finite
element analysis, IJNME 2, 5-32; inverse by blocks: Golub & Van Loan (2013), Matrix Computations,
4th ed., sec. 3.2.11 (Schur complements).
"""

from __future__ import annotations

from typing import Any, NamedTuple

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


class Run(NamedTuple):
    """One run of steps that share a size of the front, eliminated."""

    slots: Int[Array, "step width"]
    scaled: Float[Array, "step front width"]
    """Columns below each pivot block times the block's inverse; zero in the block's own slots."""
    inverse: Float[Array, "step width width"] | None
    """Inverse of every pivot block, where it was asked for."""
    solved: Float[Array, "step width columns"]
    """Right-hand sides as far as the sweep down has brought them."""


def sized(active: Float[Array, "slots *rest"], *shape: int) -> Float[Array, "front *others"]:
    """The same front with more or fewer slots; slots that vanish are empty."""
    kept = tuple(slice(min(old, new)) for old, new in zip(active.shape, shape, strict=True))
    return jnp.zeros(shape, active.dtype).at[kept].set(active[kept])


def sweep_down(
    columns: Columns,
    slots: Int[Array, "step width"],
    right: Float[Array, "step width columns"],
    *,
    keep_inverse: bool = False,
) -> tuple[Run, ...]:
    """Eliminate step by step.

    Parameters
    ----------
    columns : the matrix, step by step (see :func:`fiddlehead.mechanics.cells.assemble`)
    slots : front slot of every row of every step
    """

    def eliminate(front: tuple[Array, Array], step: tuple[Array, ...]) -> tuple[Any, Any]:
        matrix, carried = front
        here, stays, block, b = step
        rows = matrix[here] + block
        inverted = inverse(rows[:, here])
        scaled = rows.T @ inverted
        solved = inverted @ (carried[here] + b)
        matrix = (matrix - scaled @ rows) * (stays[:, None] * stays)
        carried = (carried - rows.T @ solved) * stays[:, None]
        return (matrix, carried), (
            scaled * stays[:, None],
            inverted if keep_inverse else None,
            solved,
        )

    front = jnp.zeros((0, 0), right.dtype), jnp.zeros((0, right.shape[2]), right.dtype)
    runs, first = [], 0
    for block in columns:
        stop, size = first + len(block), block.shape[2]
        here = slots[first:stop]
        stays = jnp.ones((len(block), size), right.dtype)
        stays = jax.vmap(lambda row, gone: row.at[gone].set(0.0))(stays, here)
        front = sized(front[0], size, size), sized(front[1], size, right.shape[2])
        front, kept = jax.lax.scan(eliminate, front, (here, stays, block, right[first:stop]))
        runs.append(Run(here, *kept))
        first = stop
    return tuple(runs)


def sweep_back(runs: tuple[Run, ...]) -> Float[Array, "step width columns"]:
    """Solution from the right-hand sides that were swept down."""

    def substitute(active: Float[Array, "front columns"], run: Run) -> tuple[Array, Array]:
        x = run.solved - run.scaled.T @ active
        return active.at[run.slots].set(x), x

    columns = runs[0].solved.shape[2]
    active = jnp.zeros((0, columns), runs[0].solved.dtype)
    found = []
    for run in reversed(runs):
        active = sized(active, run.scaled.shape[1], columns)
        active, x = jax.lax.scan(substitute, active, run, reverse=True)
        found.append(x)
    return jnp.concatenate(found[::-1])


def solve(
    columns: Columns,
    slots: Int[Array, "step width"],
    right: Float[Array, "step width columns"],
) -> Float[Array, "step width columns"]:
    """``A⁻¹ b`` for a few right-hand sides at once, by one sweep down and one back."""
    return sweep_back(sweep_down(columns, slots, right))

"""A frontal elimination that is kept: solved for new right-hand sides without starting again.

The inverse of every pivot block is kept too, and with it the count of negative eigenvalues of the
whole matrix: that of a symmetric matrix is the sum over its pivot blocks. Source: Haynsworth
(1968), Determination of the inertia of a partitioned Hermitian matrix, Linear Algebra and its
Applications 1, 73-81. Source of the sweep: as :mod:`fiddlehead.mechanics.elimination`.
"""

from __future__ import annotations

from typing import NamedTuple

import jax
import jax.numpy as jnp
from jaxtyping import Array, Float, Int

from fiddlehead.mechanics.elimination import Columns, inverse


class Run(NamedTuple):
    """One run of steps that share a size of the front."""

    slots: Int[Array, "step width"]
    scaled: Float[Array, "step front width"]
    """Columns below each pivot block times the block's inverse; zero in the block's own slots."""
    inverse: Float[Array, "step width width"]


Factors = tuple[Run, ...]


def factorise(columns: Columns, slots: Int[Array, "step width"]) -> Factors:
    """Eliminate once.

    Parameters
    ----------
    columns : the matrix, step by step (see :func:`fiddlehead.mechanics.cells.assemble`)
    slots : front slot of every row of every step
    """

    def eliminate(
        active: Float[Array, "front front"], step: tuple[Array, Array]
    ) -> tuple[Array, tuple[Array, Array]]:
        here, block = step
        rows = active[here] + block
        inverted = inverse(rows[:, here])
        stays = jnp.ones(len(active), active.dtype).at[here].set(0.0)
        scaled = rows.T @ inverted
        return (active - scaled @ rows) * (stays[:, None] * stays), (
            scaled * stays[:, None],
            inverted,
        )

    active = jnp.zeros((0, 0), columns[0].dtype)
    runs, first = [], 0
    for block in columns:
        stop, size = first + len(block), block.shape[2]
        kept = min(size, len(active))
        resized = jnp.zeros((size, size), active.dtype).at[:kept, :kept].set(active[:kept, :kept])
        active, (scaled, inverted) = jax.lax.scan(eliminate, resized, (slots[first:stop], block))
        runs.append(Run(slots[first:stop], scaled, inverted))
        first = stop
    return tuple(runs)


def substitute(factors: Factors, right: Float[Array, "row columns"]) -> Float[Array, "row columns"]:
    """``A⁻¹ b`` for right-hand sides in the order of elimination."""

    def forward(
        active: Float[Array, "front columns"], step: tuple[Run, Array]
    ) -> tuple[Array, Array]:
        run, given = step
        carried = active[run.slots] + given
        return (active - run.scaled @ carried).at[run.slots].set(0.0), run.inverse @ carried

    def back(active: Float[Array, "front columns"], step: tuple[Run, Array]) -> tuple[Array, Array]:
        run, reduced = step
        x = reduced - run.scaled.T @ active
        return active.at[run.slots].set(x), x

    columns = right.shape[1]
    active = jnp.zeros((0, columns), right.dtype)
    reduced, first = [], 0
    for run in factors:
        steps, width = run.slots.shape
        given = right[first : first + steps * width].reshape(steps, width, columns)
        active, found = jax.lax.scan(forward, _resize(active, run.scaled.shape[1]), (run, given))
        reduced.append(found)
        first += steps * width
    active = jnp.zeros((0, columns), right.dtype)
    solved = []
    for run, found in zip(reversed(factors), reversed(reduced), strict=True):
        active, x = jax.lax.scan(
            back, _resize(active, run.scaled.shape[1]), (run, found), reverse=True
        )
        solved.append(x.reshape(-1, columns))
    return jnp.concatenate(solved[::-1])


def _resize(active: Float[Array, "slots columns"], size: int) -> Float[Array, "front columns"]:
    """The same front with more or fewer slots; slots that vanish are empty."""
    kept = min(size, len(active))
    return jnp.zeros((size, active.shape[1]), active.dtype).at[:kept].set(active[:kept])


def negative_count(factors: Factors) -> Int[Array, ""]:
    """How many eigenvalues of the matrix are negative."""
    counts = [(jnp.linalg.eigvalsh(run.inverse) < 0.0).sum() for run in factors]
    return jnp.stack(counts).sum()

"""A frontal elimination that is kept: solved for new right-hand sides without starting again.

The inverse of every pivot block is kept too, and with it the count of negative eigenvalues of the
whole matrix: that of a symmetric matrix is the sum over its pivot blocks. Source: Haynsworth
(1968), Determination of the inertia of a partitioned Hermitian matrix, Linear Algebra and its
Applications 1, 73-81. Source of the sweep: as :mod:`fiddlehead.mechanics.elimination`.
"""

from __future__ import annotations

import jax
import jax.numpy as jnp
from jaxtyping import Array, Float, Int

from fiddlehead.mechanics.elimination import Columns, Run, sized, sweep_back, sweep_down

Factors = tuple[Run, ...]


def factorise(columns: Columns, slots: Int[Array, "step width"]) -> Factors:
    """Eliminate once.

    Parameters
    ----------
    columns : the matrix, step by step (see :func:`fiddlehead.mechanics.cells.assemble`)
    slots : front slot of every row of every step
    """
    nothing = jnp.zeros((*slots.shape, 0), columns[0].dtype)
    return sweep_down(columns, slots, nothing, keep_inverse=True)


def substitute(factors: Factors, right: Float[Array, "row columns"]) -> Float[Array, "row columns"]:
    """``A⁻¹ b`` for right-hand sides in the order of elimination."""

    def forward(
        active: Float[Array, "front columns"], step: tuple[Run, Array]
    ) -> tuple[Array, Array]:
        run, given = step
        assert run.inverse is not None
        carried = active[run.slots] + given
        return (active - run.scaled @ carried).at[run.slots].set(0.0), run.inverse @ carried

    columns = right.shape[1]
    active = jnp.zeros((0, columns), right.dtype)
    reduced, first = [], 0
    for run in factors:
        steps, width = run.slots.shape
        given = right[first : first + steps * width].reshape(steps, width, columns)
        active = sized(active, run.scaled.shape[1], columns)
        active, solved = jax.lax.scan(forward, active, (run, given))
        reduced.append(run._replace(solved=solved))
        first += steps * width
    return sweep_back(tuple(reduced)).reshape(-1, columns)


def negative_count(factors: Factors) -> Int[Array, ""]:
    """How many eigenvalues of the matrix are negative."""
    counts = [(jnp.linalg.eigvalsh(run.inverse) < 0.0).sum() for run in factors]
    return jnp.stack(counts).sum()

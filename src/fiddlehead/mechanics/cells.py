"""A matrix as the sum of small ones, and its columns in the order of elimination."""

from __future__ import annotations

import jax.numpy as jnp
from jaxtyping import Array, Float, Int

from fiddlehead.mechanics.body import Body
from fiddlehead.mechanics.elimination import Columns

Cells = tuple[tuple[Int[Array, "_ _"], Float[Array, "_ _ _"]], ...]
"""A matrix as the sum of small ones: the rows they act on (cell, dof), and their entries (cell,
dof, dof)."""


def multiply(cells: Cells, x: Float[Array, " row"]) -> Float[Array, " row"]:
    """``A x``."""
    y = jnp.zeros_like(x)
    for rows, matrices in cells:
        y = y.at[rows].add(jnp.einsum("cij,cj->ci", matrices, x[rows]))
    return y


def assemble(body: Body, cells: Cells) -> Columns:
    """Sum the cells into the columns of the front; supports become rows of the identity."""
    width = body.free.shape[1]
    free, column_slots = body.free.ravel(), body.slots.ravel()
    starts = [0]
    for segment in body.segments:
        starts.append(starts[-1] + (segment.stop - segment.first) * width * 3 * segment.slots)
    # first entry of the matrix row of every row
    origin = jnp.concatenate(
        [
            start + 3 * segment.slots * jnp.arange((segment.stop - segment.first) * width)
            for start, segment in zip(starts, body.segments, strict=False)
        ]
    )
    flat = jnp.zeros(starts[-1]).at[origin + column_slots].set(1.0 - free)
    for rows, matrices in cells:
        step = rows // width
        target = origin[rows][:, :, None] + column_slots[rows][:, None, :]
        later = step[:, None, :] >= step[:, :, None]
        held = matrices * free[rows][:, :, None] * free[rows][:, None, :]
        flat = flat.at[jnp.where(later, target, starts[-1])].add(held, mode="drop")
    return tuple(
        flat[start:stop].reshape(-1, width, 3 * segment.slots)
        for start, stop, segment in zip(starts, starts[1:], body.segments, strict=False)
    )

"""Elimination of the elements' inner displacement functions from the linear system.

Source of static condensation: Hughes (2000), The Finite Element Method, sec. 4.2 (internal
degrees of freedom).
"""

from __future__ import annotations

from typing import NamedTuple

import jax.numpy as jnp
from jaxtyping import Array, Float

from fiddlehead.mechanics.body import Body


class InnerStiffness(NamedTuple):
    """What is needed to recover the inner functions."""

    inverse: Float[Array, "element 3 3"]
    to_nodes: Float[Array, "element 3 60"]


def eliminate_inner(
    stiffness: Float[Array, "element 63 63"],
) -> tuple[Float[Array, "element 60 60"], InnerStiffness]:
    """Element stiffness of the 20 nodes alone, ``K_nn - K_ni K_ii^-1 K_in``."""
    inner = InnerStiffness(jnp.linalg.inv(stiffness[:, 60:, 60:]), stiffness[:, 60:, :60])
    correction = jnp.einsum("eix,eij,ejy->exy", inner.to_nodes, inner.inverse, inner.to_nodes)
    return stiffness[:, :60, :60] - correction, inner


def reduce_right(
    body: Body, inner: InnerStiffness, right: Float[Array, "row columns"]
) -> Float[Array, "row columns"]:
    """Move the inner rows of a right-hand side to the nodes, ``b_n - K_ni K_ii^-1 b_i``."""
    rows = body.element_rows()
    carried = jnp.einsum("eix,eij,ejc->exc", inner.to_nodes, inner.inverse, right[rows[:, 60:]])
    return right.at[rows[:, :60]].add(-carried)


def recover_inner(
    body: Body,
    inner: InnerStiffness,
    right: Float[Array, "row columns"],
    nodal: Float[Array, "nodal_row columns"],
) -> Float[Array, "row columns"]:
    """Append the inner rows of the solution, ``K_ii^-1 (b_i - K_in x_n)``."""
    rows = body.element_rows()
    rest = right[rows[:, 60:]] - jnp.einsum("eix,exc->eic", inner.to_nodes, nodal[rows[:, :60]])
    solved = jnp.einsum("eij,ejc->eic", inner.inverse, rest)
    return jnp.concatenate([nodal, solved.reshape(-1, nodal.shape[1])])

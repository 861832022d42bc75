"""Small motions about a balanced state: deflections under small forces, and how firm it is.

The supports of the motion need not be those of the path. A body that was halved by symmetry and is
balanced in a symmetric state moves out of symmetry as its half does with the antisymmetric
supports: on the plane of symmetry, the components within it held and the one across it free.

How firm: the smallest eigenvalue of ``K x = λ M x`` with the tangent K and the mass M at density
one, the square of the lowest natural frequency up to the density. It falls towards zero as the load
nears buckling. Source: Lurie (1952), Lateral vibrations as related to structural stability, J.
Appl. Mech. 19, 195-204. Source of the iteration: Bathe (2014), Finite Element Procedures, 2nd ed.,
sec. 11.6 (subspace iteration).
"""

from __future__ import annotations

from typing import NamedTuple

import jax
import jax.numpy as jnp
import numpy as np
from jaxtyping import Array, Float, Int

from fiddlehead.mechanics.arrays import Scalar
from fiddlehead.mechanics.balance import linear_system
from fiddlehead.mechanics.body import Body
from fiddlehead.mechanics.cells import Cells, assemble, multiply
from fiddlehead.mechanics.element import brick_functions
from fiddlehead.mechanics.factors import Factors, factorise, negative_count, substitute
from fiddlehead.mechanics.loads import Loading, Solid
from fiddlehead.mechanics.quadrature import BRICK_RULES
from fiddlehead.mechanics.solid import Geometry

SHAPES = 4
"""Shapes iterated at once; more than the one that is wanted, for speed."""
TOLERANCE = 1e-9
MOST_ITERATIONS = 60


class SmallMotion(NamedTuple):
    """What a balanced state answers with."""

    moved: Float[Array, "row columns"]
    """Displacements under the forces, mm, by rows of the nodes."""
    lowest: Float[Array, ""]
    """Smallest eigenvalue among the ``SHAPES`` nearest zero, N/mm per mm³."""
    shape: Float[Array, " row"]
    """Its shape, by rows of the nodes; ``∫ |shape|² dV = 1``."""
    negative: Int[Array, ""]
    """Eigenvalues below zero: independent ways in which the state is unstable."""


def small_motion(
    body: Body,
    solid: Solid,
    loading: Loading,
    t: Scalar,
    u: Float[Array, " all_rows"],
    forces: Float[Array, "node 3 columns"],
) -> SmallMotion:
    """Answer of the balanced state ``u`` at load factor ``t`` to small forces (N on the nodes).

    ``body`` carries the supports of the motion.
    """
    system = linear_system(body, solid, loading, t, u)
    factors = factorise(assemble(body, system.tangent), body.slots)
    free = body.free.ravel()
    place = (body.row[:, None] + jnp.arange(3)).ravel()
    right = jnp.zeros((len(free), forces.shape[2])).at[place].set(forces.reshape(len(place), -1))
    inner = (jnp.linalg.eigvalsh(system.inner.inverse) < 0.0).sum()
    lowest, shape = _lowest(factors, mass(body, solid.geometry), free)
    return SmallMotion(
        moved=substitute(factors, right * free[:, None]),
        lowest=lowest,
        shape=shape,
        negative=negative_count(factors) + inner,
    )


def mass(body: Body, geo: Geometry) -> Cells:
    """Mass of the nodes at density one, ``∫ N_a N_b dV``, mm³."""
    values = brick_functions(BRICK_RULES[body.rule].points)[0]
    scalar = jnp.einsum("eq,qa,qb->eab", geo.weight, values, values)
    blocks = jnp.einsum("eab,ij->eaibj", scalar, np.eye(3)).reshape(len(scalar), 60, 60)
    return ((body.rows(body.elements), blocks),)


def _lowest(
    factors: Factors, heavy: Cells, free: Float[Array, " row"]
) -> tuple[Float[Array, ""], Float[Array, " row"]]:
    """The lowest eigenvalue and its shape, by inverse iteration of a few shapes at once."""

    def weighed(x: Float[Array, "row shapes"]) -> Float[Array, "row shapes"]:
        return jax.vmap(lambda column: multiply(heavy, column), 1, 1)(x) * free[:, None]

    def improve(state: tuple[Array, Array, Array, Array]) -> tuple[Array, Array, Array, Array]:
        count, before, _, push = state
        y = substitute(factors, push)
        heavy_y = weighed(y)
        root = jnp.linalg.cholesky(y.T @ heavy_y)
        half = jax.scipy.linalg.solve_triangular(root, y.T @ push, lower=True)
        small = jax.scipy.linalg.solve_triangular(root, half.T, lower=True)
        values, turn = jnp.linalg.eigh(0.5 * (small + small.T))
        mix = jax.scipy.linalg.solve_triangular(root.T, turn, lower=False)
        change = jnp.abs(values[0] - before[0]) / jnp.abs(values).max()
        return count + 1, jnp.append(values[:1], change), y @ mix, heavy_y @ mix

    def unfinished(state: tuple[Array, Array, Array, Array]) -> Array:
        return (state[0] < MOST_ITERATIONS) & (state[1][1] > TOLERANCE)

    start = jax.random.normal(jax.random.key(0), (len(free), SHAPES)) * free[:, None]
    state = (jnp.zeros((), int), jnp.array([0.0, jnp.inf]), start, weighed(start))
    _, found, shapes, _ = jax.lax.while_loop(unfinished, improve, state)
    return found[0], shapes[:, 0]

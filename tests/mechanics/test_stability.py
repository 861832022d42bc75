"""Small motions about a balanced state, against dense algebra."""

from __future__ import annotations

from typing import Any

import jax.numpy as jnp
import numpy as np
import pytest
from scipy.linalg import eigh

from fiddlehead.material.laws import NeoHookean
from fiddlehead.mechanics import elimination
from fiddlehead.mechanics.balance import linear_system
from fiddlehead.mechanics.cells import assemble
from fiddlehead.mechanics.factors import factorise, negative_count, substitute
from fiddlehead.mechanics.stability import mass, small_motion
from fiddlehead.testing.bodies import box
from tests.published.rig import Rig, held, make_rig

SIZE = (12.0, 3.0, 2.0)
REST = jnp.asarray(0.0)


def dense(body: Any, cells: Any) -> np.ndarray:
    """The matrix of the free rows."""
    whole = np.zeros((body.nodal_size, body.nodal_size))
    for rows, matrices in cells:
        for where, matrix in zip(np.asarray(rows), np.asarray(matrices), strict=True):
            whole[np.ix_(where, where)] += matrix
    free = np.asarray(body.free).ravel() > 0
    return whole[np.ix_(free, free)]


@pytest.fixture(scope="module")
def rig() -> Rig:
    mesh = box(SIZE, (5, 2, 1))
    return make_rig(mesh, NeoHookean(1.0), 100.0, held(mesh, x0="xyz"))


@pytest.fixture(scope="module")
def tangent(rig: Rig) -> Any:
    at_rest = jnp.zeros(rig.body.size)
    return linear_system(rig.body, rig.solid, rig.loading, REST, at_rest).tangent


def shifted(rig: Rig, tangent: Any, shift: float) -> Any:
    """``K - shift M``: indefinite where the shift is above eigenvalues."""
    return (*tangent, *((rows, -shift * m) for rows, m in mass(rig.body, rig.solid.geometry)))


@pytest.fixture(scope="module")
def eigenvalues(rig: Rig, tangent: Any) -> np.ndarray:
    heavy = dense(rig.body, mass(rig.body, rig.solid.geometry))
    return np.sort(1.0 / eigh(heavy, dense(rig.body, tangent), eigvals_only=True)[-8:])


def test_mass_is_the_volume_in_every_direction(rig: Rig) -> None:
    whole = sum(float(np.asarray(m).sum()) for _, m in mass(rig.body, rig.solid.geometry))
    assert whole == pytest.approx(3 * np.prod(SIZE))


@pytest.mark.parametrize("above", [0, 1, 3])
def test_kept_elimination_solves_and_counts(
    rig: Rig, tangent: Any, eigenvalues: np.ndarray, above: int
) -> None:
    """Shifted past ``above`` eigenvalues, just so many are negative."""
    edges = np.concatenate([[0.0], eigenvalues])
    cells = shifted(rig, tangent, 0.5 * float(edges[above] + edges[above + 1]))
    columns, slots = assemble(rig.body, cells), rig.body.slots
    factors = factorise(columns, slots)
    assert int(negative_count(factors)) == above
    right = np.random.default_rng(1).normal(size=(rig.body.nodal_size, 3))
    found = np.asarray(substitute(factors, jnp.asarray(right)))
    other = elimination.solve(columns, slots, jnp.asarray(right.reshape(*slots.shape, 3)))
    assert found == pytest.approx(np.asarray(other).reshape(found.shape), rel=1e-9, abs=1e-9)
    free = np.asarray(rig.body.free).ravel() > 0
    assert found[free] == pytest.approx(
        np.linalg.solve(dense(rig.body, cells), right[free]), rel=1e-6, abs=1e-6
    )


def test_lowest_eigenvalue_and_its_shape(rig: Rig, tangent: Any, eigenvalues: np.ndarray) -> None:
    push = jnp.asarray(np.zeros((len(rig.points), 3, 1)))
    motion = small_motion(rig.body, rig.solid, rig.loading, REST, jnp.zeros(rig.body.size), push)
    assert float(motion.lowest) == pytest.approx(eigenvalues[0], rel=1e-8)
    assert int(motion.negative) == 0
    free = np.asarray(rig.body.free).ravel() > 0
    shape = np.asarray(motion.shape)[free]
    heavy = dense(rig.body, mass(rig.body, rig.solid.geometry))
    assert shape @ heavy @ shape == pytest.approx(1.0)
    assert shape @ dense(rig.body, tangent) @ shape == pytest.approx(eigenvalues[0])

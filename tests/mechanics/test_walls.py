"""Contact of facing walls: forces from a potential, balance of force and moment, no passing."""

from __future__ import annotations

import jax.numpy as jnp
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fiddlehead.mechanics.element import FACE_NODES
from fiddlehead.mechanics.walls import gaps, wall_energy, wall_forces, wall_stiffness

SQUARE = np.column_stack([np.zeros(8), FACE_NODES])  # normal along +x
REFERENCE = jnp.asarray(np.concatenate([SQUARE, SQUARE + np.array([0.1, 0.0, 0.0])])[None])


def moved(seed: int, overlap: float) -> jnp.ndarray:
    rng = np.random.default_rng(seed)
    shift = np.zeros((16, 3))
    shift[8:, 0] = -0.1 - overlap
    return REFERENCE + jnp.asarray(shift + 0.2 * overlap * rng.normal(size=(16, 3)))


def test_gap_is_the_distance_of_parallel_walls() -> None:
    assert np.asarray(gaps(REFERENCE)) == pytest.approx(0.1)
    assert np.asarray(gaps(moved(0, 0.0))) == pytest.approx(0.0, abs=1e-12)


def test_walls_apart_do_not_push() -> None:
    assert not np.asarray(wall_forces(REFERENCE, REFERENCE, 2.0)).any()


@given(st.integers(0, 1000), st.floats(0.002, 0.2))
@settings(deadline=None, max_examples=20)
def test_forces_balance_and_follow_from_the_potential(seed: int, overlap: float) -> None:
    x = moved(seed, overlap)
    forces = wall_forces(REFERENCE, x, 2.0)
    size = float(jnp.abs(forces).max())
    assert np.asarray(forces.sum((0, 1))) == pytest.approx(np.zeros(3), abs=1e-9 * size)
    moment = jnp.cross(x, forces).sum((0, 1))
    assert np.asarray(moment) == pytest.approx(np.zeros(3), abs=1e-8 * size)
    way = jnp.asarray(np.random.default_rng(seed + 1).normal(size=(1, 16, 3)))
    h = 1e-6 * overlap
    rise = wall_energy(REFERENCE, x + h * way, 2.0) - wall_energy(REFERENCE, x - h * way, 2.0)
    assert float(rise / (2 * h)) == pytest.approx(-float((forces * way).sum()), rel=1e-4)


def test_stiffness_is_the_slope_of_the_forces() -> None:
    x = moved(3, 0.05)
    way = jnp.asarray(np.random.default_rng(1).normal(size=(1, 16, 3)))
    h = 1e-7
    change = wall_forces(REFERENCE, x - h * way, 2.0) - wall_forces(REFERENCE, x + h * way, 2.0)
    along = wall_stiffness(REFERENCE, x, 2.0)[0] @ way.ravel()
    assert np.asarray(along) == pytest.approx(np.asarray(change).ravel() / (2 * h), abs=1e-3)


def test_pressure_grows_with_the_overlap() -> None:
    """Ten moduli a millimetre once the ramp is passed: uniform overlap, face of 4 mm²."""
    deep = REFERENCE.at[:, 8:, 0].add(-0.1 - 0.05)
    push = float(wall_forces(REFERENCE, deep, 2.0)[0, 8:, 0].sum())
    assert push == pytest.approx(10.0 * 2.0 * (0.05 - 0.005 / 2) * 4.0)

"""Contact of facing walls: forces from a potential, balance of force and moment, no passing."""

from __future__ import annotations

import jax
import jax.numpy as jnp
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fiddlehead.mechanics.element import FACE_NODES
from fiddlehead.mechanics.walls import (
    MODULI_PER_MM,
    REACH_MM,
    WallLaw,
    gaps,
    linearised_pressure,
    pressure_slope,
    slides,
    wall_forces,
    wall_law,
    wall_pressure,
    wall_stiffness,
)

SOFT = wall_law(2.0, 0.15)
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


def test_gap_and_slide_of_walls_that_moved_along_each_other() -> None:
    """Opposite points half a face's edge apart along the wall; the gap does not feel it."""
    slid = REFERENCE.at[:, 8:, 1].add(1.0)  # faces are 2 mm x 2 mm
    assert np.asarray(slides(REFERENCE)) == pytest.approx(0.0, abs=1e-12)
    assert np.asarray(slides(slid)) == pytest.approx(0.5)
    assert np.asarray(gaps(slid)) == pytest.approx(0.1)


@given(st.floats(-0.1, 2.0), st.floats(0.1, 20.0), st.floats(1e-3, 1.0))
@settings(deadline=None)
def test_pressure_solves_its_law_and_fades_with_the_gap(
    gap: float, modulus: float, full: float
) -> None:
    law = wall_law(modulus, full)
    pressure = float(wall_pressure(law, jnp.asarray(gap)))
    assert pressure > 0.0
    balance = pressure * (gap + pressure / (MODULI_PER_MM * modulus))
    assert balance == pytest.approx(REACH_MM * full, rel=1e-6)
    slope = jax.grad(lambda g: wall_pressure(law, g))(jnp.asarray(gap))
    assert float(pressure_slope(law, jnp.asarray(pressure))) == pytest.approx(
        -float(slope), rel=1e-6
    )


def test_walls_push_before_and_as_they_meet() -> None:
    """Demo-like modulus 4 MPa and 150 kPa: nothing to speak of at a tenth of a millimetre, an
    overlap of a few micrometres where the walls hold the air's pressure."""
    law = wall_law(4.0, 0.15)
    assert float(wall_pressure(law, jnp.asarray(0.1))) < 0.3e-3
    assert float(wall_pressure(law, jnp.asarray(-0.004))) > 0.15
    assert float(wall_pressure(law, jnp.asarray(-0.003))) < 0.15


def test_without_live_pressure_walls_still_have_a_law() -> None:
    """A finger pushed together by a plate alone: stiff overlap, hardly any reach."""
    law = wall_law(4.0, 0.0)
    assert float(wall_pressure(law, jnp.asarray(-0.004))) == pytest.approx(0.16, rel=0.01)
    assert 0.0 < float(wall_pressure(law, jnp.asarray(0.1))) < 1e-4


@given(st.floats(1e-6, 1.0), st.floats(-0.05, 0.5))
@settings(deadline=None)
def test_linearised_pressure_is_the_law_where_it_was_carried_from(
    carried: float, gap: float
) -> None:
    """At the gap that belongs to the carried pressure; beside it along the tangent."""
    law = WallLaw(jnp.asarray(40.0), jnp.asarray(4e-4))
    home = 4e-4 / carried - carried / 40.0
    same = linearised_pressure(law, jnp.asarray(home), jnp.asarray(carried))
    assert float(same) == pytest.approx(carried, rel=1e-9)
    beside = linearised_pressure(law, jnp.asarray(gap), jnp.asarray(carried))
    rise = float(pressure_slope(law, jnp.asarray(carried))) * (home - gap)
    assert float(beside) == pytest.approx(carried + rise, rel=1e-6, abs=1e-9)


@given(st.integers(0, 1000), st.floats(0.002, 0.2))
@settings(deadline=None, max_examples=20)
def test_forces_and_moments_balance(seed: int, overlap: float) -> None:
    x = moved(seed, overlap)
    forces = wall_forces(REFERENCE, x, wall_pressure(SOFT, gaps(x)))
    size = float(jnp.abs(forces).max())
    assert size > 0.01
    assert np.asarray(forces.sum((0, 1))) == pytest.approx(np.zeros(3), abs=1e-9 * size)
    moment = jnp.cross(x, forces).sum((0, 1))
    assert np.asarray(moment) == pytest.approx(np.zeros(3), abs=1e-8 * size)


def test_stiffness_is_the_slope_of_the_forces() -> None:
    """At the true pressure, along any way; also where the walls are still apart."""
    for overlap in (0.05, -0.002):
        x = moved(3, overlap)
        way = jnp.asarray(np.random.default_rng(1).normal(size=(1, 16, 3)))

        def forces(x: jnp.ndarray) -> jnp.ndarray:
            return wall_forces(REFERENCE, x, wall_pressure(SOFT, gaps(x)))

        _, slope = jax.jvp(forces, (x,), (way,))
        along = wall_stiffness(REFERENCE, x, wall_pressure(SOFT, gaps(x)), SOFT)[0] @ way.ravel()
        assert np.asarray(along) == pytest.approx(-np.asarray(slope).ravel(), rel=1e-6, abs=1e-6)


def test_pressure_grows_with_the_overlap() -> None:
    """Ten moduli a millimetre: uniform overlap of 0.05 mm, face of 4 mm²."""
    deep = REFERENCE.at[:, 8:, 0].add(-0.1 - 0.05)
    push = float(wall_forces(REFERENCE, deep, wall_pressure(SOFT, gaps(deep)))[0, 8:, 0].sum())
    assert push == pytest.approx(10.0 * 2.0 * 0.05 * 4.0, rel=1e-3)

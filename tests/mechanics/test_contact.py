"""Contact with a rigid surface: tangent, pose derivatives, friction, and independence of units."""

from __future__ import annotations

import dataclasses
from typing import Any

import jax
import jax.numpy as jnp
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fiddlehead.mechanics import contact
from fiddlehead.mechanics.contact import Past, contact_forces, contact_stiffness, feel, wrench
from fiddlehead.mechanics.element import FACE_NODES
from fiddlehead.objects.placed import Pose
from fiddlehead.objects.shapes.simple import Sphere

# two faces side by side whose normals look down on a ball of 10 mm radius below them
SQUARE = np.column_stack([FACE_NODES[:, 0], np.zeros(8), FACE_NODES[:, 1]])
ASIDE = np.array([1.0, 0.0, 0.0])
REFERENCE = jnp.asarray(np.stack([SQUARE + ASIDE, SQUARE - ASIDE]))


def obstacle(
    friction: float | None = None, past: Past | None = None, **pose: Any
) -> contact.Obstacle:
    placed = Pose(
        jnp.asarray(pose.get("position", (0.2, -9.9, 0.1))),
        jnp.asarray(pose.get("rotation", (0.3, -0.2, 0.5))),
    )
    made = contact.make_obstacle(Sphere(jnp.asarray(20.0)), placed, 4.0, friction)
    return dataclasses.replace(made, past=past)


def moved(seed: int, size: float = 0.01) -> Any:
    return REFERENCE + size * jnp.asarray(np.random.default_rng(seed).normal(size=(2, 8, 3)))


def touched(friction: float, way: Any) -> contact.Obstacle:
    """Touching at rest, then to be moved by ``way``."""
    past = contact.remember(obstacle(friction, contact.no_past(2)), REFERENCE)
    return obstacle(friction, past)


@pytest.mark.parametrize("friction", [0.0, 1e6])
def test_stiffness_is_the_slope_of_the_forces(friction: float) -> None:
    """Smooth, and sticking everywhere; a slipping tangent is symmetric on purpose."""
    met, x = touched(friction, None), moved(1)
    way = jnp.asarray(np.random.default_rng(2).normal(size=(2, 8, 3)))
    along = jax.jvp(lambda y: -contact_forces(met, REFERENCE, y), (x,), (way,))[1]
    stiffness = contact_stiffness(met, REFERENCE, x)
    found = jnp.einsum("fij,fj->fi", stiffness, way.reshape(2, 24))
    # anchored points also feel the normal turn, which the tangent leaves out
    rel = 1e-9 if friction == 0.0 else 0.02
    size = float(jnp.abs(along).max())
    assert np.asarray(found) == pytest.approx(np.asarray(along).reshape(2, 24), abs=rel * size)
    assert np.asarray(stiffness) == pytest.approx(np.asarray(stiffness).transpose(0, 2, 1))


def test_the_coupling_completes_the_tangent_of_slipping() -> None:
    """Stiffness and coupling together against the derivative; so little friction slips."""
    met, x = touched(1e-3, None), moved(1)
    way = jnp.asarray(np.random.default_rng(4).normal(size=(2, 8, 3)))
    along = jax.jvp(lambda y: -contact_forces(met, REFERENCE, y), (x,), (way,))[1]
    smooth = jax.jvp(lambda y: -contact_forces(obstacle(), REFERENCE, y), (x,), (way,))[1]
    tangent = contact_stiffness(met, REFERENCE, x) + contact.slip_coupling(met, REFERENCE, x)
    tangent -= contact_stiffness(obstacle(), REFERENCE, x)
    found = jnp.einsum("fij,fj->fi", tangent, way.reshape(2, 24))
    wanted = np.asarray(along - smooth).reshape(2, 24)
    assert np.asarray(found) == pytest.approx(wanted, abs=0.02 * np.abs(wanted).max())


@given(st.integers(0, 1000), st.floats(0.05, 1.5))
@settings(deadline=None, max_examples=15)
def test_friction_opposes_and_never_exceeds_its_limit(seed: int, friction: float) -> None:
    met = touched(friction, None)
    felt = feel(met, REFERENCE, moved(seed))
    size = np.linalg.norm(np.asarray(felt.friction), axis=-1)
    assert np.all(size <= friction * np.asarray(felt.pressure) * (1 + 1e-9))
    across = (felt.friction * felt.normal).sum(-1)
    assert np.asarray(across) == pytest.approx(0.0, abs=1e-9)


def test_what_friction_remembers_gives_the_same_traction_again() -> None:
    met, x = touched(0.3, None), moved(5)
    before = feel(met, REFERENCE, x)
    after = feel(dataclasses.replace(met, past=contact.remember(met, x)), REFERENCE, x)
    had = np.asarray(met.past.touched if met.past is not None else 0)[..., None]
    assert np.asarray(after.friction) * had == pytest.approx(
        np.asarray(before.friction), rel=1e-6, abs=1e-9
    )


def test_force_and_moment_are_of_action_and_reaction() -> None:
    met, x = touched(0.3, None), moved(3)
    on_body = np.asarray(contact_forces(met, REFERENCE, x)).reshape(-1, 3)
    on_surface = np.asarray(wrench(met, feel(met, REFERENCE, x)))
    assert on_surface[:3] == pytest.approx(-on_body.sum(0))
    # a smooth ball is pushed through its middle: no moment
    smooth = obstacle()
    felt = feel(smooth, REFERENCE, x)
    assert np.asarray(wrench(smooth, felt))[3:] == pytest.approx(0.0, abs=1e-9)
    assert float(jnp.linalg.norm(wrench(smooth, felt)[:3])) > 1.0


def test_force_and_moment_follow_the_six_numbers_of_the_pose() -> None:
    """By forward differentiation against central differences."""
    met, x = touched(0.3, None), moved(7)

    def force(six: Any) -> Any:
        here = dataclasses.replace(met, pose=Pose(six[:3], six[3:]))
        return wrench(here, feel(here, REFERENCE, x))

    six = jnp.concatenate([met.pose.position_mm, met.pose.rotation])
    slope, h = jax.jacfwd(force)(six), 1e-7
    for k in range(6):
        step = h * jnp.eye(6)[k]
        central = (force(six + step) - force(six - step)) / (2 * h)
        size = float(jnp.abs(central).max())
        assert np.asarray(slope[:, k]) == pytest.approx(np.asarray(central), abs=1e-4 * size)


def test_poses_and_sizes_run_in_a_batch() -> None:
    x = moved(9)
    heights = jnp.asarray([-9.95, -9.9, -9.85])

    def force(height: Any, diameter: Any) -> Any:
        pose = Pose(jnp.asarray([0.0, height, 0.0]), jnp.zeros(3))
        ball = contact.make_obstacle(Sphere(diameter), pose, 4.0)
        return wrench(ball, feel(ball, REFERENCE, x))

    together = jax.vmap(force)(heights, jnp.full(3, 20.0))
    one_by_one = [force(height, jnp.asarray(20.0)) for height in heights]
    assert np.asarray(together) == pytest.approx(np.asarray(one_by_one))
    assert np.all(np.diff(np.asarray(together)[:, 1]) < 0)

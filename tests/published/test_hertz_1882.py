"""A rigid ball and a rigid roller pressed into a soft block.

Source: Hertz (1882), as given by Johnson (1985), Contact Mechanics, secs. 4.2 and 3.2: for a ball
``a = (3FR/4E*)^(1/3)``, approach ``a²/R``, peak ``3F/(2πa²)``; for a roller
``b = √(4F'R/πE*)``, peak ``√(F'E*/πR)``. The half-space's surface sinks far away as under a point
load (Boussinesq, Johnson sec. 3.4.1): the block's outer sides are moved so. Block 10 radii of the
patch wide. Tolerance 5 %: three faces in the radius of the patch.
"""

from __future__ import annotations

import dataclasses
from functools import cache
from typing import Any

import jax.numpy as jnp
import numpy as np
import pytest

from fiddlehead.material.laws import NeoHookean
from fiddlehead.mechanics import contact
from fiddlehead.mechanics.loads import face_positions
from fiddlehead.mechanics.path import PathSettings
from fiddlehead.objects.placed import pose
from fiddlehead.objects.shapes.simple import Cylinder, Sphere
from fiddlehead.testing.bodies import Body, box
from tests.published.rig import Rig, Solved, held, make_rig

MODULUS, POISSON = 12.0, 0.49
SHEAR = MODULUS / (2 * (1 + POISSON))
BULK = MODULUS / (3 * (1 - 2 * POISSON))
PLANE_MODULUS = MODULUS / (1 - POISSON**2)
SETTINGS = PathSettings(first_step=0.5, most_iterations=30)


def graded(edges: list[float]) -> Any:
    """A map of evenly cut unit steps to cuts at ``edges`` (middles between them)."""
    at = np.asarray(edges)
    return lambda unit: np.interp(unit * (len(at) - 1), np.arange(len(at)), at)


def felt_at(solved: Solved, k: int, obstacle: contact.Obstacle) -> contact.Felt:
    rig = solved.rig
    faces = rig.body.contact_faces
    x = face_positions(rig.body, rig.solid, faces, jnp.asarray(solved.rows[k]))
    return contact.feel(obstacle, jnp.asarray(rig.points)[faces], x)


RADIUS, FORCE = 25.0, 5.0
PATCH = (3 * FORCE * RADIUS / (4 * PLANE_MODULUS)) ** (1 / 3)
APPROACH = PATCH**2 / RADIUS


def under_a_point_load(x: np.ndarray) -> np.ndarray:
    """Displacement (mm) of a half-space y < 0 under FORCE at the origin towards -y.

    Boussinesq, Johnson (1985) eq. 3.18.
    """
    depth, across = -x[:, 1], np.hypot(x[:, 0], x[:, 2])
    r = np.sqrt(depth**2 + across**2)
    scale = FORCE / (4 * np.pi * SHEAR)
    down = scale * (depth**2 / r**3 + 2 * (1 - POISSON) / r)
    out = scale * (depth / r**3 - (1 - 2 * POISSON) / (r * (r + depth)))
    return np.stack([out * x[:, 0], -down, out * x[:, 2]], axis=1)


def ball_on_block(stiffer: float = 1.0) -> tuple[Solved, contact.Obstacle]:
    """A quarter of the block below y = 0, its outer sides moved up by the approach."""
    near = [0.0, 0.62, 1.24, 1.86, 2.7, 5.0, 9.5, 18.5]
    side, down = graded(near), graded([0.0, 0.6, 1.4, 3.2, 8.0, 18.5])

    def place(unit: np.ndarray) -> np.ndarray:
        return np.stack([side(unit[:, 0]), -down(unit[:, 1]), side(unit[:, 2])], axis=1)

    # turned over, so that depth counts from y1 and bricks keep their sense
    mesh = box((1.0, 1.0, 1.0), (7, 5, 7), lambda u: place(u * [1, -1, 1] + [0, 1, 0]))
    outer = mesh.on("x1") | mesh.on("y0") | mesh.on("z1")
    fixed = held(mesh, x0="x", z0="z", x1="xyz", y0="xyz", z1="xyz")
    moved = np.zeros_like(mesh.points)
    moved[outer] = under_a_point_load(mesh.points[outer]) + np.array([0.0, APPROACH, 0.0])
    ball = contact.make_obstacle(Sphere(jnp.asarray(2 * RADIUS)), pose((0.0, RADIUS, 0.0)), SHEAR)
    ball = dataclasses.replace(ball, stiffness=stiffer * ball.stiffness)
    rig = make_rig(
        mesh, NeoHookean(SHEAR), BULK, fixed, touching="y1", prescribed=moved, obstacle=ball
    )
    return rig.follow([1.0], SETTINGS), ball


@cache
def ball_felt() -> tuple[Solved, contact.Obstacle, contact.Felt]:
    solved, ball = ball_on_block()
    return solved, ball, felt_at(solved, 0, ball)


@pytest.mark.slow
def test_ball_on_block() -> None:
    _, _, felt = ball_felt()
    push = np.asarray(felt.pressure * felt.area)
    area = 4 * float(np.asarray(felt.area)[push > 0].sum())
    assert 4 * push.sum() == pytest.approx(FORCE, rel=0.05)
    assert np.sqrt(area / np.pi) == pytest.approx(PATCH, rel=0.05)
    assert float(felt.pressure.max()) == pytest.approx(3 * FORCE / (2 * np.pi * PATCH**2), rel=0.05)


@pytest.mark.slow
def test_force_balance_is_kept() -> None:
    """Push of the ball against the reactions of the supports, relative 1e-6."""
    solved, ball, felt = ball_felt()
    push = -np.asarray(contact.wrench(ball, felt))[:3]
    reaction = solved.reaction(0).sum(0)
    assert push == pytest.approx(-reaction, rel=1e-6, abs=1e-6 * np.abs(push).max())


@pytest.mark.slow
def test_results_do_not_depend_on_the_contact_stiffness() -> None:
    _, _, felt = ball_felt()
    solved, ball = ball_on_block(stiffer=3.0)
    again = felt_at(solved, 0, ball)
    force, other = (float((f.pressure * f.area).sum()) for f in (felt, again))
    assert other == pytest.approx(force, rel=0.01)
    assert float(again.pressure.max()) == pytest.approx(float(felt.pressure.max()), rel=0.01)


ROLLER = 15.0


def roller_on_block(modulus: float, approach: float) -> tuple[float, float, float]:
    """Force per length (N/mm), half width of the patch and peak pressure; plane strain, half."""
    side = graded([0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.8, 1.3, 2.6, 5.2])
    down = graded([0.0, 0.15, 0.4, 0.9, 2.0, 5.2])

    def place(u: np.ndarray) -> np.ndarray:
        return np.stack([side(u[:, 0]), -down(1 - u[:, 1]), 0.5 * u[:, 2]], axis=1)

    mesh: Body = box((1.0, 1.0, 1.0), (10, 5, 1), place)
    shear, bulk = modulus / (2 * (1 + POISSON)), modulus / (3 * (1 - 2 * POISSON))
    fixed = held(mesh, x0="x", z0="z", z1="z", x1="xz", y0="xyz")
    moved = np.zeros_like(mesh.points)
    moved[mesh.on("y0"), 1] = approach
    # lying along z, well longer than the slice of the block
    bar = Cylinder(jnp.asarray(2 * ROLLER), jnp.asarray(40.0), jnp.asarray(1.0))
    roller = contact.make_obstacle(bar, pose((0.0, ROLLER, 0.0)), shear)
    rig: Rig = make_rig(
        mesh, NeoHookean(shear), bulk, fixed, touching="y1", prescribed=moved, obstacle=roller
    )
    felt = felt_at(rig.follow([1.0], SETTINGS), 0, roller)
    push = np.asarray(felt.pressure * felt.area)
    # half width from the second moment of the elliptic pressure, b²/4
    square = (push * np.asarray(felt.position)[..., 0] ** 2).sum() / push.sum()
    width = 2 * float(np.sqrt(square))
    return 2 * push.sum() / 0.5, width, float(felt.pressure.max())


@pytest.mark.slow
@pytest.mark.parametrize(("modulus", "approach"), [(12.0, 0.016), (3.0, 0.024)])
def test_roller_on_block(modulus: float, approach: float) -> None:
    """The peak at equal force falls with the root of the modulus."""
    force, width, peak = roller_on_block(modulus, approach)
    plane = modulus / (1 - POISSON**2)
    assert 0.1 < width < 0.6
    assert width == pytest.approx(np.sqrt(4 * force * ROLLER / (np.pi * plane)), rel=0.05)
    assert peak == pytest.approx(np.sqrt(force * plane / (np.pi * ROLLER)), rel=0.05)

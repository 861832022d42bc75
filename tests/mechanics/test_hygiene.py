"""What any finite element must do whatever the problem: patches, rotations, rates, work."""

from __future__ import annotations

import itertools

import jax
import jax.numpy as jnp
import numpy as np
import pytest

from fiddlehead.material.laws import MooneyRivlin2, NeoHookean, Ogden1, Yeoh
from fiddlehead.mechanics import path as paths
from fiddlehead.mechanics.element import EDGES
from fiddlehead.mechanics.path import PathSettings
from fiddlehead.testing.bodies import Body, box, closed_tube_eighth
from tests.published.rig import Rig, held, make_rig, spread

LAWS = [NeoHookean(1.0), MooneyRivlin2(0.4, 0.1), Yeoh(0.5, -0.02, 0.004), Ogden1(1.0, 2.6)]


def skewed() -> Body:
    """Eight bricks whose inner nodes are pushed about, edges still straight."""
    mesh = box((1.0, 1.0, 1.0), (2, 2, 2))
    inside = np.isclose(mesh.points, 0.5).all(axis=1)
    move = np.where(inside[:, None], [0.08, -0.06, 0.05], 0.0)
    corners = mesh.elements[:, :8]
    points = mesh.points + move
    for element, eight in zip(mesh.elements, corners, strict=True):
        for k, (a, b) in enumerate(EDGES):
            points[element[8 + k]] = (points[eight[a]] + points[eight[b]]) / 2
    return Body(points, mesh.elements, mesh.faces)


def loose(mesh: Body, law: object = LAWS[0], bulk: float = 100.0) -> Rig:
    return make_rig(mesh, law, bulk, np.zeros(mesh.points.shape, dtype=bool))


@pytest.mark.parametrize("law", LAWS, ids=lambda law: law.name)
def test_rigid_rotation_gives_no_force(law: object) -> None:
    mesh = skewed()
    angle = 2.0
    turn = np.array(
        [[np.cos(angle), -np.sin(angle), 0], [np.sin(angle), np.cos(angle), 0], [0, 0, 1]]
    )
    rig = loose(mesh, law)
    rows = rig.rows(mesh.points @ turn.T + [3.0, -2.0, 1.0] - mesh.points)
    assert np.abs(rig.unbalanced(rows)).max() < 1e-10
    assert abs(rig.energy(rows)) < 1e-10


@pytest.mark.slow
@pytest.mark.parametrize("rule", ["irons14", "gauss3"])
def test_patch_of_skewed_bricks_keeps_a_uniform_strain(rule: str) -> None:
    """The skin is moved as a uniform large strain; the inside must follow to round-off."""
    mesh = skewed()
    gradient = np.array([[0.2, 0.1, 0.0], [-0.05, -0.1, 0.08], [0.03, 0.0, 0.07]])
    uniform = mesh.points @ gradient.T
    skin = np.zeros(len(mesh.points), dtype=bool)
    for name in mesh.faces:
        skin |= mesh.on(name)
    fixed = np.repeat(skin[:, None], 3, axis=1)
    prescribed = np.where(fixed, uniform, 0.0)
    rig = make_rig(mesh, LAWS[0], 100.0, fixed, prescribed=prescribed, rule=rule)
    solved = rig.follow([1.0], PathSettings(tolerance=1e-12))
    assert (~skin).sum() > 0
    assert np.abs(solved.u[0] - uniform).max() < 1e-10


@pytest.mark.slow
def test_loads_and_reactions_balance() -> None:
    mesh = box((4.0, 1.0, 1.0), (4, 1, 1))
    dead = spread(mesh, mesh.faces["x1"], (0.02, 0.03, -0.01))
    rig = make_rig(mesh, LAWS[0], 100.0, held(mesh, x0="xyz"), dead=dead)
    solved = rig.follow([1.0], PathSettings(tolerance=1e-11))
    support = solved.reaction(0)[mesh.on("x0")].sum(axis=0)
    assert support == pytest.approx([-0.02, -0.03, 0.01], abs=1e-9)
    free = ~mesh.on("x0")
    assert np.abs(solved.reaction(0)[free]).max() < 1e-8


@pytest.mark.slow
def test_newton_converges_quadratically() -> None:
    """With the consistent tangent each error is about the square of the one before."""
    mesh = box((4.0, 1.0, 1.0), (4, 1, 1))
    dead = spread(mesh, mesh.faces["x1"], (0.0, 0.005, 0.0))
    rig = make_rig(mesh, LAWS[0], 10.0, held(mesh, x0="xyz"), dead=dead)
    plain = PathSettings(tolerance=1e-13, first_step=1.0, extrapolate_stress=False)
    stops = paths.Stops(jnp.array([0.0, 1.0]), jnp.asarray(2))
    advance = jax.jit(lambda x: paths.advance(rig.body, rig.solid, rig.loading, stops, x, plain))
    rest = jnp.zeros(rig.body.size)
    state = paths.start(rig.body, rig.solid, rig.loading, stops, rest, plain)
    states = [state]
    for _ in range(9):
        states.append(advance(states[-1]))
    moves = [np.abs(b.trial_u - a.trial_u).max() for a, b in itertools.pairwise(states)]
    seen = [move for move in moves if move > 1e-6]
    assert len(seen) >= 4
    assert all(b < 100 * a**2 for a, b in itertools.pairwise(seen))
    assert moves[len(seen)] < 100 * seen[-1] ** 2


@pytest.fixture(scope="module")
def tube() -> tuple[Body, Rig]:
    mesh = closed_tube_eighth(5.0, 7.0, 15.0, 3.0, (4, 1, 2, 2))
    fixed = held(mesh, middle="x", cut_y="y", cut_z="z")
    return mesh, make_rig(mesh, LAWS[0], 100.0, fixed, pressed="cavity", pressure=0.2)


def test_cavity_volume_at_rest_is_exact_and_positive(tube: tuple[Body, Rig]) -> None:
    """A cavity's normals point into it; the wrong sign would turn pressure into suction."""
    mesh, rig = tube
    rest = rig.rows(np.zeros_like(mesh.points))
    assert rig.volume(rest) == pytest.approx(np.pi / 4 * 25 * 15, rel=2e-4)
    push = rig.unbalanced(rest)[mesh.on("cavity")]  # minus the pressure forces
    outwards = mesh.points[mesh.on("cavity")] * [0.0, 1.0, 1.0]
    assert (push * outwards).sum() < 0


@pytest.mark.slow
def test_pressure_work_is_stored_energy(tube: tuple[Body, Rig]) -> None:
    """``dU = p dV`` along the path of a closed cavity, by Simpson's rule over its stops."""
    _, rig = tube
    stops = np.linspace(0, 1, 9)
    solved = rig.follow(stops[1:])
    states = [np.zeros_like(solved.rows[0]), *solved.rows]
    volume = np.array([rig.volume(rows) for rows in states])
    energy = rig.energy(states[-1])
    p = 0.2 * stops
    # integral of p dV = p V - integral of V dp, V smooth in p
    h = p[1]
    weights = np.array([1, 4, 2, 4, 2, 4, 2, 4, 1]) * h / 3
    work = p[-1] * volume[-1] - weights @ volume
    assert energy == pytest.approx(work, rel=1e-4)


@pytest.mark.slow
def test_pressure_force_is_the_gradient_of_the_volume(tube: tuple[Body, Rig]) -> None:
    mesh, rig = tube
    rng = np.random.default_rng(3)
    state = 0.05 * rng.standard_normal(mesh.points.shape)
    step = rng.standard_normal(mesh.points.shape)
    for k, cut in enumerate(("middle", "cut_y", "cut_z")):  # stay on the planes of symmetry
        state[mesh.on(cut), k] = step[mesh.on(cut), k] = 0.0
    force = rig.unbalanced(rig.rows(state), 0.0) - rig.unbalanced(rig.rows(state), 1.0)
    h = 1e-5
    up, down = (rig.volume(rig.rows(state + s * h * step)) for s in (1, -1))
    assert (force * step).sum() / 0.2 == pytest.approx((up - down) / (2 * h), rel=1e-8)

"""Fingers and a free object in balance together: the closed forms, the balances, symmetry."""

from __future__ import annotations

import dataclasses

import jax
import jax.numpy as jnp
import numpy as np
import pytest

from fiddlehead.grasp.coupling import Balanced, balance
from fiddlehead.grasp.gripper import Gripper
from fiddlehead.grasp.march import Budget, march
from fiddlehead.grasp.records import GraspRun
from fiddlehead.grasp.scene import Stage, set_stage
from fiddlehead.grasp.sequence import grasp
from fiddlehead.grasp.task import ready
from fiddlehead.mechanics.loads import cavity_volume
from fiddlehead.mechanics.solid import strain_energy
from tests.grasp.made import BALL, TASK, gripper
from tests.trials.made import BULK_MPA, COARSE, LAW

TASK_NOW = dataclasses.replace(TASK, pressure_mpa=0.2)


def run(gripper: Gripper, **more: object) -> GraspRun:
    held = ready(dataclasses.replace(BALL, **more))  # type: ignore[arg-type]
    return grasp(gripper, held, TASK_NOW, LAW, BULK_MPA, mesh_settings=COARSE)


@pytest.fixture(scope="module")
def held_ball() -> GraspRun:
    return run(gripper(), contact_pressure_limit_kpa=5000.0)


@pytest.mark.slow
def test_the_whole_sequence_is_followed(held_ball: GraspRun) -> None:
    assert held_ball.verdict.good, held_ball.verdict
    assert dict.fromkeys(held_ball.phase) == dict.fromkeys(("inflate", "lift", "shake", "pull-off"))
    assert held_ball.half_fingers
    assert not held_ball.partial
    assert held_ball.verdict.margins.slip is not None
    assert held_ball.verdict.margins.slip > 1


@pytest.mark.slow
def test_fingers_carry_what_pulls(held_ball: GraspRun) -> None:
    """Momentum: wrench of the fingers plus load is nothing; friction never passes the coefficient
    times the normal force."""
    free = np.array([p != "inflate" for p in held_ball.phase])
    left = held_ball.wrench[free, :3] + held_ball.load_n[free]
    assert np.abs(left).max() < 1e-6 * held_ball.normal_n.max()
    assert (held_ball.tangential_n <= 0.5 * held_ball.normal_n * (1 + 1e-6) + 1e-12).all()
    last = held_ball.last("shake")
    assert held_ball.wrench[last, 2] == pytest.approx(8e-3 * 9.80665, rel=1e-6)


@pytest.mark.slow
def test_pull_off_is_the_friction_lift(held_ball: GraspRun) -> None:
    """Once all points slip, ``F = n N (mu cos phi + sin phi)`` with the angle at which the face
    meets the ball, measured on the deformed mesh; 8 %: a patch stands for a point, and its centre
    of force lies up to 3° from the nearest point of the mid-line."""
    pulled = [k for k, p in enumerate(held_ball.phase) if p == "pull-off"]
    slipping = [k for k in pulled if held_ball.slip_share[k, 0] > 0.999]
    assert slipping
    for step in slipping[:1]:
        mesh, place = held_ball.mesh, held_ball.place[0]
        face = np.unique(mesh.faces["underside"])
        moved = mesh.points[face] + held_ball.displacement_mm[step, 0, face]
        world = moved @ place[:, :3].T + place[:, 3]
        centre = held_ball.start_position_mm + held_ball.motion[step, :3]
        apart = world - centre
        from scipy.interpolate import CubicSpline

        middle = np.abs(mesh.points[face, 2]) < 1e-9
        order = np.argsort(mesh.points[face, 0][middle])
        curve = CubicSpline(np.arange(middle.sum()), apart[middle][order])
        fine = curve(np.linspace(0, middle.sum() - 1, 4001))
        nearest = fine[np.argmin((fine**2).sum(1))]
        sine = -nearest[2] / np.linalg.norm(nearest)
        normal = held_ball.normal_n[step, 0]
        expected = 3 * normal * (0.5 * np.sqrt(1 - sine**2) + sine)
        assert held_ball.wrench[step, 2] == pytest.approx(expected, rel=0.08)


def closed(gripper: Gripper, *, lone: bool = False, friction: float = 0.0) -> Balanced:
    """Inflated around a ball that is held."""
    held = ready(dataclasses.replace(BALL, friction_coefficient=friction))
    stage = set_stage(gripper, held, TASK_NOW, LAW, BULK_MPA, COARSE, lone=lone)
    rest = balance(stage.scene, stage.rest(), stage.demand(0.0))
    marched = march(
        stage, rest, lambda s: stage.demand(s * TASK_NOW.pressure_mpa), lambda *_: False,
        Budget(400), first=0.3,
    )  # fmt: skip
    assert marched.why == "end"
    return marched.last


def turned(gripper: Gripper, degrees: float) -> Gripper:
    return dataclasses.replace(
        gripper, directions_deg=tuple(d + degrees for d in gripper.directions_deg)
    )


@pytest.mark.slow
def test_turning_the_whole_scene_changes_nothing() -> None:
    one, other = (closed(g, friction=0.5) for g in (gripper(), turned(gripper(), 17.0)))
    scale = np.abs(one.wrench).max()
    np.testing.assert_allclose(other.wrench, one.wrench, atol=1e-8 * scale)
    np.testing.assert_allclose(other.state.u, one.state.u, atol=1e-8)


@pytest.mark.slow
def test_whole_fingers_agree_with_half_ones_wherever_they_stand() -> None:
    """Two smooth fingers: halves by symmetry, and whole ones that know of none, turned by 23°."""
    half = closed(gripper(2))
    whole = closed(turned(gripper(2), 23.0), lone=True)
    assert whole.state.u.shape[0] == 2
    scale = np.abs(half.wrench).max()
    np.testing.assert_allclose(whole.wrench, half.wrench, atol=1e-6 * scale)


@pytest.mark.slow
def test_too_heavy_a_ball_slips_and_says_so() -> None:
    found = run(gripper(), mass_g=2000.0)
    assert (found.verdict.outcome, found.verdict.reason) == ("lost", "slips")
    assert found.payload_kg is not None
    assert found.payload_kg < 2.0
    assert "friction" in found.verdict.words


def test_what_does_not_fit_is_told_before_anything_is_solved() -> None:
    found = run(gripper(pitch_radius_mm=13.0))
    assert found.verdict.reason == "does not fit"
    assert found.solves == 0


@pytest.mark.slow
def test_a_ball_out_of_reach_is_told() -> None:
    found = run(gripper(pitch_radius_mm=24.0))
    assert found.verdict.reason == "not reached"
    assert np.isinf(found.touch_pressure_mpa)


@pytest.mark.slow
def test_two_fingers_bring_a_ball_between_them_to_their_middle() -> None:
    """By symmetry it rests where both push alike; the table's last drag holds it back by 2 %."""
    aside = dataclasses.replace(TASK_NOW, offset_mm=(1.0, 0.0))
    phases: list[str] = []
    found = grasp(
        gripper(2, 16.5), ready(BALL), aside, LAW, BULK_MPA, mesh_settings=COARSE,
        tell=lambda phase, *_: phases.append(phase), stop=lambda: "lift" in phases,
    )  # fmt: skip
    closed = found.last("inflate")
    assert found.motion[closed, 0] == pytest.approx(-1.0, abs=0.03)
    left, right = found.normal_n[closed]
    assert left == pytest.approx(right, rel=0.05)
    assert np.isfinite(found.touch_pressure_mpa)


@pytest.mark.slow
def test_energy_of_a_smooth_grip() -> None:
    """Without friction, the air's work is the strain energy: ``∫ p dV = U`` (trapezoids: 1 %)."""
    held = ready(dataclasses.replace(BALL, friction_coefficient=0.0))
    stage = set_stage(gripper(), held, TASK_NOW, LAW, BULK_MPA, COARSE)
    states: list[tuple[float, Balanced]] = []
    rest = balance(stage.scene, stage.rest(), stage.demand(0.0))
    states.append((0.0, rest))

    def watch(share: float, found: Balanced) -> bool:
        states.append((share * TASK_NOW.pressure_mpa, found))
        return False

    marched = march(
        stage, rest, lambda s: stage.demand(s * TASK_NOW.pressure_mpa), watch, Budget(400),
        longest=0.08,
    )  # fmt: skip
    assert marched.why == "end"
    assert states[-1][1].wrench[2] != 0.0
    volume, energy = zip(*(_volume_and_energy(stage, s) for _, s in states), strict=True)
    pressure = np.array([p for p, _ in states])
    work = np.trapezoid(pressure, np.array(volume))
    assert energy[-1] == pytest.approx(work, rel=0.01)


def _volume_and_energy(stage: Stage, found: Balanced) -> tuple[float, float]:
    u = found.state.u[0]
    scene = stage.scene
    return float(_volume(scene.body, scene.solid, u)), float(_energy(scene.body, scene.solid, u))


_volume = jax.jit(cavity_volume)
_energy = jax.jit(
    lambda body, solid, u: jnp.asarray(
        strain_energy(body, solid.geometry, solid.law, solid.bulk, u)
    )
)

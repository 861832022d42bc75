"""The fast estimate, its probability, its table: with a bending that is made up."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from fiddlehead.errors import ParameterError
from fiddlehead.grasp.approach import fitted, reaches_in, room_mm
from fiddlehead.grasp.chance import Spread, chance, success_limits
from fiddlehead.grasp.closed_forms import friction_payload_kg
from fiddlehead.grasp.estimate import estimate, sensitivities
from fiddlehead.grasp.table import cell_of_estimate, column_name
from fiddlehead.grasp.task import Held, Task, ready
from fiddlehead.trials.handbound import hand_bound_n
from tests.grasp.made import BALL, TASK, bending, gripper

MOTION = bending()


@pytest.fixture(scope="module")
def ball() -> Held:
    return ready(BALL)


def test_three_fingers_lift_as_the_formula_says(ball: Held) -> None:
    """Payload of the estimate against ``n N (mu cos + sin) / g`` at its own contacts. The cone of
    eight edges touches the true one where the weight pulls; the grid of the object costs 1 %."""
    found = estimate(MOTION, gripper(), ball, TASK)
    normal, out = found.normal_n[0], -found.push[0]
    angle = -np.degrees(np.arcsin(out[2]))
    expected = friction_payload_kg(3, normal, 0.5, angle_deg=angle)
    assert found.payload_kg == pytest.approx(expected, rel=0.01)
    assert found.verdict.good
    assert np.ptp(found.normal_n) < 0.02 * normal
    reach = np.linalg.norm(found.contact_mm, axis=1)
    np.testing.assert_allclose(reach, 15.0, rtol=0.02)


def test_forces_are_the_hand_bound(ball: Held) -> None:
    found = estimate(MOTION, gripper(), ball, TASK)
    beyond = TASK.pressure_mpa - found.touch_pressure_mpa[0]
    low = hand_bound_n(MOTION.finger, np.array([beyond]), np.array([MOTION.finger.length_mm]))[0]
    high = hand_bound_n(MOTION.finger, np.array([beyond]), np.array([20.0]))[0]
    assert low < found.normal_n[0] < high


def test_an_object_off_the_axis_is_centred(ball: Held) -> None:
    wide = dataclasses.replace(gripper(), pitch_radius_mm=17.5)
    still = estimate(MOTION, wide, ball, TASK)
    moved = estimate(MOTION, wide, ball, dataclasses.replace(TASK, offset_mm=(0.8, 0.5)))
    assert moved.object_motion_mm == pytest.approx(np.hypot(0.8, 0.5), rel=0.05)
    assert moved.payload_kg == pytest.approx(still.payload_kg, rel=0.05)


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"mass_g": 9000.0}, "slips"),
        ({"force_limit_n": 0.2}, "crushed"),
        ({"sizes": {"diameter_mm": 50.0}}, "does not fit"),
        ({"sizes": {"diameter_mm": 12.0}}, "not reached"),
    ],
)
def test_every_failure_has_its_reason(change: dict[str, object], reason: str) -> None:
    held = ready(dataclasses.replace(BALL, **change))  # type: ignore[arg-type]
    found = estimate(MOTION, gripper(), held, TASK)
    assert found.verdict.reason == reason
    assert found.verdict.held == (reason == "crushed")
    assert reason in found.verdict.words


def test_fitted_pitch_leaves_just_the_room_that_is_wanted(ball: Held) -> None:
    found = fitted(gripper(), ball, TASK)
    assert 0.4 < room_mm(found, ball, TASK) < 1.1
    assert reaches_in(found, ball, TASK)


def test_sensitivities_have_the_signs_of_mechanics(ball: Held) -> None:
    found = sensitivities(MOTION, gripper(), ball, TASK)
    assert found["payload_kg_per_friction"] > 0
    assert found["payload_kg_per_kpa"] > 0
    assert found["payload_kg_per_mm_size"] > 0


def test_chance_is_repeatable_and_counts_reasons(ball: Held) -> None:
    one = chance(MOTION, gripper(), ball, TASK, trials=20, seed=3)
    other = chance(MOTION, gripper(), ball, TASK, trials=20, seed=3)
    assert (one.successes, one.failures) == (other.successes, other.failures)
    assert one.successes + sum(one.failures.values()) == 20
    assert one.low <= one.probability <= one.high
    certain = chance(
        MOTION, gripper(), ball, TASK, Spread(position_mm=0.0, size_share=0.0), trials=20
    )
    assert certain.probability == 1.0
    with pytest.raises(ParameterError, match="no such experiment"):
        chance(MOTION, gripper(), ball, TASK, trials=0)


def test_limits_of_a_faultless_series() -> None:
    """Clopper & Pearson (1934): two-sided, 20 of 20 leaves 0.025^(1/20)."""
    assert success_limits(20, 20) == pytest.approx((0.025 ** (1 / 20), 1.0))
    assert success_limits(0, 20)[0] == 0.0


def test_a_cell_of_the_table(ball: Held) -> None:
    cell = cell_of_estimate(MOTION, gripper(), ball, TASK)
    assert cell.method == "estimate"
    assert cell.column == column_name(gripper()) == "3 fingers, without pad"
    assert cell.sight.faces_mm.shape == (3, 30, 3)
    around = np.linalg.norm(cell.sight.skin_mm - cell.sight.skin_mm.mean((0, 1)), axis=-1)
    np.testing.assert_allclose(around, 15.0, rtol=0.05)


@pytest.mark.parametrize(
    "wrong", [{"pressure_mpa": 0.0}, {"shake_m_per_s2": -1.0}, {"pull": (0.0, 0.0, 0.0)}]
)
def test_nonsense_tasks_are_refused(wrong: dict[str, object]) -> None:
    with pytest.raises(ParameterError, match="grasp"):
        Task(**{"pressure_mpa": 0.1, **wrong}).validate()  # type: ignore[arg-type]

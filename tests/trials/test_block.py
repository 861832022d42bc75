"""Trial block: the tip against a plate, straight and bent."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
import pytest

from fiddlehead.errors import ParameterError
from fiddlehead.trials import block as trial
from fiddlehead.trials.block import block
from fiddlehead.trials.handbound import explain, hand_bound_n
from tests.trials.made import BULK_MPA, COARSE, LAW, SMALL

PRESSURES = [0.05, 0.1, 0.15]


def run(**choices: Any) -> Any:
    return block(SMALL, LAW, BULK_MPA, PRESSURES, mesh_settings=COARSE, **choices)


@pytest.fixture(scope="module")
def straight() -> Any:
    return run()


@pytest.mark.slow
def test_straight_finger_pushes_from_the_first_pressure(straight: Any) -> None:
    assert straight.history.complete
    assert straight.force_n[0] == 0.0
    assert np.all(np.diff(straight.force_n) > 0)
    length = SMALL.length_mm
    assert np.all(straight.contact_distance_mm <= length + 1e-9)
    assert np.all(straight.contact_distance_mm >= length - SMALL.tip_length_mm)
    # the plate is one-sided and rigid for the purpose: hundredths of a millimetre
    assert np.all(straight.plate_depth_mm < 0.1)


@pytest.mark.slow
def test_force_does_not_depend_on_the_numerical_plate(
    straight: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(trial, "PLATE_MODULI_PER_MM", 3 * trial.PLATE_MODULI_PER_MM)
    assert run().force_n == pytest.approx(straight.force_n, rel=0.01)


@pytest.mark.slow
def test_bent_finger_pushes_from_its_touch_pressure(straight: Any) -> None:
    bent = run(preset_angle_deg=5.0)
    assert bent.history.complete
    assert bent.touch_angle_deg == pytest.approx(5.0, abs=0.01)
    assert bent.pressure_mpa[0] == pytest.approx(bent.touch_pressure_mpa)
    assert bent.force_n[0] == pytest.approx(0.0, abs=1e-6)
    assert 0 < bent.force_n[-1] < straight.force_n[-1]


@pytest.mark.slow
def test_guided_tip_reads_no_less_than_a_free_one(straight: Any) -> None:
    held = run(tip_hold="held")
    assert held.history.complete
    assert held.force_n[-1] > 0.9 * straight.force_n[-1]
    assert np.all(np.abs(held.displacement_mm[:, np.unique(held.mesh.faces["tip"]), 1]) < 1e-12)


@pytest.mark.slow
def test_force_stays_below_the_hand_bound_or_says_why(straight: Any) -> None:
    over = straight.force_n[1:] > 1.2 * straight.hand_bound_n[1:]
    assert not np.any(over) or straight.explanation


@pytest.mark.slow
def test_an_angle_out_of_reach_is_told() -> None:
    with pytest.raises(ParameterError, match="does not reach the preset angle"):
        run(preset_angle_deg=120.0)


@pytest.mark.parametrize(
    ("choices", "message"),
    [
        ({"tip_hold": "glued"}, "no such tip hold"),
        ({"preset_angle_deg": -5.0}, "preset angle"),
        ({"tip_hold": "held", "preset_angle_deg": 10.0}, "preset angle"),
        ({"contact_length_mm": 0.0}, "contact length"),
        ({"contact_length_mm": 500.0}, "contact length"),
    ],
)
def test_arguments_that_make_no_sense_are_refused(choices: dict[str, Any], message: str) -> None:
    with pytest.raises(ParameterError, match=message):
        run(**choices)


def test_hand_bound_is_the_textbook_product() -> None:
    """``p A e / L`` by hand for a chamber 10 x 8 mm, 2 bar, 40 mm from the root block."""
    finger = dataclasses.replace(
        SMALL, height_mm=12, roof_thickness_mm=2, base_thickness_mm=2, width_mm=12,
        side_wall_thickness_mm=1, root_length_mm=6,
    )  # fmt: skip
    bound = hand_bound_n(finger, np.array([0.2]), np.array([46.0]))
    assert bound[0] == pytest.approx(0.2 * (10 * 8) * (4 + 1) / 40)


def test_a_force_beyond_the_bound_is_explained() -> None:
    bound = np.array([0.0, 1.0, 2.0])
    assert explain(np.array([0.0, 1.1, 2.3]), bound, "plate") == ""
    assert "1.50 times" in explain(np.array([0.0, 1.5, 2.0]), bound, "plate")
    assert explain(np.array([0.0, 1.5, 2.0]), bound, "held") != ""

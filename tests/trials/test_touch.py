"""Bellows that meet when inflated: straight-sided ones do, zig-zag ones do not."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from fiddlehead.trials import bend as bending
from fiddlehead.trials.bend import bend
from fiddlehead.trials.bend_many import bend_batch
from fiddlehead.trials.touch import touch_pressure_mpa
from tests.trials.made import BULK_MPA, COARSE, LAW, SMALL

STRAIGHT = dataclasses.replace(
    SMALL, flank_angle_deg=90.0, wall_thickness_mm=0.9, roof_thickness_mm=1.4,
    valley_gap_mm=0.8, pitch_mm=9.0, height_mm=20.0,
)  # fmt: skip
PRESSURES = np.array([0.008, 0.016, 0.03, 0.045])


def test_pressure_of_first_touch_lies_where_the_gap_closes() -> None:
    pressures, gaps = np.array([0.0, 0.1, 0.2, 0.3]), np.array([0.8, 0.4, -0.1, -0.5])
    assert touch_pressure_mpa(pressures, gaps) == pytest.approx(0.18)
    assert touch_pressure_mpa(pressures, np.abs(gaps)) is None
    assert touch_pressure_mpa(pressures, np.full(4, np.inf)) is None


@pytest.mark.slow
def test_straight_bellows_push_each_other_on_once_they_touch(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    pushing = bend(STRAIGHT, LAW, BULK_MPA, PRESSURES, mesh_settings=COARSE)
    assert pushing.history.complete
    assert pushing.touch_pressure_mpa is not None
    assert 0.008 < pushing.touch_pressure_mpa < 0.03
    assert pushing.smallest_gap_mm[0] == pytest.approx(STRAIGHT.valley_gap_mm)
    assert pushing.smallest_gap_mm.min() > -0.02  # never through each other
    monkeypatch.setattr(bending, "follow_with_walls", lambda rig, path, *_, **__: (rig.body, path))
    passing = bend(STRAIGHT, LAW, BULK_MPA, PRESSURES, mesh_settings=COARSE)
    assert passing.smallest_gap_mm.min() < -0.3
    apart = pushing.pressure_mpa < pushing.touch_pressure_mpa
    assert pushing.tip_angle_deg[apart] == pytest.approx(passing.tip_angle_deg[apart], rel=1e-6)

    def slopes(angle: np.ndarray) -> np.ndarray:
        return np.diff(angle) / np.diff(pushing.pressure_mpa)

    # ballooning walls bend the finger less and less; walls that push turn that round
    gain = slopes(pushing.tip_angle_deg) / slopes(passing.tip_angle_deg)
    assert gain[0] == pytest.approx(1.0, abs=1e-6)
    assert gain[-1] > 1.05
    (alike,) = bend_batch([STRAIGHT], LAW, BULK_MPA, PRESSURES, mesh_settings=COARSE)
    assert alike.tip_angle_deg == pytest.approx(pushing.tip_angle_deg, rel=1e-4, abs=1e-6)
    assert alike.touch_pressure_mpa == pytest.approx(pushing.touch_pressure_mpa, rel=1e-6)


@pytest.mark.slow
def test_zig_zag_bellows_stay_apart_to_the_same_pressure() -> None:
    result = bend(SMALL, LAW, BULK_MPA, [0.05, 0.1, 0.15], mesh_settings=COARSE)
    assert result.touch_pressure_mpa is None
    assert np.all(result.smallest_gap_mm > 0.5 * SMALL.valley_gap_mm)

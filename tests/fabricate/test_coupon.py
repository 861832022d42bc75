"""The leak coupon: the finger's own walls, on less finger."""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path

import pytest

from fiddlehead.errors import ParameterError
from fiddlehead.fabricate.coupon import leak_coupon
from fiddlehead.fabricate.fittings import BARB_LENGTH_MM, Fittings, default_fittings
from fiddlehead.fabricate.printcheck import print_check
from fiddlehead.fabricate.solid import finger_solid
from fiddlehead.fabricate.surface import surface_problems
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.project.load import load_project
from tests.report.made_up import FINGER

DEMO = load_project(Path(__file__).resolve().parents[2] / "examples/greenware")

WALLS = (
    "wall_thickness_mm", "roof_thickness_mm", "base_thickness_mm", "side_wall_thickness_mm",
    "valley_gap_mm", "flank_angle_deg", "pitch_mm", "height_mm", "width_mm", "inlet_bore_mm",
)  # fmt: skip
HIGH = dataclasses.replace(FINGER, height_mm=18.0, valley_height_mm=8.0, width_mm=20.0)


@pytest.mark.parametrize("finger", [FINGER, HIGH])
def test_every_wall_is_the_fingers(finger: FingerParameters) -> None:
    coupon = leak_coupon(finger, default_fittings(finger))
    for name in WALLS:
        assert getattr(coupon.parameters, name) == getattr(finger, name)
    assert coupon.parameters.length_mm < finger.length_mm
    assert coupon.share_of_bellows == pytest.approx(2 / 3)


def test_a_finger_fed_through_its_base_gets_a_barb() -> None:
    coupon = leak_coupon(HIGH, Fittings(port="bore", mount="dovetail"))
    assert coupon.fittings.port == "barb"
    assert coupon.fittings.mount == "plain"
    assert coupon.fittings.hose_bore_mm >= HIGH.inlet_bore_mm + 1.6


def test_it_prints_on_its_side_without_support_and_holds_air() -> None:
    """The barb stands upwards on the root block; one on the root face would start in the air."""
    coupon = leak_coupon(DEMO.finger, DEMO.fittings)
    solid = finger_solid(coupon.parameters, coupon.fittings)
    check = print_check(solid.part("side"), DEMO.process, solid.plug())
    assert not check.kinds & {"island", "overhang", "long bridge", "sealed pocket"}
    (space,) = check.air.chambers
    barb = math.pi / 4e3 * coupon.parameters.inlet_bore_mm**2 * BARB_LENGTH_MM  # beyond the stopper
    assert space.volume_mm3 / 1e3 == pytest.approx(coupon.volume_cm3 - barb, rel=0.02)


def test_a_port_of_its_own_is_kept() -> None:
    wide = dataclasses.replace(HIGH, inlet_bore_mm=3.0)
    thread = Fittings(port="thread", mount="plain", thread="M5", serial="G7")
    assert not thread.problems(wide)
    coupon = leak_coupon(wide, thread)
    assert coupon.fittings.port == "thread"
    assert coupon.fittings.serial == ""


def test_the_solid_is_closed() -> None:
    coupon = leak_coupon(HIGH, default_fittings(HIGH))
    solid = finger_solid(coupon.parameters, coupon.fittings, "leak coupon")
    assert solid.volume_mm3 == pytest.approx(solid.expected_volume_mm3, rel=1e-3)
    assert not list(surface_problems(solid.part("side")))


def test_no_inlet_no_coupon() -> None:
    with pytest.raises(ParameterError, match="cannot be tested"):
        leak_coupon(dataclasses.replace(FINGER, inlet_bore_mm=0.0), Fittings())
    with pytest.raises(ParameterError, match="cannot be tested"):
        leak_coupon(FINGER, Fittings(port="none"))


def test_no_finger_no_coupon() -> None:
    with pytest.raises(ParameterError):
        leak_coupon(dataclasses.replace(FINGER, wall_thickness_mm=-1.0), Fittings())

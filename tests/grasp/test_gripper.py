"""Where fingers stand, what they leave free, and what is advised."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from fiddlehead.errors import ParameterError
from fiddlehead.fabricate.base import BaseParameters, base_layout
from fiddlehead.fabricate.fittings import default_fittings
from fiddlehead.finger.pad.parameters import PadParameters
from fiddlehead.grasp.choice import Size, advise
from fiddlehead.grasp.gripper import CLEARANCE_MM, Gripper, even_directions
from tests.trials.made import SMALL

FINGER = dataclasses.replace(SMALL, inlet_bore_mm=3.0)


def gripper(fingers: int = 3, pitch: float = 40.0, splay: float = 0.0, **more: object) -> Gripper:
    return Gripper(
        finger=dataclasses.replace(FINGER, **more),
        directions_deg=even_directions(fingers),
        pitch_radius_mm=pitch,
        splay_deg=splay,
    )


@pytest.mark.parametrize("fingers", [2, 3, 6])
@pytest.mark.parametrize("splay", [0.0, 12.0])
def test_fingers_stand_where_the_base_has_its_slots(fingers: int, splay: float) -> None:
    base = BaseParameters(fingers=fingers, pitch_radius_mm=45.0, splay_deg=splay)
    layout = base_layout(base, FINGER, default_fittings(FINGER))
    used = np.degrees(base.angles_rad()[list(base.used)])
    found = Gripper(
        finger=FINGER, directions_deg=tuple(used), pitch_radius_mm=45.0, splay_deg=splay
    )
    for number, slot in enumerate(base.used):
        np.testing.assert_allclose(found.place(number), layout.place(slot), atol=1e-12)


def test_splay_opens_the_tips() -> None:
    leaning = gripper(splay=10.0)
    length = FINGER.length_mm
    assert leaning.opening_mm() == pytest.approx(2 * (40 + length * math.sin(math.radians(10))))
    assert leaning.tip_depth_mm() == pytest.approx(length * math.cos(math.radians(10)))
    tip = leaning.place(0) @ np.array([length, 0.0, 0.0, 1.0])
    assert np.hypot(*tip[:2]) == pytest.approx(leaning.opening_mm() / 2)


def test_a_pad_takes_room() -> None:
    padded = gripper(pad=PadParameters(cells="solid", cell_depth_mm=5.2))
    assert padded.inner_radius_mm(FINGER.root_length_mm - 1.0)[0] == pytest.approx(40.0)
    assert padded.opening_mm() == pytest.approx(80.0 - 2 * padded.finger.pad_depth_mm)
    assert padded.finger.pad_depth_mm > 5.0


@pytest.mark.parametrize("fingers", [3, 4, 5, 6])
def test_neighbours_meet_where_the_drawing_says(fingers: int) -> None:
    """Corners of two fingers at the closest radius, measured in the plane across the axis."""
    one = gripper(fingers)
    turn, half = 2 * math.pi / fingers, FINGER.width_mm / 2
    radius = one.closest_radius_mm()
    corner = np.array([radius, half])
    other = np.array([radius, -half])
    rotated = [
        [math.cos(turn), -math.sin(turn)],
        [math.sin(turn), math.cos(turn)],
    ] @ other
    assert np.linalg.norm(corner - rotated) == pytest.approx(CLEARANCE_MM)
    assert one.even


def test_wrong_grippers_are_told() -> None:
    with pytest.raises(ParameterError, match="two to six"):
        gripper(7).validate()
    with pytest.raises(ParameterError, match="cannot lean"):
        gripper(splay=-1.0).validate()
    with pytest.raises(ParameterError, match="run into each other at rest"):
        gripper(6, pitch=15.0).validate()
    assert gripper(2, pitch=8.0).validate().closest_radius_mm() == 0.0


def test_advice_follows_the_objects() -> None:
    ball = Size(name="ball", length_mm=60, width_mm=60, height_mm=60)
    bar = Size(name="bar", length_mm=150, width_mm=40, height_mm=40)
    plate = Size(name="plate", length_mm=90, width_mm=60, height_mm=10)
    small = Size(name="bead", length_mm=12, width_mm=12, height_mm=12)
    assert advise(FINGER, [ball]).fingers == 3
    assert advise(FINGER, [bar]).fingers == 2
    assert advise(FINGER, [plate]).fingers == 4
    assert advise(FINGER, [small]).fingers == 2
    assert advise(FINGER, [ball]).pitch_radius_mm == pytest.approx(35.0)
    assert "common practice" in advise(FINGER, [ball]).standing

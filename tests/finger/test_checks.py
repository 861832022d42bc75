"""Design warnings: silent on a wise finger, plain about each unwise choice."""

from __future__ import annotations

import dataclasses
from typing import Any

import pytest
from hypothesis import given, settings

from fiddlehead.errors import ParameterError
from fiddlehead.finger.checks import design_warnings
from fiddlehead.finger.pad.parameters import PadParameters
from fiddlehead.finger.parameters import CONTINUOUS, FingerParameters
from fiddlehead.finger.print_settings import PrintSettings
from fiddlehead.finger.walls import printed_walls
from tests.finger.cases import ZIG_ZAG, fingers

SIDE, UPRIGHT, BASE_DOWN = "side", "upright", "base_down"


def test_a_wise_finger_on_its_side_has_no_warnings() -> None:
    assert design_warnings(ZIG_ZAG) == []


# name: (orientation, change, field, words of the message)
UNWISE: dict[str, tuple[str, dict[str, Any], str, str]] = {
    "2.3 lines": (SIDE, {"roof_thickness_mm": 0.92}, "roof_thickness_mm", "whole number of lines"),
    "half a layer": (
        SIDE,
        {"side_wall_thickness_mm": 1.3, "channel_width_mm": 10},
        "side_wall_thickness_mm",
        "whole number of layers",
    ),
    "two lines": (SIDE, {"wall_thickness_mm": 0.8}, "wall_thickness_mm", "fewer than 3 lines"),
    "thin floor": (
        SIDE,
        {"side_wall_thickness_mm": 0.6},
        "side_wall_thickness_mm",
        "fewer than 4 layers",
    ),
    "welded": (SIDE, {"valley_gap_mm": 0.7}, "valley_gap_mm", "weld"),
    "interpenetrating": (SIDE, {"pitch_mm": 8}, "pitch_mm", "interpenetrate"),
    "slot": (
        SIDE,
        {"flank_angle_deg": 90, "pitch_mm": 4.3},
        "pitch_mm",
        "slots that may close",
    ),
    "low channel": (SIDE, {"valley_height_mm": 5.0}, "valley_height_mm", "may close up"),
    "narrow channel": (SIDE, {"channel_width_mm": 1.5}, "channel_width_mm", "may close up"),
    "small inlet": (SIDE, {"inlet_bore_mm": 1.0}, "inlet_bore_mm", "may close up"),
    "flank upright": (UPRIGHT, {}, "flank_angle_deg", "do not support themselves"),
    "flank base down": (
        BASE_DOWN,
        {"flank_angle_deg": 40},
        "flank_angle_deg",
        "do not support themselves",
    ),
    "bridge over open channel": (SIDE, {"channel_width_mm": 17.6}, "channel_width_mm", "bridge"),
    "bridge over chamber": (SIDE, {"pitch_mm": 12}, "pitch_mm", "bridge"),
    "bridge over web": (SIDE, {"valley_height_mm": 12.5}, "valley_height_mm", "bridge"),
    "bridge of valleys": (BASE_DOWN, {}, "channel_width_mm", "bridge"),
    "bridge of roofs": (
        BASE_DOWN,
        {"flank_angle_deg": 90, "pitch_mm": 14},
        "pitch_mm",
        "bridge",
    ),
    "bridge at the end": (UPRIGHT, {}, "valley_height_mm", "bridge"),
    "thin base": (SIDE, {"base_thickness_mm": 1.6}, "base_thickness_mm", "bows"),
    "thick base": (SIDE, {"base_thickness_mm": 3.2}, "base_thickness_mm", "hardly bends"),
    "ballooning": (SIDE, {"side_wall_thickness_mm": 1.0}, "side_wall_thickness_mm", "bulge"),
    "thin root": (SIDE, {"inlet_bore_mm": 15.0}, "inlet_bore_mm", "around the inlet"),
    "long finger": (SIDE, {"bellows_count": 11}, "pitch_mm", "unusual length"),
    "slender finger": (SIDE, {"bellows_count": 10}, "height_mm", "sags and twists"),
    "slender upright": (UPRIGHT, {"bellows_count": 10}, "height_mm", "sways"),
}


@pytest.mark.parametrize("name", UNWISE)
def test_each_unwise_choice_is_told(name: str) -> None:
    orientation, change, field, words = UNWISE[name]
    finger = dataclasses.replace(ZIG_ZAG, **change)
    printing = PrintSettings(build_orientation=orientation)  # type: ignore[arg-type]
    told = [
        warning
        for warning in design_warnings(finger, printing)
        if warning.field == f"finger.{field}" and words in warning.message
    ]
    assert len(told) == 1
    assert told[0].advice
    assert told[0].standing in str(told[0])


def test_lines_and_layers_that_do_not_suit_the_nozzle() -> None:
    printing = PrintSettings(nozzle_diameter_mm=0.8, line_width_mm=0.4, layer_height_mm=0.7)
    fields = {w.field for w in design_warnings(ZIG_ZAG, printing)}
    assert "print.line_width_mm" in fields
    assert "print.layer_height_mm" in fields


@pytest.mark.parametrize("lines", [2.94, 3.0, 3.06])
def test_a_wall_may_miss_by_a_twentieth_of_a_line(lines: float) -> None:
    finger = dataclasses.replace(ZIG_ZAG, roof_thickness_mm=0.4 * lines)
    fields = [w.field for w in design_warnings(finger) if "whole number" in w.message]
    assert ("finger.roof_thickness_mm" in fields) == (abs(lines - 3) > 0.05)


def test_the_advised_thickness_is_accepted() -> None:
    printing = PrintSettings(build_orientation="base_down")
    flank = next(w for w in printed_walls(ZIG_ZAG, printing) if w.field == "wall_thickness_mm")
    assert flank.printed_mm == pytest.approx(1.2 / 0.75**0.5)
    finger = dataclasses.replace(ZIG_ZAG, wall_thickness_mm=3 * flank.scale)
    messages = [w.message for w in design_warnings(finger, printing)]
    assert not any("the flank is not a whole" in message for message in messages)


@given(fingers())
@settings(deadline=None)
def test_every_warning_names_a_parameter_and_its_standing(finger: FingerParameters) -> None:
    known = {f"finger.{name}" for name in CONTINUOUS} | {"finger.bellows_count"}
    known |= {f"pad.{field.name}" for field in dataclasses.fields(PadParameters)}
    for orientation in (SIDE, UPRIGHT, BASE_DOWN):
        for warning in design_warnings(finger, PrintSettings(build_orientation=orientation)):  # type: ignore[arg-type]
            assert warning.field in known
            assert warning.standing
            assert warning.found


@pytest.mark.parametrize(
    "change",
    [
        {"line_width_mm": 0},
        {"layer_height_mm": -0.2},
        {"nozzle_diameter_mm": float("nan")},
        {"longest_bridge_mm": "8"},
        {"build_orientation": "diagonal"},
    ],
)
def test_impossible_print_settings_are_refused(change: dict[str, Any]) -> None:
    with pytest.raises(ParameterError, match=next(iter(change))):
        PrintSettings(**change)

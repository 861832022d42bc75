"""Parameters: what follows from them, and every contradiction refused with its reason."""

from __future__ import annotations

import dataclasses
import math

import pytest
from hypothesis import given, settings

from fiddlehead.errors import ParameterError
from fiddlehead.finger.parameters import CONTINUOUS, FingerParameters
from tests.finger.cases import THREE_CHAMBERS, ZIG_ZAG, fingers


def test_lengths_of_the_box_finger() -> None:
    finger = THREE_CHAMBERS
    assert finger.length_mm == pytest.approx(30, abs=1e-12)
    assert finger.inner_land_mm == pytest.approx(4, abs=1e-12)
    assert finger.chamber_width_mm == 10
    assert finger.channel_height_mm == 2
    assert finger.narrow_channel
    assert finger.inlet_height_mm == 6.5


def test_a_channel_as_wide_as_the_chambers_survives_rounding() -> None:
    wide = dataclasses.replace(ZIG_ZAG, width_mm=20.3, channel_width_mm=17.9)
    assert wide.channel_width_mm != wide.chamber_width_mm
    assert not wide.narrow_channel
    assert not wide.problems()


@given(fingers())
@settings(deadline=None)
def test_fingers_of_the_family_are_accepted(finger: FingerParameters) -> None:
    assert finger.validate() is finger


CONTRADICTIONS = {
    "zero bellows": ({"bellows_count": 0}, "bellows_count", "whole number of bellows"),
    "half a bellows": ({"bellows_count": 2.5}, "bellows_count", "whole number of bellows"),
    "bellows true": ({"bellows_count": True}, "bellows_count", "whole number of bellows"),
    "negative size": ({"pitch_mm": -3.0}, "pitch_mm", "no such size"),
    "zero wall": ({"wall_thickness_mm": 0}, "wall_thickness_mm", "no such size"),
    "not finite": ({"height_mm": math.nan}, "height_mm", "finite"),
    "infinite": ({"width_mm": math.inf}, "width_mm", "finite"),
    "text": ({"width_mm": "20"}, "width_mm", "not a number"),
    "nothing": ({"width_mm": None}, "width_mm", "not a number"),
    "flank too flat": ({"flank_angle_deg": 10}, "flank_angle_deg", "leans too far"),
    "re-entrant flank": ({"flank_angle_deg": 95}, "flank_angle_deg", "leans too far"),
    "wall thicker than the chamber": ({"wall_thickness_mm": 1.6}, "wall_thickness_mm", "thicker"),
    "bellows interpenetrate": ({"pitch_mm": 8.0}, "pitch_mm", "interpenetrate"),
    "no gap": ({"valley_gap_mm": 0}, "valley_gap_mm", "no such size"),
    "roof folds": (
        {"roof_thickness_mm": 3.0, "base_thickness_mm": 1.5, "valley_gap_mm": 0.5},
        "valley_gap_mm",
        "folds over itself",
    ),
    "no bellows stand out": ({"height_mm": 11.5}, "height_mm", "no bellows stand out"),
    "peaks within a roof": ({"height_mm": 12.8}, "height_mm", "no bellows stand out"),
    "valley above peaks": ({"valley_height_mm": 20}, "height_mm", "no bellows stand out"),
    "channel without height": ({"base_thickness_mm": 10.2}, "valley_height_mm", "no height"),
    "side walls meet": ({"side_wall_thickness_mm": 10}, "side_wall_thickness_mm", "no cavity"),
    "channel wider than chamber": ({"channel_width_mm": 18}, "channel_width_mm", "wider"),
    "channel too narrow": ({"channel_width_mm": 0.1}, "channel_width_mm", "too narrow"),
    "sliver beside the channel": ({"channel_width_mm": 17.4}, "channel_width_mm", "webs"),
    "inlet beyond the root": ({"inlet_bore_mm": 18}, "inlet_bore_mm", "root section"),
    "inlet beyond the cavity": ({"inlet_bore_mm": 15}, "inlet_bore_mm", "first cavity"),
    "cavity through the tip": (
        {"roof_thickness_mm": 2.6, "tip_length_mm": 0.2, "valley_gap_mm": 2, "pitch_mm": 12},
        "tip_length_mm",
        "through the tip",
    ),
}


@pytest.mark.parametrize("name", CONTRADICTIONS)
def test_contradictions_are_told(name: str) -> None:
    change, field, reason = CONTRADICTIONS[name]
    finger = dataclasses.replace(ZIG_ZAG, **change)
    told = [p for p in finger.problems() if p.where == f"finger.{field}" and reason in p.message]
    assert len(told) == 1, finger.problems()
    assert told[0].allowed
    assert told[0].found
    assert told[0].remedy
    with pytest.raises(ParameterError, match="finger"):
        finger.validate()


def test_all_problems_are_told_at_once() -> None:
    finger = dataclasses.replace(
        ZIG_ZAG, pitch_mm=8, channel_width_mm=19, base_thickness_mm=11, inlet_bore_mm=30
    )
    fields = {problem.where for problem in finger.problems()}
    assert fields == {
        "finger.pitch_mm",
        "finger.channel_width_mm",
        "finger.valley_height_mm",
        "finger.inlet_bore_mm",
    }
    with pytest.raises(ParameterError) as caught:
        finger.validate()
    assert all(field in str(caught.value) for field in fields)


@pytest.mark.parametrize(
    "name",
    [
        "bellows interpenetrate",
        "roof folds",
        "no bellows stand out",
        "peaks within a roof",
        "channel without height",
        "side walls meet",
        "channel wider than chamber",
        "channel too narrow",
        "inlet beyond the cavity",
        "cavity through the tip",
    ],
)
def test_the_advised_size_is_enough(name: str) -> None:
    change, field, reason = CONTRADICTIONS[name]
    refused = dataclasses.replace(ZIG_ZAG, **change)
    problem = next(p for p in refused.problems() if reason in p.message)
    mended = dataclasses.replace(refused, **{field: float(problem.allowed.split()[0])})
    assert not any(reason in p.message for p in mended.problems())
    assert not any(p.where == f"finger.{field}" for p in mended.problems())


def test_the_design_vector_holds_every_continuous_parameter() -> None:
    sizes = ZIG_ZAG.sizes()
    assert tuple(sizes) == CONTINUOUS
    assert FingerParameters(bellows_count=7, **sizes) == ZIG_ZAG

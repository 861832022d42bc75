"""Fingers the tests of several rooms share."""

from __future__ import annotations

import dataclasses
import math

from hypothesis import assume
from hypothesis import strategies as st

from fiddlehead.finger.pad.parameters import PadParameters
from fiddlehead.finger.parameters import FingerParameters

THREE_CHAMBERS = FingerParameters(
    bellows_count=3,
    flank_angle_deg=90,
    pitch_mm=8,
    valley_gap_mm=2,
    height_mm=12,
    valley_height_mm=5,
    wall_thickness_mm=1,
    roof_thickness_mm=1,
    base_thickness_mm=2,
    side_wall_thickness_mm=1,
    width_mm=12,
    channel_width_mm=4,
    root_length_mm=5,
    tip_length_mm=4,
)
"""Straight-sided finger made of boxes on a 1 mm grid, so every volume can be counted by hand."""

ZIG_ZAG = FingerParameters(
    bellows_count=7,
    flank_angle_deg=60,
    pitch_mm=10.5,
    valley_gap_mm=1.2,
    height_mm=18,
    valley_height_mm=11.5,
    wall_thickness_mm=1.2,
    roof_thickness_mm=1.2,
    base_thickness_mm=2.4,
    side_wall_thickness_mm=1.2,
    width_mm=20,
    channel_width_mm=10,
    root_length_mm=9,
    tip_length_mm=8,
    inlet_bore_mm=4,
)
"""A finger as one would print it, on its side with 0.4 mm lines."""


PADS = {
    "plain": PadParameters(cells="solid", cell_depth_mm=3.2),
    "ribs": PadParameters(rib_count=8),
    "ribs leaning to the root": PadParameters(rib_count=6, rib_angle_deg=120, cells="solid"),
    "re-entrant": PadParameters(cells="re-entrant", cell_count=10, cell_depth_mm=7),
    "re-entrant, two rows": PadParameters(
        cells="re-entrant", cell_count=14, cell_rows=2, cell_depth_mm=11
    ),
    "hexagonal": PadParameters(cells="hexagonal", cell_count=9, cell_angle_deg=30, cell_depth_mm=7),
    "rotating squares": PadParameters(
        cells="rotating squares", cell_count=9, cell_angle_deg=50, cell_depth_mm=7
    ),
    "ribs and cells": PadParameters(
        rib_count=7, rib_angle_deg=50, cells="re-entrant", cell_count=10, cell_depth_mm=6.5
    ),
}
"""One pad of every kind, for ``ZIG_ZAG``."""


@st.composite
def pads(draw: st.DrawFn, span_mm: float) -> PadParameters:
    """Valid pads of every kind for a finger with this length between root block and tip."""

    def size(low: float, high: float) -> float:
        return draw(st.floats(low, high))

    strut, wall = size(0.4, 1.2), size(0.4, 1.5)
    kind = draw(st.sampled_from(["none", "solid", "hexagonal", "re-entrant", "rotating squares"]))
    count = draw(st.integers(1, max(1, int((span_mm - 2 * wall) / 8))))
    rows = draw(st.integers(1, 2))
    half = (span_mm - wall) / (2 * count)
    rise = half * math.tan(math.radians(25)) / 2
    least = {"re-entrant": rise + 2.5, "hexagonal": rise + 2.5, "rotating squares": 4.0}
    pad = PadParameters(
        rib_count=draw(st.integers(0 if kind != "none" else 1, max(1, int(span_mm / 9)))),
        rib_angle_deg=size(55, 125),
        rib_thickness_mm=size(0.6, 1.2),
        rib_depth_mm=size(2.0, 4.0),
        cells=kind,
        cell_count=2 * count if kind == "rotating squares" else count,
        cell_rows=rows,
        cell_angle_deg=size(40, 80) if kind == "rotating squares" else size(10, 25),
        cell_depth_mm=2 * rows * least.get(kind, 1.0) + size(0.0, 4.0),
        strut_thickness_mm=strut,
        skin_thickness_mm=size(0.6, 1.6),
        end_wall_thickness_mm=wall,
    )
    return pad


@st.composite
def fingers(draw: st.DrawFn) -> FingerParameters:
    """Valid fingers of the whole family: any flank, with and without narrow channel and pad."""

    def size(low: float, high: float) -> float:
        return draw(st.floats(low, high))

    angle = draw(st.one_of(st.just(90.0), st.floats(45, 90)))
    wall, roof, base, side = size(0.8, 2.0), size(0.8, 1.6), size(1.0, 4.0), size(0.8, 2.0)
    gap, land, rise = size(0.6, 3.0), size(0.4, 5.0), size(2.0, 9.0)
    shift = (wall - roof * math.cos(math.radians(angle))) / math.sin(math.radians(angle))
    gap = max(gap, 0.5 - 2 * shift)
    valley = base + roof + size(1.0, 6.0)
    chamber = size(5.0, 20.0)
    land = max(land, 0.3 - 2 * shift)
    bare = FingerParameters(
        bellows_count=draw(st.integers(1, 4)),
        flank_angle_deg=angle,
        pitch_mm=land + 2 * shift + 2 * rise / math.tan(math.radians(angle)) + gap,
        valley_gap_mm=gap,
        height_mm=valley + rise,
        valley_height_mm=valley,
        wall_thickness_mm=wall,
        roof_thickness_mm=roof,
        base_thickness_mm=base,
        side_wall_thickness_mm=side,
        width_mm=chamber + 2 * side,
        channel_width_mm=draw(st.one_of(st.just(chamber), st.floats(1.0, chamber - 1.0))),
        root_length_mm=size(2.0, 15.0),
        tip_length_mm=size(1.0, 10.0) + max(-shift, 0.0),
        inlet_bore_mm=draw(st.one_of(st.just(0.0), st.floats(0.5, 3.0))),
    )
    span = bare.length_mm - bare.root_length_mm
    padded = dataclasses.replace(bare, pad=draw(st.one_of(st.none(), pads(span))))
    assume(not padded.problems())
    return padded

"""The profile: offsets, closure, and what stands where."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings

from fiddlehead.errors import ParameterError
from fiddlehead.finger.outline import outline
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.finger.profile import profile_layout
from fiddlehead.finger.stations import Line, inner_stations, outer_stations
from tests.finger.cases import PADS, THREE_CHAMBERS, ZIG_ZAG, fingers


def area(polygon: np.ndarray) -> float:
    x, y = polygon.T
    return float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y) / 2)


@given(fingers())
@settings(deadline=None)
def test_regions_are_convex_and_fill_the_outline(finger: FingerParameters) -> None:
    drawing = outline(finger)
    for name, quad in drawing.regions:
        sides = np.roll(quad, -1, axis=0) - quad
        turns = np.cross(
            np.pad(sides, ((0, 0), (0, 1))), np.pad(np.roll(sides, -1, axis=0), ((0, 0), (0, 1)))
        )
        assert np.all(turns[:, 2] > 0), name
    whole = area(drawing.outer) - sum(area(opening) for opening in drawing.voids)
    assert sum(area(quad) for _, quad in drawing.regions) == pytest.approx(whole, rel=1e-12)
    void = sum(area(quad) for name, quad in drawing.regions if name.startswith("cha"))
    assert area(drawing.cavity) == pytest.approx(void, rel=1e-12)


@given(fingers())
@settings(deadline=None)
def test_walls_have_their_thickness_everywhere(finger: FingerParameters) -> None:
    layout = profile_layout(finger)
    vertices = layout.vertices(finger)
    for region in layout.regions:
        a, b, c, d = vertices[list(region.corners)]
        if region.edges == ("wall", "flank"):
            for along in (c - b, d - a):
                along /= np.linalg.norm(along)
                across = b - a
                thickness = abs(along[0] * across[1] - along[1] * across[0])
                assert thickness == pytest.approx(finger.wall_thickness_mm, rel=1e-9)
                slope = np.degrees(np.arctan2(abs(along[1]), abs(along[0])))
                assert slope == pytest.approx(finger.flank_angle_deg, abs=1e-6)
        if region.name.startswith(("roof", "valley", "foot")):
            assert d[1] - a[1] == pytest.approx(finger.roof_thickness_mm, rel=1e-9)


@given(fingers())
@settings(deadline=None)
def test_pitch_gap_and_length_are_as_asked(finger: FingerParameters) -> None:
    layout = profile_layout(finger)
    vertices = layout.vertices(finger)
    bellows = range(finger.bellows_count)

    def x(line: Line, station: int) -> float:
        return float(vertices[layout.vertex(line, station)][0])

    distal = np.array([x("outer valley", outer_stations(i)[1]) for i in bellows])
    proximal = np.array([x("outer valley", outer_stations(i)[0]) for i in bellows[1:]])
    np.testing.assert_allclose(np.diff(distal), finger.pitch_mm, rtol=1e-12)
    np.testing.assert_allclose(proximal - distal[:-1], finger.valley_gap_mm, rtol=1e-9)
    tip = x("base", layout.last_station)
    assert tip == pytest.approx(finger.length_mm)
    assert tip - distal[-1] == pytest.approx(finger.tip_length_mm)
    edges = [[x("inner peak", k) for k in inner_stations(i)] for i in bellows]
    lands = np.diff(edges)[:, 0]
    np.testing.assert_allclose(lands, finger.inner_land_mm, rtol=1e-9)


@given(fingers())
@settings(deadline=None)
def test_regions_are_parallelograms_but_in_leaning_corners(finger: FingerParameters) -> None:
    """Flanks always; everything in a straight-sided finger; else all but corners and chambers,
    as long as the flanks are thick enough for corner blocks cut square."""
    layout = profile_layout(finger)
    d = finger.dimensions
    level = finger.wall_thickness_mm / np.sin(np.radians(finger.flank_angle_deg))
    thick = d.miter_shift >= level / 4
    for region in layout.regions:
        under = region.edges[1] in ("base", "strut", "column", "skin")
        if under and layout.pad is not None and not layout.pad.plain:
            continue  # the pad, and the base layer over it
        a, b, c, e = layout.vertices(finger)[list(region.corners)]
        corner = region.edges == ("wall", "wall")
        chamber = region.void == "chamber"
        if finger.flank_angle_deg == 90 or (not corner and not chamber and thick):
            np.testing.assert_allclose(a + c, b + e, atol=1e-9, err_msg=region.name)
        elif region.edges == ("wall", "flank"):
            np.testing.assert_allclose(a + c, b + e, atol=1e-9)


def test_a_thin_leaning_flank_keeps_a_corner_block() -> None:
    """With a roof so thick that inner and outer corner stand above each other or cross."""
    for wall in (0.4, 0.6, 0.7):
        finger = dataclasses.replace(ZIG_ZAG, wall_thickness_mm=wall, valley_gap_mm=2.0)
        assert finger.dimensions.miter_shift < finger.wall_thickness_mm / 4
        layout = profile_layout(finger.validate())
        vertices = layout.vertices(finger)
        shortest = min(
            np.linalg.norm(np.roll(quad, -1, axis=0) - quad, axis=1).min()
            for quad in (vertices[list(r.corners)] for r in layout.regions)
        )
        assert shortest > wall / 5


def test_the_box_finger_is_where_it_should_be() -> None:
    drawing = outline(THREE_CHAMBERS)
    cavity = [(5, 2), (25, 2), (25, 4), (25, 11), (21, 11), (21, 4), (17, 4), (17, 11)]
    cavity += [(13, 11), (13, 4), (9, 4), (9, 11), (5, 11)]
    np.testing.assert_allclose(drawing.cavity, cavity, atol=1e-12)
    outer = [(0, 0), (30, 0), (30, 5), (26, 5), (26, 12), (20, 12), (20, 5), (18, 5), (18, 12)]
    outer += [(12, 12), (12, 5), (10, 5), (10, 12), (0, 12)]
    np.testing.assert_allclose(drawing.outer, outer, atol=1e-12)
    assert drawing.inlet is None


def test_pad_and_inlet_are_drawn() -> None:
    drawing = outline(dataclasses.replace(ZIG_ZAG, pad=PADS["plain"]))
    assert drawing.outer[:, 1].min() == -4
    assert drawing.voids == ()
    assert drawing.inlet is not None
    np.testing.assert_allclose(drawing.inlet[:, 1], [7.6, 7.6, 11.6, 11.6])


def test_an_impossible_finger_is_not_drawn() -> None:
    with pytest.raises(ParameterError):
        outline(dataclasses.replace(ZIG_ZAG, pitch_mm=3))


def test_places_across_the_width_have_names() -> None:
    layout = profile_layout(ZIG_ZAG)
    channel = next(r for r in layout.regions if r.void == "channel")
    assert [layout.name(channel, k) for k in range(3)] == [
        "channel between bellows 1 and 2",
        "web between bellows 1 and 2",
        "side wall between bellows 1 and 2",
    ]
    chamber = next(r for r in layout.regions if r.void == "chamber")
    assert [layout.name(chamber, k) for k in range(3)] == [
        "chamber of bellows 1",
        "chamber of bellows 1",
        "side wall of bellows 1",
    ]


def test_equal_layouts_are_one_object() -> None:
    longer = dataclasses.replace(ZIG_ZAG, root_length_mm=12)
    assert profile_layout(longer) is profile_layout(ZIG_ZAG)
    padded = dataclasses.replace(ZIG_ZAG, pad=PADS["ribs"])
    assert profile_layout(padded) is not profile_layout(ZIG_ZAG)

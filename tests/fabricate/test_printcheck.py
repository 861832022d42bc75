"""The layer check: labelled shapes, the demo finger, layers against volumes, and bad input."""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import box

from fiddlehead.errors import FiddleheadError, InputError, ParameterError
from fiddlehead.fabricate.filament import filament_length_mm, line_spacing_mm, stadium_area_mm2
from fiddlehead.fabricate.fittings import default_fittings
from fiddlehead.fabricate.layers import sliced
from fiddlehead.fabricate.motion import path_time, straight_time
from fiddlehead.fabricate.printcheck import compare_orientations, print_check
from fiddlehead.fabricate.process import Process, process
from fiddlehead.fabricate.solid import finger_solid
from fiddlehead.finger.volumes import cavity_volume_mm3, inlet_volume_mm3
from fiddlehead.project.load import load_project
from tests.fabricate.labelled import CASES, PROCESS, checked
from tests.fabricate.made import box as box_part
from tests.fabricate.made import icosphere, part_of, solid_of
from tests.fabricate.turned import score
from tests.finger.cases import ZIG_ZAG

DEMO = Path(__file__).resolve().parents[2] / "examples/greenware"
SCORED_APART = {"seam on pressure wall"}
"""Advice for the slicing, not a trouble of the shape."""


def test_every_labelled_trouble_is_found_and_little_else() -> None:
    """Precision and recall over (shape, kind) pairs.

    One find beyond the labels is true of the shape all the same: a ridge runs through every
    fraction of a line.
    """
    hits = extra = missed = 0
    told = []
    for name, case in CASES.items():
        found = {str(kind) for kind in checked(name).kinds} - SCORED_APART
        hits += len(found & case.troubles)
        extra += len(found - case.troubles)
        missed += len(case.troubles - found)
        if found != case.troubles:
            told.append(f"{name}: found {sorted(found)}, labelled {sorted(case.troubles)}")
    assert len(CASES) >= 30
    assert missed == 0, told
    assert hits / (hits + extra) >= 0.95, told
    assert hits >= 25


@pytest.mark.slow
def test_labels_hold_for_random_sizes_turned_any_way() -> None:
    found = score(22, seed=20261125)
    assert found.missed == 0, found.told
    assert found.extra == 0, found.told
    assert found.hits >= 5


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("wall of 2.3 lines", "partial line"),
        ("bridge of 12 mm", "long bridge"),
        ("wall leaning 60°", "overhang"),
        ("hanging block", "island"),
        ("chamber without inlet", "sealed pocket"),
    ],
)
def test_known_bad_parts(name: str, kind: str) -> None:
    check = checked(name)
    assert kind in check.kinds
    assert check.verdict.startswith("not yet") or kind == "partial line"


def test_known_good_parts_pass() -> None:
    for name in ("good chamber", "solid cube", "wall of 3 lines", "bridge of 6 mm"):
        check = checked(name)
        assert check.faults == ()
        assert check.verdict.startswith("printable")


def test_measures_are_right() -> None:
    bridge = checked("bridge of 12 mm")
    assert bridge.longest_bridge_mm == pytest.approx(12.0, abs=0.05)
    (finding,) = bridge.findings
    assert finding.worst_layer == 31  # the deck starts at 6 mm
    assert finding.place_mm[2] == pytest.approx(6.1)
    leaning = checked("wall leaning 60°").findings[0]
    assert "60" in leaning.worst
    chamber = checked("good chamber")
    assert chamber.fewest_lines == pytest.approx(3.0, abs=0.01)
    assert chamber.fewest_layers == 6
    (space,) = chamber.air.chambers
    assert space.volume_mm3 == pytest.approx(250.0 + math.pi * 11.0, rel=0.02)  # and its bore
    assert not space.sealed
    thin = checked("chamber with a roof of 2 layers")
    assert thin.fewest_layers == 2


def test_the_demo_finger_on_its_side_is_printable_and_tight() -> None:
    project = load_project(DEMO)
    solid = finger_solid(project.finger, project.fittings)
    check = print_check(solid.part("side"), project.process, solid.plug())
    assert check.faults == ()
    (space,) = check.air.chambers
    inside = cavity_volume_mm3(project.finger) + inlet_volume_mm3(project.finger)
    assert space.volume_mm3 == pytest.approx(inside, rel=0.02)
    assert check.fewest_lines == pytest.approx(3.0, abs=0.02)
    assert check.tightness().min() > 0.97


def test_a_serial_costs_the_demo_finger_no_fault() -> None:
    project = load_project(DEMO)
    engraved = dataclasses.replace(project.fittings, serial="A7")
    solid = finger_solid(project.finger, engraved)
    check = print_check(solid.part("side"), project.process, solid.plug())
    assert check.faults == ()


@pytest.mark.parametrize("orientation", ["side", "upright", "base_down"])
def test_layer_areas_integrate_to_the_volume(orientation: str) -> None:
    solid = finger_solid(ZIG_ZAG)
    fine = dataclasses.replace(PROCESS, layer_height_mm=0.1)
    layers = sliced(solid.part(orientation), fine)  # type: ignore[arg-type]
    assert layers.volume_mm3 == pytest.approx(solid.volume_mm3, rel=5e-3)


def test_layers_of_bodies_with_closed_forms() -> None:
    assert sliced(box_part((7, 8, 9)), PROCESS).volume_mm3 == pytest.approx(504.0, rel=1e-9)
    ball = icosphere(4)
    big = dataclasses.replace(ball, vertices=10 * ball.vertices)
    assert sliced(big, PROCESS).volume_mm3 == pytest.approx(big.volume_mm3, rel=5e-4)


def test_a_wall_thinner_in_the_finger_is_found_where_it_is() -> None:
    thin = dataclasses.replace(ZIG_ZAG, side_wall_thickness_mm=0.6, channel_width_mm=8.0)
    solid = finger_solid(thin, dataclasses.replace(default_fittings(thin), mount="plain"))
    check = print_check(solid.part("side"), PROCESS, solid.plug())
    assert "thin pressure roof" in check.kinds
    assert check.fewest_layers == 3


def test_orientations_are_compared_and_misfits_left_out() -> None:
    tower = box_part((100, 10, 12))
    small = dataclasses.replace(PROCESS, print_height_mm=50.0)
    assert set(compare_orientations(tower, small)) == {"side", "base_down"}
    with pytest.raises(ParameterError, match="larger than the printer"):
        compare_orientations(
            tower, dataclasses.replace(small, plate_width_mm=20.0, plate_depth_mm=20.0)
        )


# ------------------------------------------------------------------ motion and filament


def test_textbook_extrusion_values() -> None:
    """Stadium cross-section over the filament's: length per 100 mm of line."""
    assert stadium_area_mm2(0.4, 0.2) == pytest.approx(0.0714159, abs=1e-6)
    assert line_spacing_mm(0.4, 0.2) == pytest.approx(0.357080, abs=1e-6)
    for width, height, diameter, length in (
        (0.4, 0.2, 1.75, 2.969129),
        (0.45, 0.2, 1.75, 3.384881),
        (0.6, 0.3, 2.85, 2.518825),
    ):
        volume = stadium_area_mm2(width, height) * 100.0
        assert filament_length_mm(volume, diameter) == pytest.approx(length, abs=1e-6)
    assert filament_length_mm(0.4 * 0.2 * 100, 1.75) == pytest.approx(3.326014, abs=1e-6)
    assert filament_length_mm(1e4, 1.75) == pytest.approx(4157.517, abs=1e-3)
    with pytest.raises(ParameterError, match="wide"):
        stadium_area_mm2(0.2, 0.3)


def test_solid_block_takes_its_volume_in_filament_within_three_percent() -> None:
    flow_one = dataclasses.replace(PROCESS, flow=1.0)
    e = print_check(box_part((20, 15, 10)), flow_one).estimate
    assert e.volume_mm3 == pytest.approx(3000.0, rel=0.03)
    assert e.filament_mm == pytest.approx(filament_length_mm(e.volume_mm3, 1.75))
    assert e.mass_g == pytest.approx(e.volume_mm3 * PROCESS.density_g_per_cm3 / 1000)
    assert e.cost == pytest.approx(e.mass_g / 1000 * PROCESS.price_per_kg)


def test_straight_moves_follow_the_trapezoid() -> None:
    # 100 mm at 20 mm/s and 500 mm/s²: 5 s and one ramp; 0.2 mm never reaches the speed
    np.testing.assert_allclose(straight_time(np.array([100.0, 0.2]), 20.0, 500.0), [5.04, 0.04])
    line = np.array([[0.0, 0.0], [30.0, 0.0], [100.0, 0.0]])
    assert path_time(line, 20.0, 500.0, 5.0) == pytest.approx(5.04)


@settings(max_examples=30, deadline=None)
@given(st.lists(st.tuples(st.floats(-50, 50), st.floats(-50, 50)), min_size=2, max_size=12))
def test_corners_cost_time_but_less_than_stopping(points: list[tuple[float, float]]) -> None:
    path = np.array(points)
    length = np.linalg.norm(np.diff(path, axis=0), axis=1)
    length = length[length > 1e-6]
    if not len(length):
        return
    time = path_time(path, 20.0, 500.0, 5.0)
    assert time >= straight_time(np.array([length.sum()]), 20.0, 500.0)[0] - 1e-9
    assert time <= straight_time(length, 20.0, 500.0).sum() + 1e-9


def test_a_square_loop_slows_down_at_its_corners() -> None:
    square = np.array([[0, 0], [20, 0], [20, 20], [0, 20], [0, 0]], float)
    # between corners at 5 mm/s: ramps to 20 and back take 0.06 s over 0.75 mm
    edge = 2 * (20 - 5) / 500 + (20 - 2 * (20**2 - 5**2) / 1000) / 20
    ends = (20 - 5) / 500 * 0 + edge  # an edge between two corners
    first = 20 / 500 + 15 / 500 + (20 - 20**2 / 1000 - (20**2 - 5**2) / 1000) / 20
    assert path_time(square, 20.0, 500.0, 5.0) == pytest.approx(2 * ends + 2 * first, rel=1e-6)


# -------------------------------------------------------------------------- bad input


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("layer_height_mm", 0.0),
        ("line_width_mm", -0.4),
        ("line_width_mm", math.nan),
        ("steepest_overhang_deg", 90.0),
        ("flow", 0.0),
    ],
)
def test_impossible_settings_are_refused(field: str, value: float) -> None:
    with pytest.raises(ParameterError, match=field):
        Process(**{field: value})  # type: ignore[arg-type]


BAD: dict[str, tuple[object, Process, str]] = {
    "printer smaller than part": (
        box_part((300, 10, 10)),
        PROCESS,
        "larger than the printer",
    ),
    "too high": (box_part((10, 10, 300)), PROCESS, "larger than the printer"),
    "line wider than every wall": (box_part((30, 0.3, 5)), PROCESS, "wider than every wall"),
    "layer higher than part": (
        box_part((10, 10, 0.1)),
        PROCESS,
        "a layer is higher",
    ),
}


@pytest.mark.parametrize("case", BAD)
def test_what_cannot_be_printed_at_all_is_told(case: str) -> None:
    part, wanted, told = BAD[case]
    with pytest.raises(FiddleheadError, match=told) as caught:
        print_check(part, wanted)  # type: ignore[arg-type]
    assert "\n" not in str(caught.value)


def test_an_open_surface_cannot_be_sliced() -> None:
    good = box_part((10, 10, 10))
    with pytest.raises(InputError, match="bounds no solid"):
        sliced(dataclasses.replace(good, triangles=good.triangles[1:]), PROCESS)


def test_process_takes_the_projects_print_settings() -> None:
    project = load_project(DEMO)
    found = process(project.printing, flow=1.1)
    assert found.line_width_mm == project.printing.line_width_mm
    assert found.flow == 1.1
    assert project.process.density_g_per_cm3 == project.material.density_g_per_cm3


def test_equal_layers_are_one_object() -> None:
    layers = sliced(part_of(solid_of(box(0, 0, 5, 5), 0, 4)), PROCESS)
    assert len({id(section) for section in layers.sections}) == 1

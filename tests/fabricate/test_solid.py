"""The finger's solid: volumes by feature, soundness over the family, and what it refuses."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fiddlehead.errors import ParameterError
from fiddlehead.fabricate import kernel
from fiddlehead.fabricate.contour import filleted
from fiddlehead.fabricate.fittings import Dovetail, Fittings, default_fittings
from fiddlehead.fabricate.lettering import STROKES, lettering
from fiddlehead.fabricate.solid import finger_solid
from fiddlehead.fabricate.surface import bodies, surface_problems
from fiddlehead.finger.volumes import (
    cavity_volume_mm3,
    centroid_mm,
    inlet_volume_mm3,
    material_volume_mm3,
)
from fiddlehead.mesh.build import build_mesh
from fiddlehead.mesh.settings import mesh_settings
from tests.fabricate.survey import survey
from tests.finger.cases import THREE_CHAMBERS, ZIG_ZAG
from tests.mesh.test_build import volume as mesh_volume

BARE = Fittings(mount="plain", fillet_radius_mm=0.0)


def test_bare_finger_has_the_volume_and_centroid_of_the_profile() -> None:
    solid = finger_solid(ZIG_ZAG, BARE)
    expected = material_volume_mm3(ZIG_ZAG) - inlet_volume_mm3(ZIG_ZAG)
    assert solid.volume_mm3 == pytest.approx(expected, rel=1e-9)
    np.testing.assert_allclose(kernel.centroid(solid.shape), centroid_mm(ZIG_ZAG), atol=1e-6)


def test_solid_and_computing_mesh_agree_within_a_thousandth() -> None:
    """Fillets and inlet accounted for: what they add and take is known by formula."""
    solid = finger_solid(ZIG_ZAG)
    mesh = build_mesh(ZIG_ZAG, mesh_settings("preview"))
    accounted = sum(v for name, v in solid.ledger.items() if name != "profile")
    assert solid.volume_mm3 - accounted == pytest.approx(2 * mesh_volume(mesh), rel=1e-3)
    assert solid.part().volume_mm3 == pytest.approx(solid.volume_mm3, rel=1e-3)


def test_a_sealed_finger_encloses_its_cavity_as_a_second_shell() -> None:
    part = finger_solid(THREE_CHAMBERS, BARE).part()
    assert bodies(part) == 2
    hull = material_volume_mm3(THREE_CHAMBERS) + cavity_volume_mm3(THREE_CHAMBERS)
    assert hull - part.volume_mm3 == pytest.approx(cavity_volume_mm3(THREE_CHAMBERS), rel=1e-6)


@pytest.mark.slow
def test_two_hundred_random_fingers_are_sound() -> None:
    found = survey(200, analysed=20)
    assert found.problems == []
    assert found.designs == 200
    assert found.worst_solid < 1e-3
    assert found.worst_surface < 1e-3


FEATURES = {
    "barb": Fittings(port="barb", mount="plain", hose_bore_mm=6.0),
    "barb behind": Fittings(port="barb", mount="plain", hose_bore_mm=6.0, barb_on="root face"),
    "self-forming": Fittings(port="thread", thread="M6", thread_form="self-forming"),
    "thread": Fittings(port="thread", thread="M5"),
    "serial": Fittings(serial="GW-07"),
    "sharp": Fittings(fillet_radius_mm=0.0),
    "plain": Fittings(mount="plain"),
    "all": Fittings(port="thread", serial="A1/2B", fillet_radius_mm=0.8),
}


@pytest.mark.parametrize("name", FEATURES)
def test_every_feature_is_sound_and_has_its_expected_volume(name: str) -> None:
    solid = finger_solid(ZIG_ZAG, FEATURES[name])
    assert kernel.problems(solid.shape) == []
    assert solid.volume_mm3 == pytest.approx(solid.expected_volume_mm3, rel=1e-4)
    part = solid.part()
    assert surface_problems(part) == []
    assert part.volume_mm3 == pytest.approx(solid.volume_mm3, rel=1e-3)


@pytest.mark.parametrize("radius", [1.0, 3.0, 6.0])
def test_large_fillets_of_nested_cavities_are_counted_once(radius: float) -> None:
    """The channel's rounded corners meet the chambers'; areas of arcs as chords, to 1e-5."""
    solid = finger_solid(ZIG_ZAG, Fittings(mount="plain", fillet_radius_mm=radius))
    assert solid.volume_mm3 == pytest.approx(solid.expected_volume_mm3, rel=2e-5)


@given(radius=st.floats(0.05, 2.0), corner=st.floats(20.0, 160.0))
def test_fillet_area_is_that_of_plane_geometry(radius: float, corner: float) -> None:
    """A wedge of air with one corner: what the arc cuts off, against sampled arcs."""
    turn = math.pi - math.radians(corner)
    along = np.array([[math.cos(math.radians(corner)), math.sin(math.radians(corner))], [1, 0]])
    ring = np.array([[0.0, 0.0], 50 * along[1], 50 * along[0]])
    contour = filleted(ring, radius, solid_outside=True)
    expected = radius**2 * (math.tan(turn / 2) - turn / 2)
    others = contour.fillet_area - expected
    assert others >= -1e-9  # the two far corners of the triangle add their own
    arc = next(p for p in contour.pieces if p.middle is not None and np.hypot(*p.start) < 25)
    middle = np.array(arc.middle)
    centre = (
        radius
        / math.sin(math.radians(corner / 2))
        * np.array([math.cos(math.radians(corner / 2)), math.sin(math.radians(corner / 2))])
    )
    for point in (arc.start, middle, arc.end):
        assert np.hypot(*(point - centre)) == pytest.approx(radius, rel=1e-6)


def test_mass_follows_the_volume() -> None:
    solid = finger_solid(ZIG_ZAG, BARE)
    assert solid.mass_g(1.2) == pytest.approx(solid.volume_mm3 * 1.2e-3)


def test_orientation_goes_with_the_part() -> None:
    solid = finger_solid(ZIG_ZAG, BARE)
    size = {o: np.ptp(solid.part(o).on_plate().vertices, axis=0) for o in ("side", "upright")}
    assert size["side"][2] == pytest.approx(ZIG_ZAG.width_mm)
    assert size["upright"][2] == pytest.approx(ZIG_ZAG.length_mm)
    assert solid.part("base_down").on_plate().volume_mm3 == pytest.approx(solid.part().volume_mm3)


@pytest.mark.parametrize("letter", sorted(set(STROKES) - {" "}))
def test_every_letter_fits_its_room(letter: str) -> None:
    area = lettering(letter, width_mm=6.0, height_mm=8.0, stroke_mm=0.6)
    low_x, low_y, high_x, high_y = area.bounds
    assert area.area > 0
    assert high_x - low_x <= 6.3
    assert high_y - low_y <= 8.4


BAD: dict[str, Fittings] = {
    "barb where the rail slides": Fittings(port="barb", hose_bore_mm=6.0, barb_on="root face"),
    "no such place": Fittings(port="barb", barb_on="tip"),  # type: ignore[arg-type]
    "rail wider than the root": Fittings(dovetail=Dovetail(neck_width_mm=30.0)),
    "rail narrower than the inlet": Fittings(dovetail=Dovetail(neck_width_mm=4.0)),
    "barb wall too thin": Fittings(port="barb", mount="plain", hose_bore_mm=4.0),
    "no such thread": Fittings(port="thread", thread="M99"),
    "negative fillet": Fittings(fillet_radius_mm=-1.0),
    "not a number": Fittings(fillet_radius_mm=math.nan),
    "serial too long": Fittings(serial="A VERY LONG SERIAL NUMBER"),
    "unknown characters": Fittings(serial="Ω"),
}


@pytest.mark.parametrize("case", BAD)
def test_fittings_that_cannot_be_are_refused_with_a_remedy(case: str) -> None:
    with pytest.raises(ParameterError) as caught:
        finger_solid(ZIG_ZAG, BAD[case])
    assert caught.value.where.startswith("mount.")
    assert caught.value.allowed


def test_a_thread_needs_wall_around_it() -> None:
    small = dataclasses.replace(THREE_CHAMBERS, inlet_bore_mm=2.0)
    with pytest.raises(ParameterError, match="too little wall"):
        finger_solid(small, Fittings(port="thread", thread="G1/8", mount="plain"))


def test_a_serial_needs_a_root_block_to_stand_on() -> None:
    with pytest.raises(ParameterError, match="too short for a serial"):
        finger_solid(
            dataclasses.replace(ZIG_ZAG, root_length_mm=4.0), Fittings(serial="1", mount="plain")
        )


def test_a_port_without_inlet_is_refused() -> None:
    with pytest.raises(ParameterError, match="without an inlet"):
        finger_solid(THREE_CHAMBERS, Fittings(port="thread", mount="plain"))


@given(st.data())
@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
def test_default_fittings_suit_any_width(data: st.DataObject) -> None:
    width = data.draw(st.floats(12.0, 40.0))
    finger = dataclasses.replace(ZIG_ZAG, width_mm=width, channel_width_mm=width - 8.0)
    assert default_fittings(finger).problems(finger) == []

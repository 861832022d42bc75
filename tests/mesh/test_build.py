"""The mesh: conforming, closed, exact in volume, and named."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings

from fiddlehead.errors import ParameterError
from fiddlehead.finger.pad.parameters import PadParameters
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.finger.volumes import cavity_volume_mm3, material_volume_mm3
from fiddlehead.mechanics.element import EDGES, brick_functions, face_functions
from fiddlehead.mechanics.quadrature import gauss
from fiddlehead.mesh.build import build_mesh
from fiddlehead.mesh.quality import mesh_quality
from fiddlehead.mesh.records import Mesh
from fiddlehead.mesh.settings import PRESETS, MeshSettings, mesh_settings
from fiddlehead.mesh.template import FACE_OF_EDGE, FACE_SETS, LOWER_FACE, UPPER_FACE
from tests.finger.cases import PADS, THREE_CHAMBERS, ZIG_ZAG, fingers

UNEVEN = MeshSettings(
    columns_root=3, columns_land=1, columns_valley=2, columns_tip=4, rows_pad=2, rows_base=2,
    columns_pad=2, rows_skin=2, rows_strut=1,
    rows_channel=3, rows_flank=2, rows_wall=2, layers_channel=2, layers_chamber=1,
    layers_side_wall=2,
)  # fmt: skip
FACES = np.vstack([FACE_OF_EDGE, LOWER_FACE[None], UPPER_FACE[None]])


def volume(mesh: Mesh) -> float:
    rule = gauss(3, 3)
    _, slope = brick_functions(rule.points)
    jacobian = np.einsum("pni,enc->epic", slope, mesh.points[mesh.elements])
    return float(np.einsum("p,ep->", rule.weights, np.linalg.det(jacobian)))


def normals(mesh: Mesh, name: str) -> tuple[np.ndarray, np.ndarray]:
    """Position and area vector at every integration point of a face set."""
    rule = gauss(3, 2)
    value, slope = face_functions(rule.points)
    x = mesh.points[mesh.faces[name]]
    tangent = np.einsum("pni,fnc->fpic", slope, x)
    area = np.cross(tangent[..., 0, :], tangent[..., 1, :]) * rule.weights[None, :, None]
    place = np.einsum("pn,fnc->fpc", value, x)
    return place.reshape(-1, 3), area.reshape(-1, 3)


def face_area(mesh: Mesh, name: str) -> float:
    return float(np.linalg.norm(normals(mesh, name)[1], axis=1).sum())


@given(fingers())
@settings(max_examples=60, deadline=None)
def test_any_finger_meshes_to_its_exact_volume(finger: FingerParameters) -> None:
    mesh = build_mesh(finger, PRESETS["preview"])
    quality = mesh_quality(mesh)
    assert quality.scaled_jacobian.min() > 0
    assert quality.volume_ratio.min() > 0
    assert volume(mesh) == pytest.approx(material_volume_mm3(finger) / 2, rel=1e-10)


@given(fingers())
@settings(max_examples=40, deadline=None)
def test_cavity_is_closed_by_the_symmetry_plane(finger: FingerParameters) -> None:
    mesh = build_mesh(finger, UNEVEN)
    x, area = normals(mesh, "cavity")
    scale = np.abs(area).sum()
    assert np.abs(area[:, :2].sum(axis=0)).max() < 1e-12 * scale
    # Normals point into the cavity: out of the solid. The plane z = 0 adds nothing to x . n.
    assert -np.sum(x * area) / 3 == pytest.approx(cavity_volume_mm3(finger) / 2, rel=1e-10)
    total = sum(np.sum(np.multiply(*normals(mesh, name))) for name in FACE_SETS) / 3
    assert total == pytest.approx(volume(mesh), rel=1e-10)
    whole = sum(normals(mesh, name)[1].sum(axis=0) for name in FACE_SETS)
    assert np.abs(whole).max() < 1e-12 * scale


@given(fingers())
@settings(max_examples=40, deadline=None)
def test_nodes_and_faces_conform(finger: FingerParameters) -> None:
    mesh = build_mesh(finger, UNEVEN)
    assert np.array_equal(np.unique(mesh.elements), np.arange(len(mesh.points)))
    assert len(np.unique(np.round(mesh.points, 7), axis=0)) == len(mesh.points)
    # Every face belongs to two elements, or to one and then to exactly one face set, whole.
    standing = np.sort(mesh.elements[:, FACES].reshape(-1, 8), axis=1)
    distinct, count = np.unique(standing, axis=0, return_counts=True)
    corners = np.sort(mesh.elements[:, FACES[:, :4]].reshape(-1, 4), axis=1)
    assert len(np.unique(corners, axis=0)) == len(distinct)
    assert count.max() == 2
    sets = np.sort(np.concatenate([mesh.faces[name] for name in FACE_SETS]), axis=1)
    assert np.array_equal(np.unique(sets, axis=0), distinct[count == 1])
    assert len(sets) == int((count == 1).sum())
    # Mid-edge nodes halve their edges.
    x = mesh.points[mesh.elements]
    a, b = np.array(EDGES).T
    np.testing.assert_allclose(x[:, 8:], (x[:, a] + x[:, b]) / 2, atol=1e-12)


@pytest.mark.parametrize("name", PRESETS)
@pytest.mark.parametrize("channel_mm", [4, 10])
@pytest.mark.parametrize("pad", [None, PADS["plain"]])
def test_a_straight_sided_finger_is_all_rectangular_bricks(
    name: str, channel_mm: float, pad: PadParameters | None
) -> None:
    finger = dataclasses.replace(THREE_CHAMBERS, channel_width_mm=channel_mm, pad=pad)
    quality = mesh_quality(build_mesh(finger, PRESETS[name]))
    np.testing.assert_allclose(quality.scaled_jacobian, 1, atol=1e-12)
    np.testing.assert_allclose(quality.volume_ratio, 1, atol=1e-12)


@pytest.mark.parametrize("name", PRESETS)
def test_box_finger_volumes_and_surfaces(name: str) -> None:
    mesh = build_mesh(THREE_CHAMBERS, PRESETS[name])
    assert volume(mesh) == pytest.approx(1252, rel=1e-12)
    assert face_area(mesh, "cavity") == pytest.approx(530, rel=1e-12)
    assert sum(face_area(mesh, s) for s in FACE_SETS) == pytest.approx(1686, rel=1e-12)
    assert face_area(mesh, "root") == pytest.approx(12 * 6)
    assert face_area(mesh, "tip") == pytest.approx(5 * 6)
    assert face_area(mesh, "underside") == pytest.approx(30 * 6)


@pytest.mark.parametrize("pad", PADS.values(), ids=PADS)
def test_face_sets_lie_where_they_should_with_a_pad(pad: PadParameters) -> None:
    finger = dataclasses.replace(ZIG_ZAG, pad=pad)
    mesh = build_mesh(finger)
    at = {name: normals(mesh, name)[0] for name in FACE_SETS}
    np.testing.assert_allclose(at["root"][:, 0], 0, atol=1e-12)
    np.testing.assert_allclose(at["tip"][:, 0], finger.length_mm)
    assert at["tip"][:, 1].min() > 0
    np.testing.assert_allclose(at["symmetry"][:, 2], 0)
    np.testing.assert_allclose(at["underside"][:, 1], -pad.depth_mm)
    assert mesh.points[:, 1].min() == pytest.approx(-pad.depth_mm)
    assert at["underside"][:, 0].min() > finger.root_length_mm
    assert face_area(mesh, "tip") == pytest.approx(11.5 * 10)
    assert face_area(mesh, "root") == pytest.approx(18 * 10)
    assert face_area(mesh, "underside") == pytest.approx((finger.length_mm - 9) * 10)
    if len(at["void"]):
        assert -pad.depth_mm < at["void"][:, 1].min()
        assert at["void"][:, 1].max() <= 1e-9
        assert finger.root_length_mm < at["void"][:, 0].min()
        assert at["void"][:, 0].max() < finger.length_mm


def test_regions_tell_where_an_element_is() -> None:
    mesh = build_mesh(ZIG_ZAG)
    middle = mesh.points[mesh.elements[:, :8]].mean(axis=1)
    for element, (x, y, z) in enumerate(middle):
        place = mesh.region_of(element)
        if place.startswith("base"):
            assert y < 2.4
        elif place == "root block":
            assert x < 9
        elif place == "tip block":
            assert x > 75
        elif place.startswith("side wall"):
            assert z > 8.8
            assert y > 2.4
        elif place.startswith("web"):
            assert 5 < z < 8.8
        elif place.startswith("roof"):
            assert 16.8 < y < 18
        elif place.startswith("flank"):
            assert 11.5 < y < 18
        else:
            assert place.startswith(("valley", "foot"))
            assert 10.3 < y < 11.5
    assert {f"side wall of bellows {i}" for i in range(1, 8)} <= set(mesh.region_names)


def test_a_finger_upside_down_has_mirrored_nodes_only() -> None:
    """Left and right of a straight-sided bellows are mirror images, node by node."""
    finger = dataclasses.replace(THREE_CHAMBERS, bellows_count=3)
    mesh = build_mesh(finger)
    second = np.flatnonzero([n[-9:] == "bellows 2" for n in mesh.region_names])
    nodes = np.unique(mesh.elements[np.isin(mesh.element_region, second)])
    points = np.round(mesh.points[nodes], 9)
    mirrored = points * [-1, 1, 1] + [30, 0, 0]  # bellows 2 is centred on x = 15
    ours = {tuple(p) for p in points if 13 <= p[0] <= 17}
    theirs = {tuple(p) for p in np.round(mirrored, 9) if 13 <= p[0] <= 17}
    assert ours == theirs


def test_refining_cuts_every_element() -> None:
    coarse, fine = build_mesh(ZIG_ZAG), build_mesh(ZIG_ZAG, MeshSettings().refined(2))
    assert len(fine.elements) == 8 * len(coarse.elements)
    for name in FACE_SETS:
        assert len(fine.faces[name]) == 4 * len(coarse.faces[name])
    assert volume(fine) == pytest.approx(volume(coarse), rel=1e-12)


def test_fingers_of_one_layout_share_a_template() -> None:
    longer = dataclasses.replace(ZIG_ZAG, pitch_mm=11, flank_angle_deg=65)
    assert build_mesh(longer).template is build_mesh(ZIG_ZAG).template


def test_an_impossible_finger_is_refused_with_its_reason() -> None:
    with pytest.raises(ParameterError, match="interpenetrate"):
        build_mesh(dataclasses.replace(ZIG_ZAG, pitch_mm=8))


@pytest.mark.parametrize("value", [0, -1, 1.5, True, "2", 1000])
def test_impossible_element_counts_are_refused(value: object) -> None:
    with pytest.raises(ParameterError, match=r"mesh\.rows_base"):
        MeshSettings(rows_base=value)  # type: ignore[arg-type]


def test_unknown_mesh_is_refused_with_the_choices() -> None:
    assert mesh_settings("standard") == MeshSettings()
    with pytest.raises(ParameterError, match="preview, standard, fine"):
        mesh_settings("superfine")

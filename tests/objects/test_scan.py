"""Scans: known bodies through STL, and surfaces that are none."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import jax.numpy as jnp
import numpy as np
import pytest
import trimesh

from fiddlehead.errors import InputError, ParameterError
from fiddlehead.objects.making import make_shape
from fiddlehead.objects.scan import inside, read_scan, sampled, unsigned_distance
from fiddlehead.testing.objects import ShapeContract


def ball(subdivisions: int = 4) -> Any:
    return trimesh.creation.icosphere(subdivisions=subdivisions, radius=20.0)


def stored(mesh: Any, folder: Path, name: str = "scan.stl") -> Path:
    mesh.export(folder / name)
    return folder / name


class TestScan(ShapeContract):
    __test__ = True
    subject = sampled(np.asarray(ball().vertices), np.asarray(ball().faces), steps_along=32)
    tolerance_mm = 0.05  # the spline rounds the facets
    slope_tolerance = 0.05
    skin_mm = 1.0


def test_a_scanned_ball_is_a_sphere(tmp_path: Path) -> None:
    scan = read_scan(stored(ball(), tmp_path), steps_along=40)
    rng = np.random.default_rng(4)
    way = rng.normal(size=(300, 3))
    way /= np.linalg.norm(way, axis=1, keepdims=True)
    places = jnp.asarray(way * rng.uniform(18, 22, (300, 1)))
    exact = make_shape("sphere", {"diameter_mm": 40.0}).distance(places)
    # facets lie up to 0.06 mm inside the ball (chord of an icosphere of 5120 triangles)
    np.testing.assert_allclose(scan.distance(places), exact, atol=0.07)


def test_its_slope_is_a_unit_normal() -> None:
    import jax

    scan = TestScan.subject
    way = np.random.default_rng(4).normal(size=(200, 3))
    places = jnp.asarray(20.0 * way / np.linalg.norm(way, axis=1, keepdims=True))
    slope = np.asarray(jax.vmap(jax.grad(scan.distance))(places))
    outward = np.asarray(places) / 20.0
    assert np.abs(np.linalg.norm(slope, axis=1) - 1).max() < 0.05
    assert np.einsum("pi,pi->p", slope, outward).min() > 0.98


def test_distances_to_a_box_are_exact() -> None:
    box = trimesh.creation.box(extents=(10, 6, 4))
    places = np.random.default_rng(9).uniform(-8, 8, (500, 3))
    exact = np.linalg.norm(np.maximum(np.abs(places) - [5, 3, 2], 0), axis=1)
    exact += np.minimum((np.abs(places) - [5, 3, 2]).max(axis=1), 0)
    corners = np.asarray(box.triangles)
    np.testing.assert_allclose(unsigned_distance(places, corners, 0.5), np.abs(exact), atol=1e-9)


def test_inside_is_counted_right_on_a_ring() -> None:
    ring = trimesh.creation.torus(major_radius=10, minor_radius=3)
    axes = [np.linspace(-14, 14, 29), np.linspace(-14, 14, 29), np.linspace(-4, 4, 9)]
    x, y, z = np.meshgrid(*axes, indexing="ij")
    gap = np.hypot(np.hypot(x, y) - 10, z) - 3
    found = inside(axes, np.asarray(ring.triangles))
    sure = np.abs(gap) > 0.1  # facets
    assert np.array_equal(found[sure], (gap < 0)[sure])


def test_inches_are_scaled(tmp_path: Path) -> None:
    scan = read_scan(stored(ball(2), tmp_path), steps_along=16, scale=25.4)
    low, high = scan.bounds()
    np.testing.assert_allclose(high - low, 40 * 25.4, rtol=0.03)


def spoiled(fault: str) -> Any:
    mesh = ball(2)
    if fault == "open":
        mesh.update_faces(np.arange(len(mesh.faces)) > 2)
    elif fault == "inside out":
        mesh.invert()
    elif fault == "one turned":
        faces = mesh.faces.copy()
        faces[7] = faces[7][::-1]
        mesh = trimesh.Trimesh(mesh.vertices, faces, process=False)
    elif fault == "meets itself":
        box = trimesh.creation.box(extents=(1, 1, 1))
        other = box.copy()
        other.apply_translation((1, 1, 0))  # shares one edge
        mesh = trimesh.util.concatenate([box, other])
    return mesh


@pytest.mark.parametrize(
    ("fault", "told"),
    [
        ("open", "the surface is open .found 9 open edges"),
        ("inside out", "inside out: its normals point inwards"),
        ("one turned", "some triangles are turned inside out"),
        ("meets itself", "meets itself along edges"),
    ],
)
def test_a_bad_surface_is_refused_with_its_fault(fault: str, told: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=told) as caught:
        read_scan(stored(spoiled(fault), tmp_path))
    assert caught.value.remedy
    assert "scan.stl" in caught.value.where


@pytest.mark.parametrize("content", [b"", b"solid nothing\nendsolid\n", b"\x00" * 100, b"nonsense"])
def test_a_damaged_file_is_refused(content: bytes, tmp_path: Path) -> None:
    (tmp_path / "scan.stl").write_bytes(content)
    with pytest.raises(InputError, match="STL"):
        read_scan(tmp_path / "scan.stl")


def test_a_missing_file_and_a_silly_grid_are_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no such file"):
        read_scan(tmp_path / "scan.stl")
    with pytest.raises(ParameterError, match="steps_along"):
        read_scan(stored(ball(1), tmp_path), steps_along=3)

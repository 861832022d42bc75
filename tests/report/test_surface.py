"""The drawn surface: closed, outward, and where the mesh says."""

from __future__ import annotations

import numpy as np
import pytest

from fiddlehead.report.surface import cut_faces, outline_edges, whole_surface
from tests.report.made_up import FINGER, made_up_bend

MESH = made_up_bend().mesh


def test_the_outer_surface_of_the_whole_finger_encloses_solid_and_cavity() -> None:
    surface = whole_surface(MESH)
    points = surface.place(MESH.points)
    patches, _ = cut_faces(surface, points, points[:, 0])
    a, b, c, d = (patches[:, i] for i in range(4))
    volume = sum(
        np.einsum("fi,fi->", p, np.cross(q, r)) / 6.0 for p, q, r in ((a, b, c), (a, c, d))
    )
    # RF-1, by hand: half solid 1252 mm³, whole cavity 1144 mm³
    assert volume == pytest.approx(2 * 1252.0 + 1144.0, rel=1e-9)
    assert FINGER.length_mm == 30.0


def test_halves_are_mirror_images() -> None:
    surface = whole_surface(MESH)
    points = surface.place(MESH.points)
    half = len(points) // 2
    np.testing.assert_allclose(points[:half] * [1, 1, -1], points[half:])
    np.testing.assert_array_equal(surface.node[:half], surface.node[half:])


def test_cut_faces_interpolate_linear_fields_exactly() -> None:
    surface = whole_surface(MESH)
    points = surface.place(MESH.points)
    patches, value = cut_faces(surface, points, 3.0 * points[:, 0] - points[:, 2], cuts=3)
    middle = patches.mean(1)
    np.testing.assert_allclose(value, 3.0 * middle[:, 0] - middle[:, 2], atol=1e-9)


def test_outlines_run_through_the_corners() -> None:
    surface = whole_surface(MESH)
    points = surface.place(MESH.points)
    lines = outline_edges(surface, points, steps=2)
    corners = points[surface.faces[:, :4]]
    np.testing.assert_allclose(lines[:, ::2], corners, atol=1e-12)
    np.testing.assert_allclose(lines[:, 1::2], points[surface.faces[:, 4:]], atol=1e-12)

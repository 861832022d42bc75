"""Element quality: known shapes measured, bad ones refused with their place."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from fiddlehead.errors import MeshError
from fiddlehead.mechanics.element import BRICK_NODES
from fiddlehead.mesh.build import build_mesh, mesh_of
from fiddlehead.mesh.quality import mesh_quality, require_sound
from fiddlehead.mesh.records import Mesh
from tests.finger.cases import ZIG_ZAG


def one_brick(points: np.ndarray) -> Mesh:
    return Mesh(points, np.arange(20)[None], ("lone brick",), np.zeros(1, dtype=int), {})


def test_a_box_is_perfect() -> None:
    quality = mesh_quality(one_brick(BRICK_NODES * [1, 2, 5] + [10, 0, 0]))
    assert quality.scaled_jacobian[0] == pytest.approx(1)
    assert quality.volume_ratio[0] == pytest.approx(1)
    assert quality.aspect[0] == pytest.approx(5)
    assert quality.worst_place_mm == pytest.approx((10, 0, 0))
    assert "lone brick" in quality.summary()


@pytest.mark.parametrize("lean_deg", [10, 45, 80])
def test_a_sheared_box_scores_the_cosine_of_its_lean(lean_deg: float) -> None:
    shear = np.array([[1, 0, 0], [math.tan(math.radians(lean_deg)), 1, 0], [0, 0, 1]])
    quality = mesh_quality(one_brick(BRICK_NODES @ shear))
    assert quality.scaled_jacobian[0] == pytest.approx(math.cos(math.radians(lean_deg)))
    assert quality.volume_ratio[0] == pytest.approx(1)


def test_a_turned_box_is_still_perfect() -> None:
    turn, _ = np.linalg.qr(np.random.default_rng(1).normal(size=(3, 3)))
    turn *= np.sign(np.linalg.det(turn))
    assert mesh_quality(one_brick(BRICK_NODES @ turn)).scaled_jacobian[0] == pytest.approx(1)


@pytest.mark.parametrize("axis", [0, 1, 2])
def test_an_inverted_brick_is_refused(axis: int) -> None:
    flip = np.ones(3)
    flip[axis] = -1
    with pytest.raises(MeshError, match="lone brick"):
        require_sound(one_brick(BRICK_NODES * flip))


def test_a_flat_brick_is_refused() -> None:
    with pytest.raises(MeshError, match="flat"):
        require_sound(one_brick(BRICK_NODES * [1, 1, 0]))


def test_a_middle_node_pushed_past_the_quarter_is_refused() -> None:
    points = BRICK_NODES.copy()
    points[8, 0] = 0.6  # beyond 0.5 the edge folds back at the corner
    with pytest.raises(MeshError, match="inverted"):
        require_sound(one_brick(points))


def test_nodes_without_coordinates_are_refused() -> None:
    points = BRICK_NODES.copy()
    points[3, 1] = math.nan
    with pytest.raises(MeshError, match="finite"):
        require_sound(one_brick(points))


def test_an_impossible_finger_pushed_through_names_the_place() -> None:
    """Past the parameter checks, the mesh itself still notices walls thicker than the chamber."""
    template = build_mesh(ZIG_ZAG).template
    finger = dataclasses.replace(ZIG_ZAG, wall_thickness_mm=1.6)
    with pytest.raises(MeshError, match="of bellows") as caught:
        require_sound(mesh_of(template, finger))
    assert caught.value.remedy

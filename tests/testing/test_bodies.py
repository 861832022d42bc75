"""The test bodies themselves: volumes, areas, normals, orientation."""

from __future__ import annotations

import numpy as np
import pytest

from fiddlehead.mechanics.element import EDGES, brick_functions, face_functions
from fiddlehead.mechanics.quadrature import gauss
from fiddlehead.testing.bodies import (
    Body,
    boundary_faces,
    box,
    closed_tube_eighth,
    cook_panel,
    ring_quarter,
    sphere_octant,
)

BODIES: dict[str, tuple[Body, float, dict[str, float]]] = {
    "box": (box((3, 2, 1), (3, 2, 1)), 6.0, {"x0": 2.0, "y1": 3.0, "z1": 6.0}),
    "panel": (cook_panel(4), 48 * (44 + 16) / 2, {"x0": 44.0, "x1": 16.0}),
    "ring": (
        ring_quarter(7, 18.625, 2, (4, 8, 1)),
        np.pi / 4 * (18.625**2 - 7**2) * 2,
        {"inner": np.pi * 7, "outer": np.pi * 18.625, "cut_x": 2 * 11.625},
    ),
    "sphere": (
        sphere_octant(1, 2, 3, 6),
        np.pi / 6 * 7,
        {"inner": np.pi / 2, "outer": 2 * np.pi, "cut_z": np.pi / 4 * 3},
    ),
    "tube": (
        closed_tube_eighth(5, 7, 30, 3, (10, 2, 3, 2)),
        np.pi / 4 * ((49 - 25) * 30 + 49 * 3),
        {
            "cavity": np.pi / 2 * 5 * 30 + np.pi / 4 * 25,
            "outer": np.pi / 2 * 7 * 33,
            "cap": np.pi / 4 * 49,
            "middle": np.pi / 4 * 24,
            "cut_y": 2 * 30 + 7 * 3,
        },
    ),
}
CASES = pytest.mark.parametrize("name", BODIES)


def area_vectors(body: Body, faces: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Positions and outward area elements at the face integration points."""
    rule = gauss(4, 2)
    value, slope = face_functions(rule.points)
    x = body.points[faces]
    tangents = np.einsum("fni,qnk->fqik", x, slope)
    normal = np.cross(tangents[..., 0], tangents[..., 1])
    return np.einsum("fni,qn->fqi", x, value), normal * rule.weights[:, None]


def jacobians(body: Body, points: np.ndarray) -> np.ndarray:
    slope = brick_functions(points)[1]
    return np.linalg.det(np.einsum("eni,qnk->eqik", body.points[body.elements], slope))


@CASES
def test_volume(name: str) -> None:
    body, volume, _ = BODIES[name]
    rule = gauss(3, 3)
    found = (jacobians(body, rule.points) * rule.weights).sum()
    assert found == pytest.approx(volume, rel=2e-5)


@CASES
def test_jacobians_are_positive_up_to_the_corners(name: str) -> None:
    body = BODIES[name][0]
    grid = np.stack(np.meshgrid(*[np.linspace(-1, 1, 5)] * 3), -1).reshape(-1, 3)
    assert jacobians(body, grid).min() > 0


@CASES
def test_areas_of_named_faces(name: str) -> None:
    body, _, areas = BODIES[name]
    for side, area in areas.items():
        _, element = area_vectors(body, body.faces[side])
        assert np.linalg.norm(element, axis=-1).sum() == pytest.approx(area, rel=2e-5), side


@CASES
def test_divergence_theorem(name: str) -> None:
    """The whole skin, normals outwards, encloses the volume and closes on itself."""
    body, volume, _ = BODIES[name]
    x, element = area_vectors(body, boundary_faces(body.elements))
    assert (x * element).sum() / 3 == pytest.approx(volume, rel=2e-5)
    assert np.abs(element.sum(axis=(0, 1))).max() < 1e-10 * volume


@CASES
def test_named_faces_cover_the_skin_once(name: str) -> None:
    body = BODIES[name][0]
    named = np.sort(np.vstack(list(body.faces.values())), axis=1)
    assert len(np.unique(named, axis=0)) == len(named)
    assert len(named) == len(boundary_faces(body.elements))


@CASES
def test_every_node_is_used_and_unique(name: str) -> None:
    body = BODIES[name][0]
    assert np.array_equal(np.unique(body.elements), np.arange(len(body.points)))
    assert len(np.unique(body.points.round(9), axis=0)) == len(body.points)


@CASES
def test_neighbours_share_their_mid_edge_nodes(name: str) -> None:
    """One mid-edge node per pair of corners over the whole mesh."""
    body = BODIES[name][0]
    pairs = np.sort(body.elements[:, EDGES].reshape(-1, 2), axis=1)
    triples = np.column_stack([pairs, body.elements[:, 8:].reshape(-1)])
    assert len(np.unique(triples, axis=0)) == len(np.unique(pairs, axis=0))


def test_a_cavity_has_its_normals_out_of_the_solid() -> None:
    """Normals of a cavity point into it, so its volume comes out negative."""
    body = BODIES["tube"][0]
    x, element = area_vectors(body, body.faces["cavity"])
    assert (x * element).sum() / 3 == pytest.approx(-np.pi / 4 * 25 * 30, rel=2e-5)


@pytest.mark.parametrize(
    ("name", "side", "radius"),
    [
        ("ring", "inner", 7),
        ("ring", "outer", 18.625),
        ("sphere", "inner", 1),
        ("sphere", "outer", 2),
    ],
)
def test_mid_edge_nodes_lie_on_the_true_surface(name: str, side: str, radius: float) -> None:
    body = BODIES[name][0]
    points = body.points[body.on(side)]
    reach = np.linalg.norm(points if name == "sphere" else points[:, :2], axis=1)
    assert reach == pytest.approx(radius, rel=1e-12)


def test_bodies_are_numbered_along_their_first_direction() -> None:
    """No element spans more than the nodes of two neighbouring layers."""
    body = box((50, 1, 1), (50, 1, 1))
    assert np.ptp(body.elements, axis=1).max() < 2 * len(body.points) / 50

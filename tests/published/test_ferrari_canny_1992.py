"""Force closure and grasp quality of small grasps.

C. Ferrari and J. Canny (1992), Planning optimal grasps, IEEE ICRA, 2290-2295 (definition of the
quality); R. M. Murray, Z. Li and S. S. Sastry (1994), A Mathematical Introduction to Robotic
Manipulation, ch. 5 (contact models, box between two fingers). Two antipodal contacts on a disc have
the closed form mu / sqrt(mu^2 + 2); the other numbers were computed for the project's catalogue of
checks by the convex hull of all wrenches, a way that the code under test does not take. Convention:
unit normal force, moments over a radius of 1. The tolerance is that of the linear programmes.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial import ConvexHull

from fiddlehead.grasp.balance import least_force_n
from fiddlehead.grasp.quality import epsilon, force_closure, planar
from fiddlehead.grasp.wrench import Contacts, contacts, grasp_map, primitive_wrenches


def around(angles_deg: list[float], friction: float, spin_mm: float = 0.0) -> Contacts:
    """Contacts on a unit circle in the plane z = 0, pushing at its centre."""
    turn = np.radians(angles_deg)
    place = np.column_stack([np.cos(turn), np.sin(turn), np.zeros(len(turn))])
    return contacts(place, -place, friction, spin_mm)


def flat(found: Contacts) -> list[np.ndarray]:
    """The two edges of each cone in the plane (four edges, of which two leave the plane)."""
    sets = planar(primitive_wrenches(found, 4))
    if not found.friction.any():
        return sets
    return [wrenches[[0, 2]] for wrenches in sets]


BOX = np.array([[0.0, 1.0, 0.0], [0.0, -1.0, 0.0]])


@pytest.mark.parametrize(("model", "rank"), [("frictionless", 1), ("point", 5), ("soft", 6)])
def test_box_between_two_fingers(model: str, rank: int) -> None:
    found = contacts(BOX, -BOX, 0.5, 1.0)
    assert np.linalg.matrix_rank(grasp_map(found, model)) == rank
    spin = 1.0 if model == "soft" else 0.0
    friction = 0.0 if model == "frictionless" else 0.5
    sets = primitive_wrenches(contacts(BOX, -BOX, friction, spin))
    assert force_closure(sets) == (model == "soft")


@pytest.mark.parametrize("friction", [0.3, 0.5, 1.0])
def test_two_fingers_on_a_disc(friction: float) -> None:
    found = epsilon(flat(around([0, 180], friction)))
    assert found == pytest.approx(friction / np.sqrt(friction**2 + 2.0), abs=1e-7)


@pytest.mark.parametrize(
    ("angles", "friction", "expected"),
    [
        ([0, 120, 240], 0.3, 0.3),
        ([0, 120, 240], 0.5, 0.5),
        ([0, 120, 240], 1.0, 0.935113127),
        ([0, 90, 180, 270], 0.5, 0.5),
    ],
)
def test_more_fingers_on_a_disc(angles: list[float], friction: float, expected: float) -> None:
    assert epsilon(flat(around(angles, friction))) == pytest.approx(expected, abs=1e-7)


def test_a_disc_without_friction_can_always_be_turned() -> None:
    assert epsilon(flat(around([0, 90, 180, 270], 0.0))) == 0.0


@pytest.mark.parametrize(
    ("angles", "edges", "expected"),
    [
        ([0, 120, 240], 4, 0.257903629),
        ([0, 120, 240], 8, 0.275925156),
        ([0, 120, 240], 16, 0.284907344),
        ([0, 90, 180, 270], 8, 0.320426417),
    ],
)
def test_fingers_around_a_sphere(angles: list[float], edges: int, expected: float) -> None:
    sets = primitive_wrenches(around(angles, 0.5), edges)
    assert epsilon(sets) == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize("seed", range(3))
def test_force_limited_quality_against_a_convex_hull(seed: int) -> None:
    """Every finger up to its own limit: the sum of the sets, here built corner by corner."""
    random = np.random.default_rng(seed)
    turn = np.radians(np.array([0, 120, 240]) + random.uniform(-15, 15, 3))
    found = around(list(np.degrees(turn)), 0.6)
    sets, limits = flat(found), random.uniform(1.0, 3.0, 3)
    corners = [np.vstack([np.zeros(3), limit * w]) for limit, w in zip(limits, sets, strict=True)]
    sums = [a + b + c for a in corners[0] for b in corners[1] for c in corners[2]]
    expected = -ConvexHull(np.array(sums)).equations[:, -1].max()
    assert epsilon(sets, limits) == pytest.approx(expected, abs=1e-7)


@pytest.mark.parametrize(
    ("angles", "friction", "expected"),
    [
        ([0, 180], 0.3, 1 / 0.6),
        ([0, 180], 0.5, 1.0),
        ([90, 210, 330], 0.3, 0.658061),
        ([90, 210, 330], 0.5, 0.535898),
    ],
)
def test_least_force_that_holds_a_disc(
    angles: list[float], friction: float, expected: float
) -> None:
    """A disc in the plane x-y under a unit weight along -y; numbers by a linear programme of the
    catalogue. In the plane the two edges of a cone are exact, so four edges are enough."""
    found = around(angles, friction)
    held = least_force_n(found, np.array([0.0, -1.0, 0.0, 0.0, 0.0, 0.0]), edges=4)
    assert held == pytest.approx(expected, abs=1e-6)

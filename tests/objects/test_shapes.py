"""Every shape keeps the contract; known distances; what cannot be a shape."""

from __future__ import annotations

from typing import Any

import jax
import jax.numpy as jnp
import numpy as np
import pytest
from mpmath import ellipe

from fiddlehead.errors import ParameterError
from fiddlehead.objects.library import read_library
from fiddlehead.objects.making import make_shape, shape_of
from fiddlehead.objects.placed import Placed, pose
from fiddlehead.objects.shapes.base import SHAPES, ObjectShape
from fiddlehead.testing.objects import ShapeContract

SPHERE = {"diameter_mm": 60.0}


class TestSphere(ShapeContract):
    __test__ = True
    subject = make_shape("sphere", SPHERE)


class TestPlane(ShapeContract):
    __test__ = True
    subject = make_shape("plane", {})


class TestCylinder(ShapeContract):
    __test__ = True
    subject = make_shape("cylinder", {"diameter_mm": 30.0, "length_mm": 50.0, "edge_radius_mm": 3})


class TestRoundedBox(ShapeContract):
    __test__ = True
    subject = make_shape(
        "rounded box",
        {"length_mm": 40.0, "width_mm": 20.0, "height_mm": 12.0, "edge_radius_mm": 2.5},
    )


class TestCapsule(ShapeContract):
    __test__ = True
    subject = make_shape("capsule", {"diameter_mm": 20.0, "length_mm": 50.0})


class TestEllipsoid(ShapeContract):
    __test__ = True
    subject = make_shape("ellipsoid", {"length_mm": 60.0, "width_mm": 40.0, "height_mm": 30.0})


class TestEgg(ShapeContract):
    __test__ = True
    subject = make_shape("egg", {"length_mm": 57.0, "width_mm": 44.0, "taper_mm": 3.0})


class TestBowl(ShapeContract):
    __test__ = True
    subject = shape_of(read_library()["bowl"])
    skin_mm = 1.0


class TestBottle(ShapeContract):
    __test__ = True
    subject = shape_of(read_library()["bottle"])
    skin_mm = 1.0


def test_an_ellipsoid_with_equal_axes_is_a_sphere() -> None:
    places = jnp.asarray(np.random.default_rng(1).uniform(-40, 40, (200, 3)))
    ball = make_shape("ellipsoid", {"length_mm": 60.0, "width_mm": 60.0, "height_mm": 60.0})
    np.testing.assert_allclose(
        ball.distance(places), make_shape("sphere", SPHERE).distance(places), atol=1e-9
    )


def test_an_egg_without_taper_is_an_ellipsoid_of_revolution() -> None:
    places = jnp.asarray(np.random.default_rng(2).uniform(-40, 40, (200, 3)))
    egg = make_shape("egg", {"length_mm": 60.0, "width_mm": 44.0, "taper_mm": 0.0})
    body = make_shape("ellipsoid", {"length_mm": 44.0, "width_mm": 44.0, "height_mm": 60.0})
    outside = np.asarray(body.distance(places)) > -10  # deeper in, several feet are nearest
    np.testing.assert_allclose(
        np.asarray(egg.distance(places))[outside],
        np.asarray(body.distance(places))[outside],
        atol=1e-9,
    )


def test_a_turned_ellipse_is_nearly_an_ellipsoid() -> None:
    """Even steps along the ellipse: the spline follows it to the fourth power of the step."""
    angle = np.linspace(0, np.pi, 41)
    whole = float(ellipe(1 - (30 / 22) ** 2)) * 2 * 22
    fine = np.linspace(0, np.pi, 20001)
    way = np.concatenate(
        [[0], np.cumsum(np.hypot(np.diff(-30 * np.cos(fine)), np.diff(22 * np.sin(fine))))]
    )
    assert way[-1] == pytest.approx(whole, rel=1e-6)
    angle = np.interp(np.linspace(0, way[-1], 41), way, fine)
    profile = np.column_stack([-30 * np.cos(angle), 22 * np.sin(angle)])
    profile[[0, -1], 1] = 0.0
    pot = make_shape("turned", {"profile_mm": profile.tolist()})
    body = make_shape("ellipsoid", {"length_mm": 44.0, "width_mm": 44.0, "height_mm": 60.0})
    places = jnp.asarray(np.random.default_rng(3).uniform(-40, 40, (200, 3)))
    outside = np.asarray(body.distance(places)) > 0
    np.testing.assert_allclose(
        np.asarray(pot.distance(places))[outside],
        np.asarray(body.distance(places))[outside],
        atol=2e-4,
    )


def test_a_cylinder_lies_along_and_across() -> None:
    bar = make_shape("cylinder", {"diameter_mm": 20, "length_mm": 60, "edge_radius_mm": 1})
    along = Placed(bar, pose(axis=(0, 1, 0), angle_deg=90))
    assert float(along.distance(jnp.array([35.0, 0, 0]))) == pytest.approx(5)
    assert float(along.distance(jnp.array([0.0, 0, 15]))) == pytest.approx(5)


@pytest.mark.parametrize(
    ("kind", "sizes", "told"),
    [
        ("ball", {"diameter_mm": 3}, "no such shape"),
        ("scanned", {}, "no such shape"),
        ("sphere", {}, "diameter_mm"),
        ("sphere", {"diameter_mm": 3, "length_mm": 4}, "length_mm"),
        ("sphere", {"diameter_mm": -3}, "no such size"),
        ("sphere", {"diameter_mm": "3"}, "no such size"),
        ("sphere", {"diameter_mm": float("nan")}, "no such size"),
        ("capsule", {"diameter_mm": 9, "length_mm": 8}, "shorter than it is thick"),
        ("egg", {"length_mm": 50, "width_mm": 40, "taper_mm": 20}, "tapers"),
        ("cylinder", {"diameter_mm": 9, "length_mm": 8, "edge_radius_mm": 5}, "rounder"),
        ("turned", {"profile_mm": [[0, 0], [1, 1]]}, "list of heights"),
        ("turned", {"profile_mm": "round"}, "list of heights"),
        ("turned", {"profile_mm": [[0, 1], [1, 1], [2, 1], [3, 0]]}, "start and end on the axis"),
        ("turned", {"profile_mm": [[0, 0], [1, 9], [2, 9], [3, 0]]}, "unevenly"),
        ("turned", {"profile_mm": [[3, 0], [2, 1], [1, 1], [0, 0]]}, "downwards"),
        (
            "turned",
            {"profile_mm": [[0, 0], [0, 2], [2, 2], [2, 1], [0.5, 1.2], [1, 3], [3, 2], [3, 0]]},
            "crosses itself",
        ),
    ],
)
def test_impossible_shapes_are_refused(kind: str, sizes: dict[str, Any], told: str) -> None:
    with pytest.raises(ParameterError, match=told):
        make_shape(kind, sizes)


@pytest.mark.parametrize("axis", [(0, 0, 0), (0, 0, float("nan"))])
def test_a_turn_about_nothing_is_refused(axis: tuple[float, float, float]) -> None:
    with pytest.raises(ParameterError, match="no such pose"):
        pose(axis=axis, angle_deg=10)


def test_every_shape_is_listed_under_its_name() -> None:
    assert all(issubclass(cls, ObjectShape) and cls.name == name for name, cls in SHAPES.items())
    assert len(SHAPES) == 9


@pytest.mark.parametrize("angle_deg", [0.0, 40.0])
def test_pose_and_sizes_can_be_differentiated(angle_deg: float) -> None:
    """Also at no rotation, where the formula's angle has no slope."""
    box = {"length_mm": 40.0, "width_mm": 20.0, "height_mm": 12.0, "edge_radius_mm": 2.5}
    placed = Placed(make_shape("rounded box", box), pose((1, 2, 3), (0, 1, 1), angle_deg))
    point = jnp.array([19.0, 14.0, 9.0])
    seek = jax.jit(lambda body: body.distance(point))
    slope = jax.jit(jax.grad(lambda body: body.distance(point)))(placed)
    _, normal = placed.distance_and_normal(point[None])
    np.testing.assert_allclose(slope.pose.position_mm, -normal[0], atol=1e-9)
    leaves, structure = jax.tree_util.tree_flatten(placed)
    slopes = jax.tree_util.tree_leaves(slope)
    for k, leaf in enumerate(leaves):
        for place in np.ndindex(np.shape(leaf)):
            ends = []
            for step in (1e-6, -1e-6):
                moved = [jnp.asarray(own) for own in leaves]
                moved[k] = moved[k].at[place].add(step)
                ends.append(float(seek(structure.unflatten(moved))))
            assert float(slopes[k][place]) == pytest.approx((ends[0] - ends[1]) / 2e-6, abs=1e-5)

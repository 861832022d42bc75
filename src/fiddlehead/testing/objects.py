"""Contract of a shape: what every signed distance must keep, whatever its form."""

from __future__ import annotations

import dataclasses
from typing import Any

import jax
import jax.numpy as jnp
import numpy as np
from jaxtyping import Array, Float

from fiddlehead.objects.placed import Placed, pose
from fiddlehead.objects.shapes.base import SHAPES, ObjectShape


@jax.jit
def distances(shape: Any, points: Float[Array, "place 3"]) -> Float[Array, " place"]:
    """Signed distances, mm."""
    return jnp.asarray(shape.distance(points))


@jax.jit
def slopes(shape: Any, points: Float[Array, "place 3"]) -> Float[Array, "place 3"]:
    """Gradients of the distance."""
    return jax.vmap(jax.grad(shape.distance))(points)


@jax.jit
def curvatures(shape: Any, points: Float[Array, "place 3"]) -> Float[Array, "place 3 3"]:
    """Second derivatives of the distance, 1/mm."""
    return jax.vmap(jax.hessian(shape.distance))(points)


COUNT = 200
"""Points looked at together: one number, so that few programs are compiled."""


class ShapeContract:
    """Subclass, set ``subject`` to a shape of sensible sizes, and collect with pytest."""

    __test__ = False
    subject: ObjectShape
    skin_mm: float = 2.0
    """Depth of the layer on both sides of the surface in which distances must be exact."""
    tolerance_mm: float = 1e-9
    """How far a foot of a perpendicular may miss the surface."""
    slope_tolerance: float = 1e-9
    """How far the slope may be from a unit normal; for distances that are sampled."""

    def box(self) -> tuple[Float[np.ndarray, "3"], Float[np.ndarray, "3"]]:
        """The part of the shape's box that the contract looks at, mm."""
        low, high = (np.asarray(corner) for corner in self.subject.bounds())
        return np.maximum(low, -50.0), np.minimum(high, 50.0)

    def distance(self, points: Float[np.ndarray, "place 3"]) -> Float[np.ndarray, " place"]:
        """Signed distances of the subject, mm."""
        return np.asarray(distances(self.subject, jnp.asarray(points)))

    def places(self, seed: int = 5) -> Float[np.ndarray, "place 3"]:
        """Seeded points in and around the shape, mm."""
        low, high = self.box()
        spread = high - low + 4 * self.skin_mm
        shares = np.random.default_rng(seed).uniform(size=(COUNT, 3))
        return low - 2 * self.skin_mm + shares * spread

    def near(self) -> Float[np.ndarray, "place 3"]:
        """Seeded points in the skin, mm: places moved along their perpendicular."""
        places = self.places()
        distance = self.distance(places)
        outside = distance > -self.skin_mm
        assert outside.sum() > COUNT / 20
        depth = np.random.default_rng(6).uniform(-0.9, 0.9, COUNT) * self.skin_mm
        normal = np.asarray(slopes(self.subject, jnp.asarray(places)))
        moved = places + (depth - distance)[:, None] * normal
        return np.resize(moved[outside], (COUNT, 3))

    def test_the_middle_of_its_box_is_inside_and_far_away_is_outside(self) -> None:
        low, high = self.box()
        ends = np.array([(low + high) / 2, [0.0, 0.0, 1e3]])
        inner, outer = self.distance(np.resize(ends, (COUNT, 3)))[:2]
        assert inner < 0 < outer

    def test_nothing_outside_the_box_is_inside(self) -> None:
        places = self.places()
        low, high = (np.asarray(corner) for corner in self.subject.bounds())
        beyond = np.linalg.norm(np.maximum(np.maximum(low - places, places - high), 0.0), axis=1)
        out = beyond > self.tolerance_mm
        assert np.all(self.distance(places)[out] >= beyond[out] - 2 * self.tolerance_mm)

    def test_the_foot_of_the_perpendicular_lies_on_the_surface(self) -> None:
        near = self.near()
        normal = np.asarray(slopes(self.subject, jnp.asarray(near)))
        np.testing.assert_allclose(np.linalg.norm(normal, axis=1), 1.0, atol=self.slope_tolerance)
        foot = near - self.distance(near)[:, None] * normal
        assert np.abs(self.distance(foot)).max() < self.tolerance_mm

    def test_the_normal_is_the_slope_of_the_distance(self) -> None:
        near = self.near()
        normal = np.asarray(slopes(self.subject, jnp.asarray(near)))
        for axis in range(3):
            step = np.zeros(3)
            step[axis] = 1e-5
            difference = (self.distance(near + step) - self.distance(near - step)) / 2e-5
            np.testing.assert_allclose(normal[:, axis], difference, atol=1e-5)

    def test_curvature_is_that_of_the_normal_and_leaves_it_alone(self) -> None:
        near = jnp.asarray(self.near())
        hessian = np.asarray(curvatures(self.subject, near))
        normal = np.asarray(slopes(self.subject, near))
        scale = 1.0 + np.abs(hessian).max(axis=(1, 2))
        np.testing.assert_allclose(hessian, hessian.transpose(0, 2, 1), atol=1e-8)
        along = np.einsum("pij,pj->pi", hessian, normal) / scale[:, None]
        assert np.abs(along).max() < max(1e-6, 100 * self.slope_tolerance)
        seams = np.zeros(len(near), dtype=bool)
        for axis in range(3):
            step = np.zeros(3)
            step[axis] = 1e-5
            ahead, behind = (np.asarray(slopes(self.subject, near + s)) for s in (step, -step))
            gap = np.abs(hessian[:, axis] - (ahead - behind) / 2e-5).max(axis=1)
            seams |= gap > 1e-4 * scale
        assert seams.sum() <= 2, "few may lie on a seam, where curvature jumps"

    def test_distance_never_grows_faster_than_the_way(self) -> None:
        a, b = self.places(), self.places(seed=8)
        way = np.linalg.norm(a - b, axis=1)
        gap = np.abs(self.distance(a) - self.distance(b))
        assert np.all(gap <= way * (1 + 1e-6 + self.slope_tolerance) + 2 * self.tolerance_mm)

    def test_no_place_gives_a_hole_in_the_numbers(self) -> None:
        low, high = self.box()
        special = [(low + high) / 2, [0, 0, 0], [0, 0, high[2]], [0, 0, high[2] + 1], low, high]
        places = jnp.asarray(np.resize(np.array(special, float), (COUNT, 3)))
        for found in (distances, slopes, curvatures):
            assert bool(jnp.all(jnp.isfinite(found(self.subject, places))))

    def test_turned_and_moved_it_is_the_same_shape(self) -> None:
        where = pose((3.0, -4.0, 5.0), axis=(1.0, 2.0, -0.5), angle_deg=70.0)
        places = jnp.asarray(self.near()[:8])
        seek = jax.jit(lambda at, points: Placed(self.subject, at).distance_and_normal(points))
        own, own_normal = seek(pose(), places)
        seen, seen_normal = seek(where, where.into_world(places))
        np.testing.assert_allclose(seen, own, atol=1e-9)
        turned = where.into_world(own_normal) - jnp.asarray(where.position_mm)
        np.testing.assert_allclose(seen_normal, turned, atol=1e-7)

    def test_sizes_are_leaves_and_the_kind_tells_structures_apart(self) -> None:
        structure: Any
        leaves, structure = jax.tree_util.tree_flatten(self.subject)
        again = jax.tree_util.tree_unflatten(structure, leaves)
        assert type(again) is SHAPES[self.subject.name]
        assert jax.tree_util.tree_structure(again) == structure
        for other in SHAPES.values():
            if other is not type(self.subject):
                twin = object.__new__(other)
                for field in dataclasses.fields(other):  # type: ignore[arg-type]
                    object.__setattr__(twin, field.name, 1.0)
                assert jax.tree_util.tree_structure(twin) != structure

    def test_one_program_serves_a_batch_of_sizes(self) -> None:
        factors = jnp.array([1.0, 1.1])

        def spread(leaf: Any) -> Any:
            return factors.reshape(-1, *[1] * jnp.ndim(leaf)) * leaf

        if jax.tree_util.tree_leaves(self.subject):
            batch = jax.tree_util.tree_map(spread, self.subject)
            places = jnp.asarray(self.places())
            both = jax.vmap(distances, (0, None))(batch, places)
            np.testing.assert_allclose(both[0], self.distance(self.places()), atol=1e-9)
            assert bool(jnp.all(jnp.isfinite(both)))

"""Shapes whose distance has a closed form."""

from __future__ import annotations

from typing import Any, ClassVar

import jax.numpy as jnp
from jaxtyping import Array, Float

from fiddlehead.objects.shapes.base import ObjectShape, box_distance, norm, shape


@shape
class Sphere(ObjectShape):
    """A ball."""

    name: ClassVar[str] = "sphere"
    diameter_mm: Any

    def distance(self, points: Float[Array, "*batch 3"]) -> Float[Array, "*batch"]:
        return norm(points) - self.diameter_mm / 2

    def bounds(self) -> tuple[Float[Array, "3"], Float[Array, "3"]]:
        half = self.diameter_mm / 2 * jnp.ones(3)
        return -half, half


@shape
class Plane(ObjectShape):
    """Everything below z = 0: a flat table or plate, without end."""

    name: ClassVar[str] = "plane"

    def distance(self, points: Float[Array, "*batch 3"]) -> Float[Array, "*batch"]:
        return points[..., 2]

    def bounds(self) -> tuple[Float[Array, "3"], Float[Array, "3"]]:
        endless = jnp.full(3, jnp.inf)
        return -endless, endless.at[2].set(0.0)


@shape
class Cylinder(ObjectShape):
    """A round bar along z, its two edges rounded."""

    name: ClassVar[str] = "cylinder"
    diameter_mm: Any
    length_mm: Any
    edge_radius_mm: Any

    def distance(self, points: Float[Array, "*batch 3"]) -> Float[Array, "*batch"]:
        e = self.edge_radius_mm
        across = norm(points[..., :2]) - (self.diameter_mm / 2 - e)
        along = jnp.abs(points[..., 2]) - (self.length_mm / 2 - e)
        return box_distance(jnp.stack([across, along], axis=-1), e)

    def bounds(self) -> tuple[Float[Array, "3"], Float[Array, "3"]]:
        half = jnp.stack([jnp.asarray(s) / 2 for s in (*2 * [self.diameter_mm], self.length_mm)])
        return -half, half


@shape
class RoundedBox(ObjectShape):
    """A block with rounded edges: length along x, width along y, height along z."""

    name: ClassVar[str] = "rounded box"
    length_mm: Any
    width_mm: Any
    height_mm: Any
    edge_radius_mm: Any

    def distance(self, points: Float[Array, "*batch 3"]) -> Float[Array, "*batch"]:
        half = self.bounds()[1]
        return box_distance(jnp.abs(points) - (half - self.edge_radius_mm), self.edge_radius_mm)

    def bounds(self) -> tuple[Float[Array, "3"], Float[Array, "3"]]:
        sizes = (self.length_mm, self.width_mm, self.height_mm)
        half = jnp.stack([jnp.asarray(size) / 2 for size in sizes])
        return -half, half


@shape
class Capsule(ObjectShape):
    """A round bar along z that ends in half balls; ``length_mm`` includes them."""

    name: ClassVar[str] = "capsule"
    diameter_mm: Any
    length_mm: Any

    def distance(self, points: Float[Array, "*batch 3"]) -> Float[Array, "*batch"]:
        half = (self.length_mm - self.diameter_mm) / 2
        z = points[..., 2]
        from_axis = jnp.stack([points[..., 0], points[..., 1], z - jnp.clip(z, -half, half)], -1)
        return norm(from_axis) - self.diameter_mm / 2

    def bounds(self) -> tuple[Float[Array, "3"], Float[Array, "3"]]:
        half = jnp.stack([jnp.asarray(s) / 2 for s in (*2 * [self.diameter_mm], self.length_mm)])
        return -half, half

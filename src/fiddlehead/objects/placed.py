"""Where an object stands: a shape with a position and a rotation."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from typing import Any

import jax
import jax.numpy as jnp
from jaxtyping import Array, Float

from fiddlehead.errors import ParameterError
from fiddlehead.objects.shapes.base import ObjectShape, register


@dataclasses.dataclass(frozen=True)
class Pose:
    """Position of the shape's origin, mm, and rotation about it as a rotation vector: its
    direction is the axis, its length the angle in radians."""

    position_mm: Any
    """``Float[Array, "3"]``, mm."""
    rotation: Any
    """``Float[Array, "3"]``, radians."""

    def into_shape(self, points: Float[Array, "*batch 3"]) -> Float[Array, "*batch 3"]:
        """The same points seen from the shape, mm."""
        return _turn(-jnp.asarray(self.rotation), points - jnp.asarray(self.position_mm))

    def into_world(self, points: Float[Array, "*batch 3"]) -> Float[Array, "*batch 3"]:
        """Points of the shape where they are in the world, mm."""
        return _turn(jnp.asarray(self.rotation), points) + jnp.asarray(self.position_mm)


@dataclasses.dataclass(frozen=True)
class Placed:
    """A shape that stands somewhere."""

    shape: ObjectShape
    pose: Pose

    def distance(self, points: Float[Array, "*batch 3"]) -> Float[Array, "*batch"]:
        """Signed distance to the surface at points of the world, mm; negative inside."""
        return self.shape.distance(self.pose.into_shape(points))

    def distance_and_normal(
        self, points: Float[Array, "*batch 3"]
    ) -> tuple[Float[Array, "*batch"], Float[Array, "*batch 3"]]:
        """Signed distance, mm, and its gradient: outward normals of unit length."""
        flat = points.reshape(-1, 3)
        value, normal = jax.vmap(jax.value_and_grad(lambda point: self.distance(point)))(flat)
        return value.reshape(points.shape[:-1]), normal.reshape(points.shape)


register(Pose, "pose", ["position_mm", "rotation"])
register(Placed, "placed", ["shape", "pose"])


def pose(
    position_mm: Sequence[float] = (0.0, 0.0, 0.0),
    axis: Sequence[float] = (0.0, 0.0, 1.0),
    angle_deg: float = 0.0,
) -> Pose:
    """A pose from a position and a turn about an axis.

    Raises
    ------
    ParameterError : the axis has no direction, or a number is not finite
    """
    length = math.sqrt(sum(float(part) ** 2 for part in axis))
    numbers = [*position_mm, *axis, angle_deg]
    if (
        len(position_mm) != 3
        or len(axis) != 3
        or not all(map(math.isfinite, numbers))
        or not length
    ):
        raise ParameterError(
            "no such pose",
            where="object pose",
            found=f"position {list(position_mm)}, axis {list(axis)}, angle {angle_deg}",
            allowed="three finite numbers each; an axis that points somewhere",
        )
    turn = math.radians(angle_deg) / length
    return Pose(jnp.asarray(position_mm, float), turn * jnp.asarray(axis, float))


def _turn(rotation: Any, points: Any) -> Any:
    """Turn points by a rotation vector (Rodrigues' formula), smooth through no rotation."""
    square = jnp.sum(rotation**2)
    small = square < 1e-8
    angle = jnp.sqrt(jnp.where(small, 1.0, square))
    sine = jnp.where(small, 1 - square / 6, jnp.sin(angle) / angle)
    versed = jnp.where(small, 0.5 - square / 24, (1 - jnp.cos(angle)) / angle**2)
    once = jnp.cross(jnp.broadcast_to(rotation, points.shape), points)
    twice = jnp.cross(jnp.broadcast_to(rotation, points.shape), once)
    return points + sine * once + versed * twice

"""Where a free object is: the place of its centre of mass and how it is turned.

Small motions are a shift of the centre of mass (mm) and a turn about it (radians), in that order;
wrenches that go with them are forces (N) and moments about the centre of mass (N·mm).
"""

from __future__ import annotations

import dataclasses
from typing import Any

import jax
import jax.numpy as jnp
import numpy as np
from jaxtyping import Array, Float

from fiddlehead.objects.shapes.base import register


@dataclasses.dataclass(frozen=True)
class Stance:
    """A pose that contact understands, and that turns without limit."""

    position_mm: Any
    """``Float[Array, "3"]``: the centre of mass."""
    turn: Any
    """``Float[Array, "3 3"]``: columns are the shape's axes."""
    centre_mm: Any
    """``Float[Array, "3"]``: the centre of mass in the shape's frame."""

    def into_shape(self, points: Float[Array, "*batch 3"]) -> Float[Array, "*batch 3"]:
        """The same points seen from the shape, mm."""
        seen: Any = (points - self.position_mm) @ self.turn + self.centre_mm
        return seen

    def into_world(self, points: Float[Array, "*batch 3"]) -> Float[Array, "*batch 3"]:
        """Points of the shape where they are, mm."""
        seen: Any = (points - self.centre_mm) @ jnp.swapaxes(self.turn, -1, -2) + self.position_mm
        return seen

    def moved(self, small: Float[Array, "6"]) -> Stance:
        """After a small motion; exact for the turn."""
        return Stance(self.position_mm + small[:3], rotation(small[3:]) @ self.turn, self.centre_mm)

    def seen_from(self, place: Float[Array, "3 4"]) -> Stance:
        """In the axes of a finger whose rotation and shift are ``place``."""
        turn, origin = place[:, :3], place[:, 3]
        return Stance((self.position_mm - origin) @ turn, turn.T @ self.turn, self.centre_mm)


register(Stance, "stance", ["position_mm", "turn", "centre_mm"])


def rotation(vector: Float[Array, "3"]) -> Float[Array, "3 3"]:
    """Rotation matrix of a rotation vector (Rodrigues' formula), smooth through no rotation."""
    square = jnp.sum(vector**2)
    small = square < 1e-8
    angle = jnp.sqrt(jnp.where(small, 1.0, square))
    sine = jnp.where(small, 1 - square / 6, jnp.sin(angle) / angle)
    versed = jnp.where(small, 0.5 - square / 24, (1 - jnp.cos(angle)) / angle**2)
    x, y, z = vector
    zero = jnp.zeros_like(x)
    skew = jnp.stack([jnp.stack([zero, -z, y]), jnp.stack([z, zero, -x]), jnp.stack([-y, x, zero])])
    return jnp.eye(3) + sine * skew + versed * skew @ skew


def motion_between(first: Stance, last: Stance) -> Float[np.ndarray, "6"]:
    """Shift (mm) and rotation vector (radians) from one stance to another."""
    from scipy.spatial.transform import Rotation

    turn = np.asarray(last.turn) @ np.asarray(first.turn).T
    shift = np.asarray(last.position_mm) - np.asarray(first.position_mm)
    return np.concatenate([shift, Rotation.from_matrix(turn).as_rotvec()])


def carried_by(place: Float[Array, "3 4"]) -> Float[Array, "6 6"]:
    """Matrix that turns a wrench or small motion from a finger's axes into the gripper's."""
    turn = place[:, :3]
    return jax.scipy.linalg.block_diag(turn, turn)

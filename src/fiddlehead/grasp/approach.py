"""Whether the open gripper gets over the object."""

from __future__ import annotations

import dataclasses
import math

import jax.numpy as jnp
import numpy as np
from jaxtyping import Float

from fiddlehead.grasp.gripper import Gripper
from fiddlehead.grasp.task import Held, Task, standing

STEPS = 24


def straight_face(gripper: Gripper, number: int) -> Float[np.ndarray, "point 3"]:
    """Points of a straight finger's gripping face, in the gripper's axes, mm."""
    finger = gripper.finger
    along = np.linspace(finger.root_length_mm, finger.length_mm, STEPS)
    across = np.linspace(-0.5, 0.5, 5) * finger.width_mm
    x, z = (grid.ravel() for grid in np.meshgrid(along, across, indexing="ij"))
    y = np.full_like(x, -finger.pad_depth_mm)
    place = gripper.place(number)
    return np.column_stack([x, y, z]) @ place[:, :3].T + place[:, 3]


def room_mm(gripper: Gripper, held: Held, task: Task) -> float:
    """Least distance between object and open fingers on the way down; negative where they meet."""
    stance = standing(held, gripper, task)
    faces = np.vstack([straight_face(gripper, k) for k in range(gripper.fingers)])
    low, high = (np.asarray(corner, float) for corner in held.shape.bounds())
    heights = np.linspace(0.0, float(high[2] - low[2]) + gripper.tip_depth_mm(), STEPS)
    points = faces[None] + np.array([0.0, 0.0, 1.0]) * heights[:, None, None]
    seen = np.asarray(stance.into_shape(jnp.asarray(points)))
    return float(held.field.distance(seen).min())


def reaches_in(gripper: Gripper, held: Held, task: Task) -> bool:
    """Whether the open fingers come down beside the object without touching it."""
    return room_mm(gripper, held, task) > 0.0


def fitted(gripper: Gripper, held: Held, task: Task) -> Gripper:
    """The same fingers on the pitch radius that leaves the wanted room around the object.

    The least of them, in half millimetres; never so small that the fingers meet at rest.
    """
    least = gripper.closest_radius_mm() + gripper.finger.pad_depth_mm + 0.5
    pitch = max(held.radius_mm + task.position_error_mm + gripper.finger.pad_depth_mm, least)
    for _ in range(12):
        one = dataclasses.replace(gripper, pitch_radius_mm=pitch)
        short = task.position_error_mm - room_mm(one, held, task)
        if abs(short) < 0.05:
            break
        pitch = max(pitch + short, least)
    return dataclasses.replace(gripper, pitch_radius_mm=math.ceil(2 * pitch - 0.1) / 2)

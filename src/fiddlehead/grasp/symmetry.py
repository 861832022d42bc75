"""Which fingers are alike in a grasp, and which motions symmetry leaves to the object."""

from __future__ import annotations

import dataclasses
import math

import jax.numpy as jnp
import numpy as np
from jaxtyping import Float

from fiddlehead.grasp.gripper import Gripper
from fiddlehead.grasp.stance import Stance
from fiddlehead.objects.shapes.base import ObjectShape

SAME_MM = 1e-6
"""Distances that differ by less count as equal."""


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class Symmetry:
    """What symmetry saves.

    half : every finger's plane mirrors the object, so half fingers do
    groups : numbers of the fingers that see the same
    motions : orthonormal columns of the motions that the object can make
    """

    half: bool
    groups: tuple[tuple[int, ...], ...]
    motions: Float[np.ndarray, "6 way"]

    @property
    def free(self) -> Float[np.ndarray, "6 6"]:
        """Projector on the motions."""
        projector: Float[np.ndarray, "6 6"] = self.motions @ self.motions.T
        return projector


UP = np.eye(6)[:, 2:3]


def symmetry_of(
    gripper: Gripper, shape: ObjectShape, stance: Stance, *, lone: bool = False
) -> Symmetry:
    """Look at the object from every finger.

    Parameters
    ----------
    lone : take nothing for symmetric: whole fingers, each on its own, six motions
    """
    fingers = range(gripper.fingers)
    everything = Symmetry(half=False, groups=tuple((k,) for k in fingers), motions=np.eye(6))
    if lone:
        return everything
    low, high = (np.asarray(corner, float) for corner in shape.bounds())
    reach = float(np.linalg.norm(high - low))
    sown = np.random.default_rng(1).uniform(-1.0, 1.0, (400, 3)) * reach / 2.0
    points = sown + np.asarray(stance.position_mm)

    def distance(at: Float[np.ndarray, "point 3"]) -> Float[np.ndarray, " point"]:
        return np.asarray(shape.distance(stance.into_shape(jnp.asarray(at))))

    before = distance(points)

    def unchanged(matrix: Float[np.ndarray, "3 3"]) -> bool:
        return bool(np.abs(distance(points @ matrix.T) - before).max() < SAME_MM)

    half = all(unchanged(_mirror(math.radians(gripper.directions_deg[k]))) for k in fingers)
    turns = [
        d for d in range(1, 360) if _onto_itself(gripper, float(d)) and unchanged(_turn(float(d)))
    ]
    balanced = bool(turns) and float(np.ptp(gripper.shares)) == 0.0
    if not balanced:
        return _pair(gripper, everything) if half else everything
    groups: list[list[int]] = []
    for k in fingers:
        for group in groups:
            if unchanged(_turn(gripper.directions_deg[k] - gripper.directions_deg[group[0]])):
                group.append(k)
                break
        else:
            groups.append([k])
    motions = UP if half else np.eye(6)[:, [2, 5]]
    return Symmetry(half=half, groups=tuple(map(tuple, groups)), motions=motions)


def _pair(gripper: Gripper, everything: Symmetry) -> Symmetry:
    """Two opposite fingers on an object that their common plane mirrors."""
    if gripper.fingers != 2 or not gripper.even:
        return everything
    angle = math.radians(gripper.directions_deg[0])
    along = np.array([math.cos(angle), math.sin(angle), 0.0])
    motions = np.zeros((6, 3))
    motions[:3, 0] = along
    motions[2, 1] = 1.0
    motions[3:, 2] = np.cross([0.0, 0.0, 1.0], along)
    return Symmetry(half=True, groups=everything.groups, motions=motions)


def _onto_itself(gripper: Gripper, degrees: float) -> bool:
    own = np.sort(np.mod(np.round(gripper.directions_deg, 9), 360.0))
    moved = np.sort(np.mod(np.round(np.asarray(gripper.directions_deg) + degrees, 9), 360.0))
    return bool(np.allclose(own, moved, atol=1e-6))


def _turn(degrees: float) -> Float[np.ndarray, "3 3"]:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])


def _mirror(angle: float) -> Float[np.ndarray, "3 3"]:
    """Reflection in the plane of the axis and a direction around it."""
    c, s = math.cos(2 * angle), math.sin(2 * angle)
    return np.array([[c, s, 0.0], [s, -c, 0.0], [0.0, 0.0, 1.0]])

"""Where freely bending fingers meet an object, and how hard they can press there.

No contact is computed: the finger's shape is that of free bending, and the force is the hand bound
``p A e / L`` of the pressure beyond that at which it touches.
"""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
from jaxtyping import Float

from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.grasp.field import Field
from fiddlehead.grasp.gripper import Gripper
from fiddlehead.grasp.task import Held, Task, standing
from fiddlehead.material.laws.base import Energy
from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.trials.handbound import hand_bound_n
from fiddlehead.trials.lateral import lateral
from fiddlehead.trials.records import LateralResult

FINER = 4
"""Steps of pressure for each step that was computed."""
CENTRING_STEPS = 12
LARGEST_STEP_MM = 2.0
FAR = 1e3
PROBE_MM = 0.05
NEAR_MM = 0.05
"""How sharply the nearest of a face's points is picked out."""
EVEN_ENOUGH = 1e-3
"""Sideways push over all pushes that counts as none."""


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class FingerMotion:
    """How one free finger bends: its gripping face at mid-width, in the finger's axes."""

    finger: FingerParameters
    pressure_mpa: Float[np.ndarray, " step"]
    along_mm: Float[np.ndarray, " point"]
    """Undeformed distance from the root."""
    face_mm: Float[np.ndarray, "step point 2"]
    lateral_n_per_mm: Float[np.ndarray, " step"]
    """Lateral stiffness at the tip."""
    young_mpa: float
    """Initial modulus of the material."""


def finger_motion(
    finger: FingerParameters,
    law: Energy,
    bulk_modulus_mpa: float,
    pressures_mpa: Any,
    mesh_settings: MeshSettings | None = None,
    *,
    result: LateralResult | None = None,
) -> FingerMotion:
    """Free bending of one finger, from the trial ``lateral`` (or its result, if it was run).

    Raises
    ------
    ParameterError, MeshError : a finger or pressures that make no sense
    """
    found = result or lateral(
        finger, law, bulk_modulus_mpa, pressures_mpa, mesh_settings=mesh_settings
    )
    mesh = found.mesh
    nodes = np.unique(mesh.faces["underside"])
    nodes = nodes[np.abs(mesh.points[nodes, 2]) < 1e-9]
    nodes = nodes[np.argsort(mesh.points[nodes, 0])]
    moved = mesh.points[nodes] + found.displacement_mm[:, nodes]
    return FingerMotion(
        finger=finger,
        pressure_mpa=found.pressure_mpa,
        along_mm=mesh.points[nodes, 0],
        face_mm=moved[..., :2],
        lateral_n_per_mm=found.stiffness_n_per_mm,
        young_mpa=3.0 * float(law.shear_modulus_mpa),
    )


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class Meeting:
    """Contact of each finger as the estimate sees it, in the gripper's axes."""

    touch_mpa: Float[np.ndarray, " finger"]
    """``FAR`` where it never touches."""
    place: Float[np.ndarray, "finger 3"]
    out: Float[np.ndarray, "finger 3"]
    """Outward normals of the object there."""
    radius_mm: Float[np.ndarray, " finger"]
    """Mean radius of curvature of the object there."""
    normal_n: Float[np.ndarray, " finger"]


def faces_of(
    motion: FingerMotion, gripper: Gripper
) -> tuple[Float[np.ndarray, "finger step point 3"], Float[np.ndarray, " step"]]:
    """Gripping faces of all fingers in the gripper's axes, at finer steps of pressure."""
    count = len(motion.pressure_mpa)
    fine = np.linspace(0, count - 1, FINER * (count - 1) + 1)
    low = np.minimum(fine.astype(int), count - 2)
    part = fine - low

    def between(values: np.ndarray) -> np.ndarray:
        shape = (-1, *([1] * (values.ndim - 1)))
        mixed: np.ndarray = values[low] * (1 - part).reshape(shape) + values[
            low + 1
        ] * part.reshape(shape)
        return mixed

    face = between(motion.face_mm)
    flat = np.concatenate([face, np.zeros((*face.shape[:2], 1))], axis=2)
    placed = []
    for number in range(gripper.fingers):
        place = gripper.place(number)
        placed.append(flat @ place[:, :3].T + place[:, 3])
    return np.stack(placed), between(motion.pressure_mpa)


def lever_n_per_mpa(
    finger: FingerParameters, along_mm: Float[np.ndarray, " point"]
) -> Float[np.ndarray, " point"]:
    """Bound of the normal force for each MPa beyond touching."""
    reach = np.maximum(along_mm, finger.root_length_mm + 0.1 * finger.length_mm)
    return hand_bound_n(finger, np.ones(len(reach)), reach)


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class Setting:
    """What :func:`meet` needs of gripper, object and air."""

    field: Field
    centre_mm: Float[np.ndarray, "3"]
    """Centre of mass in the shape's frame."""
    position_mm: Float[np.ndarray, "3"]
    """Centre of mass in the gripper's axes."""
    turn: Float[np.ndarray, "3 3"]
    scale: float
    """Size of the object over its recorded size."""
    faces: Float[np.ndarray, "finger step point 3"]
    pressures: Float[np.ndarray, " step"]
    pressure_mpa: Float[np.ndarray, " finger"]
    per_mpa: Float[np.ndarray, " point"]
    """Hand bound along the face."""

    def distance(
        self, points: Float[np.ndarray, "*batch 3"], shift: Float[np.ndarray, "2"]
    ) -> Float[np.ndarray, "*batch"]:
        """Signed distance to the object shifted sideways, mm."""
        return self.scale * self.field.coarse_distance(self._seen(points, shift))

    def normal_and_radius(
        self, points: Float[np.ndarray, "point 3"], shift: Float[np.ndarray, "2"]
    ) -> tuple[Float[np.ndarray, "point 3"], Float[np.ndarray, " point"]]:
        """Outward normals in the gripper's axes, and mean radii, mm."""
        normal, radius = self.field.normal_and_radius(self._seen(points, shift))
        return normal @ self.turn.T, self.scale * radius

    def _seen(self, points: np.ndarray, shift: np.ndarray) -> np.ndarray:
        arm = points - self.position_mm - np.append(shift, 0.0)
        seen: np.ndarray = (arm @ self.turn) / self.scale + self.centre_mm
        return seen


def setting(motion: FingerMotion, gripper: Gripper, held: Held, task: Task) -> Setting:
    """Put together what does not change."""
    faces, pressures = faces_of(motion, gripper)
    stance = standing(held, gripper, task)
    return Setting(
        field=held.field,
        centre_mm=held.mass.centre_mm,
        position_mm=np.asarray(stance.position_mm),
        turn=np.asarray(stance.turn),
        scale=1.0,
        faces=faces,
        pressures=pressures,
        pressure_mpa=task.pressure_mpa * gripper.shares,
        per_mpa=lever_n_per_mpa(motion.finger, motion.along_mm),
    )


def meet(given: Setting, shift: Float[np.ndarray, "2"]) -> Meeting:
    """Contacts of all fingers with the object shifted sideways."""
    gap = given.distance(given.faces, shift)  # finger step point
    least = gap.min(axis=2)
    fingers = np.arange(len(least))
    meets = least <= 0.0
    step = np.where(meets.any(1), meets.argmax(1), meets.shape[1] - 1)
    before = np.maximum(step - 1, 0)
    top, bottom = least[fingers, before], least[fingers, step]
    share = np.where(step > before, top / np.where(top > bottom, top - bottom, 1.0), 0.0)
    share = np.clip(share, 0.0, 1.0)
    low, high = given.pressures[before], given.pressures[step]
    touch = np.where(meets.any(1), low + share * (high - low), FAR)
    # the place moves evenly with the gap, not by whole points: those nearest, by closeness
    near = np.exp(-(gap[fingers, step] - bottom[:, None]) / NEAR_MM)
    near /= near.sum(1, keepdims=True)
    place = np.einsum("fp,fpi->fi", near, given.faces[fingers, step])
    out, radius = given.normal_and_radius(place, shift)
    normal = (near @ given.per_mpa) * np.maximum(given.pressure_mpa - touch, 0.0)
    return Meeting(touch_mpa=touch, place=place, out=out, radius_mm=radius, normal_n=normal)


def centred(given: Setting) -> tuple[Meeting, Float[np.ndarray, "2"], float]:
    """Let the closing fingers push the object sideways until their pushes balance.

    Returns the contacts, the shift, and what is left out of balance over the forces.
    """

    def uneven(found: Meeting) -> Float[np.ndarray, "2"]:
        push: Float[np.ndarray, "2"] = -(found.normal_n[:, None] * found.out)[:, :2].sum(0)
        return push

    shift = np.zeros(2)
    found = meet(given, shift)
    for _ in range(CENTRING_STEPS):
        push, total = uneven(found), found.normal_n.sum()
        if np.linalg.norm(push) <= EVEN_ENOUGH * total:
            break
        slope = np.column_stack(
            [(uneven(meet(given, shift + PROBE_MM * e)) - push) / PROBE_MM for e in np.eye(2)]
        )
        values, vectors = np.linalg.eigh(0.5 * (slope + slope.T))
        stiff = np.maximum(-values, 0.002 * total + 1e-6)
        step = vectors @ ((vectors.T @ push) / stiff)
        step *= min(1.0, LARGEST_STEP_MM / max(float(np.linalg.norm(step)), 1e-12))
        shift = shift + step
        found = meet(given, shift)
    left = np.linalg.norm(uneven(found)) / max(float(found.normal_n.sum()), 1e-9)
    return found, shift, float(left)

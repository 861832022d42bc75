"""The fast estimate of a grasp: milliseconds, once the free bending of the finger is known."""

from __future__ import annotations

import dataclasses

import numpy as np
from jaxtyping import Float

from fiddlehead.grasp import margins
from fiddlehead.grasp.approach import reaches_in
from fiddlehead.grasp.closed_forms import spin_lever_mm
from fiddlehead.grasp.gripper import MEET, Gripper
from fiddlehead.grasp.quality import epsilon, scaled
from fiddlehead.grasp.records import HELD, LOST, GraspEstimate, Margins, Sight, Verdict
from fiddlehead.grasp.skin import skin
from fiddlehead.grasp.task import Held, Task
from fiddlehead.grasp.touch import FAR, FingerMotion, Meeting, Setting, centred, setting
from fiddlehead.grasp.wrench import Contacts, contacts, primitive_wrenches

OFF_BALANCE = 0.05
"""Sideways push left over all pushes, from which an object counts as pushed away; our choice."""


def estimate(motion: FingerMotion, gripper: Gripper, held: Held, task: Task) -> GraspEstimate:
    """Judge a grasp by free bending, rigid friction and a bound on the force.

    Raises
    ------
    ParameterError : a gripper or task that makes no sense
    """
    gripper.validate()
    task.validate()
    given = setting(motion, gripper, held, task)
    meeting, shift, left = centred(given)
    centre = given.position_mm + np.append(shift, 0.0)
    found, peak = rigid(meeting, centre, held.record.friction_coefficient, gripper, motion)
    return judge(
        found, meeting, held, task, gripper, motion,
        fits=reaches_in(gripper, held, task),
        balanced=bool(left < OFF_BALANCE),
        peak_mpa=peak,
        shift_mm=float(np.linalg.norm(shift)),
        sight=_sight(given, meeting, held, centre),
    )  # fmt: skip


def _sight(given: Setting, meeting: Meeting, held: Held, centre: Float[np.ndarray, "3"]) -> Sight:
    faces, pressures = given.faces, given.pressures
    stops = np.minimum(meeting.touch_mpa, given.pressure_mpa)
    steps = np.searchsorted(pressures, stops - 1e-12).clip(0, len(pressures) - 1)
    return Sight(
        skin_mm=skin(held) @ given.turn.T + centre,
        faces_mm=np.stack([face[step] for face, step in zip(faces, steps, strict=True)]),
    )


def rigid(
    meeting: Meeting,
    centre: Float[np.ndarray, "3"],
    friction: float,
    gripper: Gripper,
    motion: FingerMotion,
) -> tuple[Contacts, float | None]:
    """Rigid contacts about the object's centre of mass, and the largest peak pressure (MPa).

    The patch is that of Hertz for a finger without pad; with a pad it is taken as half as wide as
    the finger, and its pressure is not estimated.
    """
    normal = meeting.normal_n
    half_width = gripper.finger.width_mm / 2.0
    if gripper.finger.pad is None:
        modulus = motion.young_mpa / 0.75
        radius = np.minimum(meeting.radius_mm, FAR)
        patch = np.cbrt(0.75 * normal * radius / modulus)
        peak = float((1.5 * normal / (np.pi * np.maximum(patch, 1e-9) ** 2)).max())
        lever = np.array([spin_lever_mm(a, "hertz") for a in np.minimum(patch, half_width)])
        known: float | None = peak
    else:
        lever = np.full(len(normal), spin_lever_mm(half_width / 2.0))
        known = None
    return (
        contacts(meeting.place - centre, -meeting.out, friction, lever),
        known,
    )


def judge(
    found: Contacts,
    meeting: Meeting,
    held: Held,
    task: Task,
    gripper: Gripper,
    motion: FingerMotion,
    *,
    fits: bool,
    balanced: bool,
    peak_mpa: float | None,
    shift_mm: float,
    sight: Sight,
) -> GraspEstimate:
    """Verdict and numbers from contacts that are known."""
    record, mass = held.record, 1e-3 * held.record.mass_g
    normal, touch = meeting.normal_n, meeting.touch_mpa
    reached = bool((touch < task.pressure_mpa * gripper.shares).all())
    slip = payload = 0.0
    if reached:
        slip = margins.slip_margin(found, normal, mass, task.shake_m_per_s2)
        payload = margins.payload_kg(found, normal)
    damage, nearest = margins.damage_margin(record, peak_mpa, float(normal.max(initial=0.0)))
    give = mass * task.shake_m_per_s2 / gripper.fingers
    firm = float(np.interp(task.pressure_mpa, motion.pressure_mpa, motion.lateral_n_per_mm))
    allowed = margins.LATERAL_SHARE * gripper.finger.length_mm
    lateral = allowed * firm / give if give > 0 and firm > 0 else None
    found_margins = Margins(
        slip=slip if reached else None,
        damage=damage if reached else None,
        reach=float((task.pressure_mpa * gripper.shares / np.maximum(touch, 1e-6)).min())
        if touch.max() < FAR
        else 0.0,
        lateral=lateral,
    )
    remarks = (
        [f"Passed first: {nearest}."] if damage is not None and damage < 1.0 and reached else []
    )
    if gripper.neighbours_meet(sight.faces_mm):
        remarks.append(MEET)
    outcome, reason = HELD, ""
    if not fits:
        outcome, reason = LOST, "does not fit"
    elif not reached:
        outcome, reason = LOST, "not reached"
    elif not balanced:
        outcome, reason = LOST, "pushed away"
    elif slip < 1.0:
        outcome, reason = LOST, why_lost(found, normal, mass, task.shake_m_per_s2)
    elif damage is not None and damage < 1.0:
        reason = "crushed"
    sets = scaled(primitive_wrenches(found), held.radius_mm)
    return GraspEstimate(
        object=record,
        fingers=gripper.fingers,
        pressure_mpa=task.pressure_mpa,
        touch_pressure_mpa=np.where(touch < FAR, touch, np.inf),
        contact_mm=found.position,
        push=found.normal,
        normal_n=normal,
        contact_pressure_mpa=peak_mpa,
        epsilon_n=epsilon(sets, normal) if reached else 0.0,
        length_mm=held.radius_mm,
        payload_kg=payload,
        object_motion_mm=shift_mm,
        sight=sight,
        verdict=Verdict(
            outcome=outcome, reason=reason, margins=found_margins, remarks=tuple(remarks)
        ),
    )


def why_lost(
    found: Contacts, normal_n: Float[np.ndarray, " contact"], mass_kg: float, shake: float
) -> str:
    """The worst reason among the loads of a task; ``slips`` when each load alone is carried."""
    reasons = {margins.why_lost(found, normal_n, load) for load in margins.loads(mass_kg, shake)}
    for reason in ("not reached", "pushed away", "slips", "rolls out"):
        if reason in reasons:
            return reason
    return "slips"


def sensitivities(
    motion: FingerMotion, gripper: Gripper, held: Held, task: Task
) -> dict[str, float]:
    """Change of the estimate's payload (kg) with friction, pressure, place and size.

    Central differences; keys name the unit: ``payload_kg_per_mm_offset`` ...
    """

    def payload(
        friction: float = 0.0, kpa: float = 0.0, x: float = 0.0, size: float = 0.0
    ) -> float:
        given = setting(motion, gripper, held, task)
        given = dataclasses.replace(
            given,
            pressure_mpa=given.pressure_mpa + 1e-3 * kpa * gripper.shares,
            scale=1.0 + size / (2.0 * held.radius_mm),
            position_mm=given.position_mm + np.array([x, 0.0, 0.0]),
        )
        meeting, shift, _ = centred(given)
        centre = given.position_mm + np.append(shift, 0.0)
        mu = held.record.friction_coefficient + friction
        found, _ = rigid(meeting, centre, mu, gripper, motion)
        return margins.payload_kg(found, meeting.normal_n)

    mu = min(0.02, 0.5 * held.record.friction_coefficient)
    return {
        "payload_kg_per_friction": (payload(friction=mu) - payload(friction=-mu)) / (2 * mu)
        if mu > 0
        else 0.0,
        "payload_kg_per_kpa": (payload(kpa=1.0) - payload(kpa=-1.0)) / 2.0,
        "payload_kg_per_mm_offset": (payload(x=1.0) - payload()) / 1.0,
        "payload_kg_per_mm_size": (payload(size=0.5) - payload(size=-0.5)) / 1.0,
    }

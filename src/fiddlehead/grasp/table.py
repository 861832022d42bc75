"""Cells of a grasp table, from estimates or from full runs."""

from __future__ import annotations

import numpy as np

from fiddlehead.grasp.estimate import estimate
from fiddlehead.grasp.gripper import Gripper
from fiddlehead.grasp.records import Chance, GraspCell, GraspEstimate, GraspRun, Sight, skin_at
from fiddlehead.grasp.task import Held, Task
from fiddlehead.grasp.touch import FingerMotion

ESTIMATE, FULL = "estimate", "full run"


def column_name(gripper: Gripper) -> str:
    """``3 fingers, with pad``."""
    pad = "without pad" if gripper.finger.pad is None else "with pad"
    return f"{gripper.fingers} fingers, {pad}"


def cell_of_estimate(
    motion: FingerMotion, gripper: Gripper, held: Held, task: Task, chance: Chance | None = None
) -> GraspCell:
    """One cell by the fast estimate."""
    return cell(gripper, estimate(motion, gripper, held, task), chance)


def cell(
    gripper: Gripper, found: GraspEstimate | GraspRun, chance: Chance | None = None
) -> GraspCell:
    """A cell from what was found."""
    if isinstance(found, GraspEstimate):
        method, sight = ESTIMATE, found.sight
        force = float(found.normal_n.max(initial=0.0))
        pressure = found.contact_pressure_mpa
        deflection = None
    else:
        method, sight = FULL, _sight(found)
        before = np.array([name != "pull-off" for name in found.phase])
        force = float(found.normal_n[before].max(initial=0.0))
        pressure = float(found.p95_mpa[before].max(initial=0.0)) or None
        deflection = None if found.deflection_mm is None else float(found.deflection_mm.max())
    return GraspCell(
        object_name=found.object.name,
        column=column_name(gripper),
        fingers=gripper.fingers,
        padded=gripper.finger.pad is not None,
        pitch_radius_mm=gripper.pitch_radius_mm,
        method=method,
        verdict=found.verdict,
        payload_kg=found.payload_kg,
        normal_n=force,
        p95_kpa=None if pressure is None else 1e3 * pressure,
        deflection_mm=deflection,
        chance=chance,
        sight=sight,
    )


def _sight(run: GraspRun) -> Sight:
    step = next(
        (n for name in ("shake", "lift", "inflate") if (n := run.last(name)) is not None), 0
    )
    mesh = run.mesh
    nodes = np.unique(mesh.faces["underside"])
    nodes = nodes[np.abs(mesh.points[nodes, 2]) < 1e-9]
    nodes = nodes[np.argsort(mesh.points[nodes, 0])]
    faces = []
    for finger, place in enumerate(run.place):
        moved = mesh.points[nodes] + run.displacement_mm[step, run.group[finger], nodes]
        faces.append(moved @ place[:, :3].T + place[:, 3])
    return Sight(skin_mm=skin_at(run, step), faces_mm=np.stack(faces))

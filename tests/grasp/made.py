"""A small gripper, a ball, and a finger whose bending is made up, so that nothing is solved."""

from __future__ import annotations

import numpy as np

from fiddlehead.grasp.gripper import Gripper, even_directions
from fiddlehead.grasp.task import Task
from fiddlehead.grasp.touch import FingerMotion
from fiddlehead.objects.records import ObjectRecord
from tests.trials.made import SMALL

BALL = ObjectRecord(
    name="ball", shape="sphere", sizes={"diameter_mm": 30.0}, mass_g=8.0, friction_coefficient=0.5
)
TASK = Task(pressure_mpa=0.1, tips_below_middle_mm=6.0, shake_m_per_s2=1.0, position_error_mm=0.5)


def gripper(fingers: int = 3, pitch_radius_mm: float = 15.7) -> Gripper:
    return Gripper(
        finger=SMALL, directions_deg=even_directions(fingers), pitch_radius_mm=pitch_radius_mm
    )


def bending(most_deg: float = 40.0, steps: int = 6) -> FingerMotion:
    """Constant curvature beyond the root, in proportion to pressure."""
    along = np.linspace(SMALL.root_length_mm, SMALL.length_mm, 30)
    length = SMALL.length_mm - SMALL.root_length_mm
    pressures = np.linspace(0.0, 0.15, steps)
    faces = []
    for pressure in pressures:
        curve = np.radians(most_deg) * pressure / pressures[-1] / length + 1e-9
        turned = curve * (along - SMALL.root_length_mm)
        faces.append(
            np.column_stack(
                [SMALL.root_length_mm + np.sin(turned) / curve, -(1 - np.cos(turned)) / curve]
            )
        )
    return FingerMotion(
        finger=SMALL,
        pressure_mpa=pressures,
        along_mm=along,
        face_mm=np.array(faces),
        lateral_n_per_mm=np.full(steps, 2.0),
        young_mpa=12.0,
    )

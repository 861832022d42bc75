"""What a gripper is asked to do with an object."""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path

import jax.numpy as jnp
import numpy as np
from jaxtyping import Float

from fiddlehead.errors import ParameterError
from fiddlehead.grasp.field import Field, as_field
from fiddlehead.grasp.gripper import Gripper
from fiddlehead.grasp.inertia import MassProperties, mass_properties
from fiddlehead.grasp.stance import Stance
from fiddlehead.objects.making import shape_of
from fiddlehead.objects.records import ObjectRecord
from fiddlehead.objects.shapes.base import ObjectShape


@dataclasses.dataclass(frozen=True, kw_only=True)
class Task:
    """One pick: which object, where it stands, how it is shaken and pulled."""

    pressure_mpa: float
    """Gauge pressure of the fingers."""
    offset_mm: tuple[float, float] = (0.0, 0.0)
    """How far the object stands beside the gripper's axis."""
    turn_deg: float = 0.0
    """Turn of the object about the vertical."""
    tips_below_middle_mm: float = 10.0
    """How far the straight fingers reach below the middle of the object's height."""
    shake_m_per_s2: float = 5.0
    """Acceleration in any direction while it is held."""
    pull: tuple[float, float, float] = (0.0, 0.0, -1.0)
    """Direction of the pull-off test, in the gripper's axes."""
    position_error_mm: float = 5.0
    """Room wanted around the object when the open gripper comes down."""

    def validate(self) -> Task:
        """Return self.

        Raises
        ------
        ParameterError : numbers that make no task
        """
        numbers = [*self.offset_mm, self.turn_deg, self.tips_below_middle_mm, *self.pull]
        wrong = ""
        if not all(map(math.isfinite, numbers)):
            wrong = "places and directions must be finite"
        elif not (math.isfinite(self.pressure_mpa) and self.pressure_mpa > 0):
            wrong = "the pressure must be above 0"
        elif not 0 <= self.shake_m_per_s2 <= 200 or not 0 <= self.position_error_mm <= 100:
            wrong = "shaking is 0 to 200 m/s2, the position error 0 to 100 mm"
        elif not np.any(self.pull):
            wrong = "a pull needs a direction"
        if wrong:
            raise ParameterError(wrong, where="grasp", found=f"{self}")
        return self

    @property
    def pull_direction(self) -> Float[np.ndarray, "3"]:
        """Unit vector of the pull."""
        pull = np.asarray(self.pull, float)
        direction: Float[np.ndarray, "3"] = pull / np.linalg.norm(pull)
        return direction

    @property
    def pulls_down(self) -> bool:
        """Whether the pull goes where the weight goes."""
        return bool(self.pull_direction[2] < -0.999)


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class Held:
    """An object ready to be gripped: record, shape and mass."""

    record: ObjectRecord
    shape: ObjectShape
    mass: MassProperties
    field: Field
    """The shape on a grid, for estimates."""

    @property
    def radius_mm(self) -> float:
        """Half of the larger horizontal side."""
        low, high = (np.asarray(corner, float) for corner in self.shape.bounds())
        return float((high - low)[:2].max() / 2.0)


def ready(record: ObjectRecord, folder: Path = Path()) -> Held:
    """The shape and mass of a recorded object; a scan's path counts from ``folder``.

    Raises
    ------
    ParameterError, InputError : sizes or a scan that make no object that can be lifted
    """
    shape = shape_of(record, folder)
    mass = mass_properties(shape, record.mass_g)
    return Held(record=record, shape=shape, mass=mass, field=as_field(shape))


def standing(held: Held, gripper: Gripper, task: Task) -> Stance:
    """Where the object stands when the open gripper has come down, in the gripper's axes."""
    low, high = (np.asarray(corner, float) for corner in held.shape.bounds())
    middle = 0.5 * (low + high)
    angle = math.radians(task.turn_deg)
    turn = np.array(
        [[math.cos(angle), -math.sin(angle), 0], [math.sin(angle), math.cos(angle), 0], [0, 0, 1]]
    )
    height = -gripper.tip_depth_mm() + task.tips_below_middle_mm
    at = np.array([*task.offset_mm, height]) + turn @ (held.mass.centre_mm - middle)
    # only the height and the place count from the middle; sideways the shape's own axis counts
    at[:2] = np.asarray(task.offset_mm) + (turn @ held.mass.centre_mm)[:2]
    return Stance(jnp.asarray(at), jnp.asarray(turn), jnp.asarray(held.mass.centre_mm))

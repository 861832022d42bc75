"""What a grasp found: plain arrays that can be saved, reloaded and drawn without a solver."""

from __future__ import annotations

import dataclasses

import numpy as np
from jaxtyping import Float, Int

from fiddlehead.mesh.records import Mesh
from fiddlehead.objects.records import ObjectRecord

PHASES = ("inflate", "lift", "shake", "pull-off")
HELD, LOST = "held", "lost"
REASONS = {
    "": "",
    "slips": "The load is more than friction carries.",
    "rolls out": "Forces balance, but nothing stops the object from turning between the fingers.",
    "pushed away": "The fingers press it out of the grasp: their forces do not balance.",
    "not reached": "Not every finger gets to it at this pressure.",
    "does not fit": "It does not go between the open fingers.",
    "crushed": "It is held, but pressed harder than it bears.",
    "not computed": "The run stopped before it was clear whether it holds.",
}
"""Why a grasp fails, in plain words."""


@dataclasses.dataclass(frozen=True, kw_only=True)
class Margins:
    """Factors by which a limit is kept; below 1 it is passed. None where nothing is known."""

    slip: float | None
    """Load that can be carried over the load of the task, the worst way of shaking."""
    damage: float | None
    """The object's limit over what it feels: contact pressure or force of one finger."""
    reach: float | None
    """Working pressure over that at which the last finger touches."""
    lateral: float | None
    """Sideways give of a finger that is allowed over what shaking causes."""

    def least(self) -> tuple[str, float]:
        """The tightest known margin and its name.

        An unknown grasp counts as nothing: ``("", 0)``.
        """
        known = {n: v for n, v in dataclasses.asdict(self).items() if v is not None}
        if not known:
            return "", 0.0
        name = min(known, key=lambda key: known[key])
        return name, known[name]


@dataclasses.dataclass(frozen=True, kw_only=True)
class Verdict:
    """Held or lost, and why."""

    outcome: str
    """``held`` or ``lost``."""
    reason: str
    """One of ``REASONS``; empty when nothing is wrong."""
    margins: Margins
    remarks: tuple[str, ...] = ()
    """What else to mind, in plain words."""

    @property
    def held(self) -> bool:
        """Whether it stays in the fingers, harmed or not."""
        return self.outcome == HELD

    @property
    def good(self) -> bool:
        """Whether it stays in the fingers unharmed."""
        return self.held and not self.reason

    @property
    def words(self) -> str:
        """The verdict in one sentence."""
        if self.good:
            return "Held."
        return f"{self.outcome.capitalize()}: {self.reason}. {REASONS[self.reason]}"


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class Chance:
    """How often a grasp succeeds when its numbers scatter (on the fast estimate)."""

    trials: int
    successes: int
    low: float
    high: float
    """Two-sided 95 % limits of the probability from the number of trials alone."""
    failures: dict[str, int]
    """How often each reason came up."""
    spread: dict[str, float]
    """Standard deviations that were drawn with, by name with unit."""
    seed: int

    @property
    def probability(self) -> float:
        """Share of successes."""
        return self.successes / self.trials


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class Sight:
    """What a small picture of a grasp needs, in the gripper's axes, mm."""

    skin_mm: Float[np.ndarray, "row column 3"]
    """Points of the object's surface."""
    faces_mm: Float[np.ndarray, "finger point 3"]
    """Gripping faces at mid-width where the fingers meet the object (or at full pressure)."""


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class GraspCell:
    """One cell of a grasp table: an object with one gripper."""

    object_name: str
    column: str
    """Which gripper: ``3 fingers, with pad``."""
    fingers: int
    padded: bool
    pitch_radius_mm: float
    method: str
    """``estimate`` or ``full run``."""
    verdict: Verdict
    payload_kg: float | None
    normal_n: float
    """Largest of the fingers."""
    p95_kpa: float | None
    deflection_mm: float | None
    """Largest out-of-plane motion of a tip under shaking; None where it was not computed."""
    chance: Chance | None
    sight: Sight


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class GraspTable:
    """Objects by grippers."""

    objects: tuple[str, ...]
    columns: tuple[str, ...]
    cells: tuple[GraspCell, ...]
    wanted_margin: float

    def cell(self, object_name: str, column: str) -> GraspCell | None:
        """One cell; None where the run was stopped before it."""
        for cell in self.cells:
            if (cell.object_name, cell.column) == (object_name, column):
                return cell
        return None


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class GraspEstimate:
    """The fast estimate: free bending, rigid friction, and the hand bound on each finger's force.

    No contact between soft finger and object was computed. Normal forces are upper bounds.
    """

    object: ObjectRecord
    fingers: int
    pressure_mpa: float
    touch_pressure_mpa: Float[np.ndarray, " finger"]
    """Where each finger's free bending meets the object; infinite where it never does."""
    contact_mm: Float[np.ndarray, "finger 3"]
    """Places, from the object's centre of mass, in the gripper's axes."""
    push: Float[np.ndarray, "finger 3"]
    """Directions in which the fingers press."""
    normal_n: Float[np.ndarray, " finger"]
    """Bound of each finger's normal force."""
    contact_pressure_mpa: float | None
    """Peak for a finger without pad pressing on a rigid object (Hertz); None with a pad."""
    epsilon_n: float
    """Force-limited quality: the least load, N (moments over ``length_mm``), that is too much."""
    length_mm: float
    payload_kg: float
    """Mass that friction carries at rest, straight up; 0 when nothing is carried."""
    object_motion_mm: float
    """How far the closing fingers shift the object before it is centred."""
    sight: Sight
    verdict: Verdict
    standing: str = (
        "estimate: free bending, rigid friction and a bound on the force (common practice)"
    )


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class GraspRun:
    """A grasp with full finger mechanics, step by step. Forces of whole fingers.

    Axes of the gripper: z to the wrist, fingers below z = 0; motions of the object are seen from
    the gripper, wrenches are about its centre of mass. ``group`` counts fingers that are alike.
    """

    object: ObjectRecord
    directions_deg: tuple[float, ...]
    group: Int[np.ndarray, " finger"]
    """Which group each finger belongs to."""
    half_fingers: bool
    """Whether each finger's plane was a plane of symmetry, so that half of it stood for it."""
    phase: tuple[str, ...]
    """One of ``PHASES`` for every step."""
    pressure_mpa: Float[np.ndarray, " step"]
    load_n: Float[np.ndarray, "step 3"]
    """Force on the object from outside (weight, shaking, pull, table)."""
    motion: Float[np.ndarray, "step 6"]
    """Shift (mm) and rotation vector (radians) of the object since it was approached."""
    wrench: Float[np.ndarray, "step 6"]
    """Of all fingers on the object, N and N·mm."""
    normal_n: Float[np.ndarray, "step group"]
    tangential_n: Float[np.ndarray, "step group"]
    contact_area_mm2: Float[np.ndarray, "step group"]
    peak_mpa: Float[np.ndarray, "step group"]
    p95_mpa: Float[np.ndarray, "step group"]
    """Contact pressure that 95 % of the touching area stays below."""
    slip_share: Float[np.ndarray, "step group"]
    """Share of the normal force whose friction is used up."""
    iterations: Int[np.ndarray, " step"]
    displacement_mm: Float[np.ndarray, "step group node 3"]
    """Of the modelled fingers, in their own axes."""
    place: Float[np.ndarray, "finger 3 4"]
    mesh: Mesh
    centre_mm: Float[np.ndarray, "3"]
    """Centre of mass in the shape's frame."""
    start_position_mm: Float[np.ndarray, "3"]
    start_turn: Float[np.ndarray, "3 3"]
    skin_mm: Float[np.ndarray, "row column 3"]
    """Points of the object's surface from its centre of mass, in the shape's axes."""
    touch_pressure_mpa: float
    """Gauge pressure of the first step at which every finger touches that does so in the end;
    infinite where fewer than two do."""
    payload_kg: float | None
    """Mass that could hang still, from the largest resistance to a pull straight down."""
    pull_off_n: float | None
    """Largest force of the pull, beside the weight."""
    pull_direction: Float[np.ndarray, "3"]
    stiffness: Float[np.ndarray, "6 6"] | None
    """Resistance to small motions of the lifted object, N/mm, N and N·mm."""
    deflection_mm: Float[np.ndarray, " finger"] | None
    """Out-of-plane motion of each finger's tip under the worst shaking."""
    epsilon_n: float
    length_mm: float
    verdict: Verdict
    partial: str
    """Why the run stopped early; empty when it went through."""
    solves: int
    elapsed_s: float

    def last(self, phase: str) -> int | None:
        """Number of the last step of a phase; None when it was not reached."""
        steps = [number for number, name in enumerate(self.phase) if name == phase]
        return steps[-1] if steps else None


def skin_at(run: GraspRun, step: int) -> Float[np.ndarray, "row column 3"]:
    """Points of the object's surface at a step, in the gripper's axes, mm."""
    x, y, z = run.motion[step, 3:]
    angle = float(np.linalg.norm(run.motion[step, 3:]))
    skew = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    sine, versed = (
        (np.sin(angle) / angle, (1 - np.cos(angle)) / angle**2) if angle > 1e-9 else (1.0, 0.5)
    )
    turn = (np.eye(3) + sine * skew + versed * skew @ skew) @ run.start_turn
    moved: Float[np.ndarray, "row column 3"] = (
        run.skin_mm @ turn.T + run.start_position_mm + run.motion[step, :3]
    )
    return moved

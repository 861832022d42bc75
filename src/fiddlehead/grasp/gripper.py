"""Fingers around an axis: where each stands, how far they open, where they run into each other.

Axes of the gripper: z along its axis to the wrist, fingers below z = 0. A finger's gripping face
looks at the axis from the pitch radius; splay tilts its tip outwards.
"""

from __future__ import annotations

import dataclasses
import math

import numpy as np
from jaxtyping import Float

from fiddlehead.errors import ParameterError
from fiddlehead.finger.parameters import FingerParameters

MOST_FINGERS = 6
CLEARANCE_MM = 1.0
"""Least room between neighbouring fingers; our choice."""


@dataclasses.dataclass(frozen=True, kw_only=True)
class Gripper:
    """Two to six equal fingers. Angles in degrees, lengths in mm."""

    finger: FingerParameters
    directions_deg: tuple[float, ...]
    """Direction of every finger around the axis."""
    pitch_radius_mm: float
    """From the axis to the gripping faces at the root (to the base layer, a pad stands inside)."""
    splay_deg: float = 0.0
    pressure_shares: tuple[float, ...] = ()
    """Share of the gripper's pressure that each finger gets; empty for all of it."""

    @property
    def shares(self) -> Float[np.ndarray, " finger"]:
        """Share of the pressure of every finger."""
        return np.array(self.pressure_shares or (1.0,) * self.fingers)

    @property
    def fingers(self) -> int:
        """How many."""
        return len(self.directions_deg)

    @property
    def pitch_deg(self) -> float:
        """Smallest angle between two neighbouring fingers."""
        at = np.sort(np.mod(self.directions_deg, 360.0))
        return float(np.diff(np.append(at, at[0] + 360.0)).min())

    @property
    def even(self) -> bool:
        """Whether the fingers stand evenly around the axis."""
        return math.isclose(self.pitch_deg, 360.0 / self.fingers, abs_tol=1e-6)

    def place(self, number: int) -> Float[np.ndarray, "3 4"]:
        """Rotation and shift from a finger's axes to the gripper's."""
        angle = math.radians(self.directions_deg[number])
        splay = math.radians(self.splay_deg)
        radial = np.array([math.cos(angle), math.sin(angle), 0.0])
        tangent = np.array([-math.sin(angle), math.cos(angle), 0.0])
        up = np.array([0.0, 0.0, 1.0])
        along = -math.cos(splay) * up + math.sin(splay) * radial
        outward = math.cos(splay) * radial + math.sin(splay) * up
        return np.column_stack([along, outward, -tangent, self.pitch_radius_mm * radial])

    def tip_depth_mm(self) -> float:
        """How far below the base the tips of the straight fingers are."""
        return self.finger.length_mm * math.cos(math.radians(self.splay_deg))

    def inner_radius_mm(
        self, along_mm: float | Float[np.ndarray, " point"]
    ) -> Float[np.ndarray, " point"]:
        """Distance of the straight fingers' gripping face (the pad's, if any) from the axis.

        Parameters
        ----------
        along_mm : distance from the root along the finger
        """
        along = np.atleast_1d(np.asarray(along_mm, float))
        splay = math.radians(self.splay_deg)
        depth = np.where(along >= self.finger.root_length_mm, self.finger.pad_depth_mm, 0.0)
        radius: Float[np.ndarray, " point"] = (
            self.pitch_radius_mm + along * math.sin(splay) - depth * math.cos(splay)
        )
        return radius

    def opening_mm(self) -> float:
        """Diameter of the circle that the straight fingers leave free at their tips."""
        return 2.0 * float(self.inner_radius_mm(self.finger.length_mm)[0])

    def closest_radius_mm(self) -> float:
        """Distance from the axis inside which neighbouring fingers meet.

        A finger as wide as b keeps clear of its neighbour's mirror plane, half the pitch away, down
        to ``b / 2 / tan(pitch / 2)``; ``CLEARANCE_MM`` between the two is kept.
        """
        half = math.radians(self.pitch_deg) / 2.0
        if half >= math.pi / 2 - 1e-9:
            return 0.0
        room = self.finger.width_mm / 2.0 + CLEARANCE_MM / 2.0 / math.cos(half)
        return room / math.tan(half)

    def neighbours_meet(self, faces_mm: Float[np.ndarray, "*point 3"]) -> bool:
        """Whether fingers whose gripping faces are at these points run into each other.

        Parameters
        ----------
        faces_mm : points of the gripping faces in the gripper's axes
        """
        inner = float(np.hypot(faces_mm[..., 0], faces_mm[..., 1]).min())
        return inner < self.closest_radius_mm()

    def validate(self) -> Gripper:
        """Return self.

        Raises
        ------
        ParameterError : fingers that cannot stand like this
        """
        numbers = (*self.directions_deg, self.pitch_radius_mm, self.splay_deg)
        if not 2 <= self.fingers <= MOST_FINGERS or not all(map(math.isfinite, numbers)):
            raise ParameterError(
                "a gripper has two to six fingers",
                where="gripper",
                found=f"{self.fingers} fingers",
                allowed="2 to 6, at finite angles",
            )
        if len(self.shares) != self.fingers or not np.all((self.shares > 0) & (self.shares <= 1)):
            raise ParameterError(
                "each finger needs its share of the pressure",
                where="grasp.pressure_shares",
                found=f"{list(self.pressure_shares)} for {self.fingers} fingers",
                allowed="as many numbers as fingers, above 0 up to 1; none for equal pressure",
            )
        if not 0.0 <= self.splay_deg <= 45.0:
            raise ParameterError(
                "fingers cannot lean like this",
                where="gripper.splay_deg",
                found=f"{self.splay_deg:g} deg",
                allowed="0 to 45 deg",
            )
        roots = self.pitch_radius_mm - self.finger.pad_depth_mm
        if roots <= self.closest_radius_mm():
            least = self.closest_radius_mm() + self.finger.pad_depth_mm
            raise ParameterError(
                "neighbouring fingers run into each other at rest",
                where="gripper.pitch_radius_mm",
                found=f"{self.pitch_radius_mm:g} mm",
                allowed=f"above {math.ceil(10 * least) / 10:g} mm for these fingers",
                remedy="Enlarge the pitch radius, or take fewer or narrower fingers.",
            )
        return self


MEET = "Neighbouring fingers run into each other when they are closed."


def even_directions(fingers: int) -> tuple[float, ...]:
    """Directions of fingers that stand evenly around the axis, degrees."""
    return tuple(360.0 * number / fingers for number in range(fingers))

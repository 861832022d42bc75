"""The numbers that define a bellows finger."""

from __future__ import annotations

import dataclasses

from fiddlehead.errors import ParameterError
from fiddlehead.finger.contradictions import SAME_MM, contradictions, wrong_numbers
from fiddlehead.finger.dimensions import Dimensions, dimensions
from fiddlehead.finger.pad.contradictions import pad_contradictions, wrong_pad_numbers
from fiddlehead.finger.pad.parameters import PadParameters


@dataclasses.dataclass(frozen=True, kw_only=True)
class FingerParameters:
    """A fully printed bellows finger: straight-sided (flank 90°) or zig-zag (flank below 90°).

    Axes: x from the clamped root to the tip, y from the gripping face (y = 0) to the bellows,
    z across the width with the symmetry plane z = 0. Lengths in mm, angles in degrees.
    """

    bellows_count: int
    """Number of bellows."""
    flank_angle_deg: float
    """Angle between a flank and the finger's axis; 90 gives straight-sided chambers."""
    pitch_mm: float
    """Distance from one bellows to the next."""
    valley_gap_mm: float
    """Outer distance between neighbouring bellows at the bottom of the valley."""
    height_mm: float
    """Outer height over the peaks."""
    valley_height_mm: float
    """Outer height in the valleys and at the tip."""
    wall_thickness_mm: float
    """Thickness of the flanks, measured normal to them."""
    roof_thickness_mm: float
    """Thickness of the flats at the peaks and in the valleys."""
    base_thickness_mm: float
    """Thickness of the strain-limiting base layer."""
    side_wall_thickness_mm: float
    """Thickness of each of the two side walls."""
    width_mm: float
    """Outer width."""
    channel_width_mm: float
    """Width of the channel that joins the chambers under the valleys; equal to
    ``width - 2 side walls`` when it is as wide as the chambers."""
    root_length_mm: float
    """Length of the solid root block, of full height."""
    tip_length_mm: float
    """Length of the tip block beyond the last flank, of valley height."""
    inlet_bore_mm: float = 0.0
    """Diameter of the round inlet through the root block into the first bellows, halfway up its
    cavity; 0 for none. Counts for the mass only: the finger is sealed when it is loaded."""
    pad: PadParameters | None = None
    """The contact pad on the gripping face, from the root block to the tip; None for none."""

    @property
    def dimensions(self) -> Dimensions:
        """All derived lengths, mm."""
        return dimensions(self)

    @property
    def length_mm(self) -> float:
        """Length of the finger."""
        return float(self.dimensions.length)

    @property
    def inner_land_mm(self) -> float:
        """Flat length of the cavity at the peaks."""
        return float(self.dimensions.inner_land)

    @property
    def chamber_width_mm(self) -> float:
        """Width of the cavity in the bellows."""
        return float(self.dimensions.chamber_width)

    @property
    def channel_height_mm(self) -> float:
        """Height of the channel under the valleys."""
        return float(self.dimensions.inner_valley_height - self.base_thickness_mm)

    @property
    def inlet_height_mm(self) -> float:
        """y of the inlet's axis: halfway up the first bellows' cavity."""
        return float(self.base_thickness_mm + self.dimensions.inner_height) / 2

    @property
    def pad_depth_mm(self) -> float:
        """Depth of the pad under the base layer; 0 without one."""
        return self.pad.depth_mm if self.pad else 0.0

    @property
    def narrow_channel(self) -> bool:
        """Whether the channel is narrower than the chambers."""
        return self.channel_width_mm < self.chamber_width_mm - SAME_MM

    def sizes(self) -> dict[str, float]:
        """The continuous parameters by name: the design vector, without counts and kinds.

        Those of the pad follow with ``pad_`` in front, as far as this pad makes use of them.
        """
        own = {name: float(getattr(self, name)) for name in CONTINUOUS}
        return own | (self.pad.sizes() if self.pad else {})

    def problems(self) -> list[ParameterError]:
        """Every contradiction in the parameters, each with where, found, allowed and remedy."""
        wrong = wrong_numbers(self, CONTINUOUS)
        wrong += wrong_pad_numbers(self.pad) if self.pad else []
        if wrong:
            return wrong
        found = contradictions(self)
        if self.pad and not found:
            found = pad_contradictions(self.pad, self.length_mm - self.root_length_mm)
        return found

    def validate(self) -> FingerParameters:
        """Return self, or raise one ``ParameterError`` that tells all problems at once."""
        found = self.problems()
        if len(found) == 1:
            raise found[0]
        if found:
            raise ParameterError(
                f"{len(found)} parameters cannot make a finger:\n"
                + "\n".join(f"- {problem}" for problem in found),
                where="finger",
            )
        return self


CONTINUOUS = tuple(
    f.name for f in dataclasses.fields(FingerParameters) if f.name.endswith(("_mm", "_deg"))
)
"""Names of the bellows' continuous parameters, in the order of the class."""

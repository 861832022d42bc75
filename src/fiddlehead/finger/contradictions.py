"""Every way in which a finger's parameters can be impossible, alone or together."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from fiddlehead.errors import ParameterError

if TYPE_CHECKING:
    from fiddlehead.finger.parameters import FingerParameters

SMALLEST_OPENING_MM = 0.3
"""Cavities, lands and valleys below this cannot be printed or meshed (chosen by us)."""
SAME_MM = 1e-6
"""Two lengths closer than this are the same length."""
MAY_BE_ZERO = {"inlet_bore_mm"}
FLANK_RANGE_DEG = (20.0, 90.0)


def _problem(
    field: str, message: str, found: float | str, allowed: str, remedy: str
) -> ParameterError:
    text = found if isinstance(found, str) else f"{found:.6g}"
    return ParameterError(
        message, where=f"finger.{field}", found=text, allowed=allowed, remedy=remedy
    )


def _up(limit_mm: float) -> str:
    """A lower limit in hundredths of a millimetre, rounded so that it may be used as it stands."""
    return f"{math.ceil(limit_mm * 100 - 1e-6) / 100:g}"


def _down(limit_mm: float) -> str:
    """An upper limit, rounded likewise."""
    return f"{math.floor(limit_mm * 100 + 1e-6) / 100:g}"


def wrong_numbers(p: FingerParameters, sizes: tuple[str, ...]) -> list[ParameterError]:
    """Values that are wrong on their own: not numbers, not positive, out of range."""
    found = []
    count = p.bellows_count
    if isinstance(count, bool) or not isinstance(count, (int, np.integer)) or count < 1:
        found.append(
            _problem(
                "bellows_count",
                "a finger needs a whole number of bellows",
                str(count),
                "1 or more",
                "Give at least one.",
            )
        )
    for name in sizes:
        value = getattr(p, name)
        if isinstance(value, bool) or not isinstance(value, (int, float, np.integer, np.floating)):
            found.append(_problem(name, "not a number", repr(value), "a number", "Give a number."))
        elif not math.isfinite(value):
            found.append(
                _problem(name, "not a finite number", str(value), "a finite number", "Give a size.")
            )
        elif value < 0 or (value == 0 and name not in MAY_BE_ZERO):
            limit = "0 or more" if name in MAY_BE_ZERO else "more than 0"
            found.append(
                _problem(name, "no such size exists", float(value), limit, "Give a positive size.")
            )
        elif name == "flank_angle_deg" and not FLANK_RANGE_DEG[0] <= value <= FLANK_RANGE_DEG[1]:
            found.append(
                _problem(
                    name,
                    "the flank leans too far",
                    float(value),
                    "20 to 90",
                    "90 is straight-sided; zig-zag bellows lie near 45 to 60.",
                )
            )
    return found


def contradictions(p: FingerParameters) -> list[ParameterError]:
    """Sizes that are possible alone but not together."""
    return _along_the_finger(p) + _through_the_height(p) + _across_the_width(p) + _inlet(p)


def _along_the_finger(p: FingerParameters) -> list[ParameterError]:
    if p.height_mm <= p.valley_height_mm:
        return []  # told once, under height_mm; the lengths below mean nothing then
    d = p.dimensions
    found = []
    outer_land = p.pitch_mm - p.valley_gap_mm - 2 * d.flank_run
    needed = p.valley_gap_mm + 2 * d.flank_run + 2 * d.miter_shift + SMALLEST_OPENING_MM
    if outer_land <= 0:
        found.append(
            _problem(
                "pitch_mm",
                "neighbouring bellows interpenetrate: two flanks and the gap are longer than the"
                " pitch",
                p.pitch_mm,
                f"{_up(needed)} or more with these heights and this flank angle",
                "Raise the pitch or the flank angle, or bring height and valley height together.",
            )
        )
    elif d.inner_land < SMALLEST_OPENING_MM - SAME_MM:
        found.append(
            _problem(
                "wall_thickness_mm",
                "the walls are thicker than the chamber: the cavity has no room at the peaks"
                f" (inner land {d.inner_land:.3g} mm)",
                p.wall_thickness_mm,
                f"an inner land of {SMALLEST_OPENING_MM} mm or more; pitch {_up(needed)} mm gives"
                " it",
                "Thin the walls, raise the pitch or the flank angle, or narrow the gap.",
            )
        )
    if d.inner_valley < SMALLEST_OPENING_MM - SAME_MM:
        found.append(
            _problem(
                "valley_gap_mm",
                "the cavity's roof folds over itself in the valley: the roof is too thick for"
                " this gap and wall",
                p.valley_gap_mm,
                f"{_up(SMALLEST_OPENING_MM - 2 * d.miter_shift)} or more",
                "Widen the gap, thin the roof or thicken the wall.",
            )
        )
    if p.tip_length_mm + d.miter_shift < SMALLEST_OPENING_MM - SAME_MM:
        found.append(
            _problem(
                "tip_length_mm",
                "the cavity would break through the tip",
                p.tip_length_mm,
                f"{_up(SMALLEST_OPENING_MM - d.miter_shift)} or more",
                "Lengthen the tip.",
            )
        )
    return found


def _through_the_height(p: FingerParameters) -> list[ParameterError]:
    d = p.dimensions
    found = []
    if d.inner_height - p.valley_height_mm < SMALLEST_OPENING_MM - SAME_MM:
        lowest = p.valley_height_mm + p.roof_thickness_mm + SMALLEST_OPENING_MM
        found.append(
            _problem(
                "height_mm",
                "no bellows stand out: their cavities must rise above the valleys' outer face",
                p.height_mm,
                f"{_up(lowest)} or more",
                "Raise the height, lower the valley height or thin the roof.",
            )
        )
    channel = d.inner_valley_height - p.base_thickness_mm
    if channel < SMALLEST_OPENING_MM - SAME_MM:
        lowest = p.base_thickness_mm + p.roof_thickness_mm + SMALLEST_OPENING_MM
        found.append(
            _problem(
                "valley_height_mm",
                "the channel under the valleys has no height: base and roof fill it",
                p.valley_height_mm,
                f"{_up(lowest)} or more",
                "Raise the valley height, or thin the base or the roof.",
            )
        )
    return found


def _across_the_width(p: FingerParameters) -> list[ParameterError]:
    chamber = p.chamber_width_mm
    if chamber < SMALLEST_OPENING_MM - SAME_MM:
        return [
            _problem(
                "side_wall_thickness_mm",
                "the side walls are thicker than the chamber: no cavity is left across the width",
                p.side_wall_thickness_mm,
                f"{_down((p.width_mm - SMALLEST_OPENING_MM) / 2)} or less",
                "Thin the side walls or widen the finger.",
            )
        ]
    channel = p.channel_width_mm
    found = []
    if channel > chamber + SAME_MM:
        found.append(
            _problem(
                "channel_width_mm",
                "the channel is wider than the chambers",
                channel,
                f"{chamber:.6g} or less",
                "Use width - 2 side walls for a channel as wide as the chambers.",
            )
        )
    elif channel < SMALLEST_OPENING_MM - SAME_MM:
        found.append(
            _problem(
                "channel_width_mm",
                "the channel is too narrow to pass air or to be meshed",
                channel,
                f"{SMALLEST_OPENING_MM} or more",
                "Widen the channel.",
            )
        )
    elif p.narrow_channel and chamber - channel < 2 * SMALLEST_OPENING_MM - SAME_MM:
        found.append(
            _problem(
                "channel_width_mm",
                "the webs beside the channel are thinner than anything printable",
                channel,
                f"{chamber:.6g}, or {_down(chamber - 2 * SMALLEST_OPENING_MM)} or less",
                "Make the channel as wide as the chambers, or clearly narrower.",
            )
        )
    return found


def _inlet(p: FingerParameters) -> list[ParameterError]:
    if p.inlet_bore_mm == 0:
        return []
    d = p.dimensions
    cavity = min(d.inner_height - p.base_thickness_mm, d.chamber_width)
    root = min(p.height_mm, p.width_mm)
    if p.inlet_bore_mm >= root:
        return [
            _problem(
                "inlet_bore_mm",
                "the inlet is larger than the root section",
                p.inlet_bore_mm,
                f"less than {root:.4g}",
                "Reduce the bore or enlarge the root.",
            )
        ]
    if 0 < cavity < p.inlet_bore_mm:
        return [
            _problem(
                "inlet_bore_mm",
                "the inlet is larger than the first cavity it opens into",
                p.inlet_bore_mm,
                f"{_down(cavity)} or less",
                "Reduce the bore or enlarge the first bellows.",
            )
        ]
    return []

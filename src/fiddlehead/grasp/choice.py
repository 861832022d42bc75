"""Advice before anything is computed: how many fingers, and on which pitch radius.

Rules of thumb, each with its standing; they start a design and decide nothing.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence

import numpy as np

from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.grasp.gripper import Gripper, even_directions
from fiddlehead.objects.shapes.base import ObjectShape

LONG = 2.0
"""Length over width from which an object counts as long."""
ROUND = 1.25
"""Length over width up to which an object counts as round from above."""
SPARE = 1.1
"""Pitch radius over the largest object's radius; 0 to 15 % more is common practice."""


@dataclasses.dataclass(frozen=True, kw_only=True)
class Size:
    """An object seen from above and from the side, mm."""

    name: str
    length_mm: float
    width_mm: float
    height_mm: float


@dataclasses.dataclass(frozen=True, kw_only=True)
class Advice:
    """A gripper to start with."""

    fingers: int
    pitch_radius_mm: float
    splay_deg: float
    reasons: tuple[str, ...]
    standing: str = "common practice, no source"


def size_of(name: str, shape: ObjectShape) -> Size:
    """The box an object fits into, the longer side first."""
    low, high = (np.asarray(corner, float) for corner in shape.bounds())
    x, y, z = high - low
    return Size(
        name=name, length_mm=float(max(x, y)), width_mm=float(min(x, y)), height_mm=float(z)
    )


def advise(
    finger: FingerParameters, sizes: Sequence[Size], *, position_error_mm: float = 5.0
) -> Advice:
    """A finger count, pitch radius and splay that suit a set of objects.

    The fingers shall open by the widest object and the position error on both sides, and shall not
    meet when they close on the narrowest.
    """
    widest = max(size.width_mm for size in sizes)
    narrowest = min(size.width_mm for size in sizes)
    long = [s.name for s in sizes if s.length_mm > LONG * s.width_mm]
    cornered = [s.name for s in sizes if ROUND * s.width_mm < s.length_mm <= LONG * s.width_mm]
    reasons = []
    if long:
        count = 2
        reasons.append(f"{', '.join(long)}: long, so two fingers across (or four, two by two).")
    elif cornered:
        count = 4
        reasons.append(f"{', '.join(cornered)}: longer than wide, so four fingers, two by two.")
    else:
        count = 3
        reasons.append("Nothing longer than wide: three fingers centre it by themselves.")
    needed = widest / 2.0 + position_error_mm
    pitch = max(SPARE * widest / 2.0, needed) + finger.pad_depth_mm
    reasons.append(
        f"Pitch radius {pitch:.3g} mm: the widest object is {widest:.3g} mm across, with "
        f"{position_error_mm:g} mm of room on either side"
        + (f" and a pad of {finger.pad_depth_mm:g} mm." if finger.pad_depth_mm else ".")
    )
    splay = 0.0
    room = finger.length_mm * math.sin(math.radians(15.0))
    if pitch - finger.pad_depth_mm - narrowest / 2.0 > 0.6 * finger.length_mm:
        reasons.append(
            "The narrowest object is far from the fingers: take two bases, or longer fingers."
        )
        short = needed + finger.pad_depth_mm - room
        pitch = max(short, 0.8 * pitch)
        splay = 15.0
    while count > 2:
        gripper = Gripper(
            finger=finger, directions_deg=even_directions(count), pitch_radius_mm=pitch
        )
        if gripper.closest_radius_mm() < narrowest / 2.0:
            break
        count -= 1
        reasons.append(f"{count + 1} fingers would meet around the narrowest object.")
    return Advice(
        fingers=count, pitch_radius_mm=round(pitch, 1), splay_deg=splay, reasons=tuple(reasons)
    )

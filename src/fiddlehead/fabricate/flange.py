"""Screws and mechanical interfaces of robot wrists.

Sizes are those of ISO 9409-1:2004 (circular flanges), ISO 4762 (socket head screws) and ISO 273
(clearance holes, medium fit): values from memory. Look yours up before you drill.
"""

from __future__ import annotations

import dataclasses

from fiddlehead.errors import ParameterError


@dataclasses.dataclass(frozen=True)
class Screw:
    """A socket head cap screw: hole it passes, head, mm."""

    clearance: float
    head: float


SCREWS = {
    "M4": Screw(4.5, 7.0),
    "M5": Screw(5.5, 8.5),
    "M6": Screw(6.6, 10.0),
    "M8": Screw(9.0, 13.0),
    "M10": Screw(11.0, 16.0),
}


@dataclasses.dataclass(frozen=True)
class Flange:
    """A wrist flange: screws on a pitch circle, one locating pin on it half-way between two.

    pitch_circle, pin, outer : diameters, mm
    """

    pitch_circle: float
    screws: int
    thread: str
    pin: float
    outer: float


FLANGES = {
    "31.5-4-M5": Flange(31.5, 4, "M5", 5.0, 40.0),
    "40-4-M6": Flange(40.0, 4, "M6", 6.0, 50.0),
    "50-4-M6": Flange(50.0, 4, "M6", 6.0, 63.0),
    "63-4-M6": Flange(63.0, 4, "M6", 6.0, 80.0),
    "80-6-M8": Flange(80.0, 6, "M8", 8.0, 100.0),
    "100-6-M8": Flange(100.0, 6, "M8", 8.0, 125.0),
    "125-6-M10": Flange(125.0, 6, "M10", 10.0, 160.0),
}
"""By designation: pitch circle, number and thread of the screws."""


def flange(designation: str) -> Flange:
    """The flange of that designation.

    Raises
    ------
    ParameterError : not in the list
    """
    try:
        return FLANGES[designation]
    except KeyError:
        raise ParameterError(
            "no such wrist flange",
            where="base.flange",
            found=repr(designation),
            allowed=", ".join(FLANGES),
        ) from None

"""A leak coupon: a short finger whose walls are the finger's walls.

Flanks, roofs, side walls, bridges, gaps and inlet come out of the printer as on the finger itself,
so what seals the coupon seals the finger; it only prints sooner and is small enough to test by
the dozen.
"""

from __future__ import annotations

import dataclasses
import math

from fiddlehead.errors import ParameterError
from fiddlehead.fabricate.fittings import LEAST_WALL_MM, Fittings
from fiddlehead.fabricate.inlet import inlet_air_mm3
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.finger.volumes import cavity_volume_mm3

BELLOWS = 2
"""Two bellows have everything a longer finger has: a valley, a channel, both end caps."""
ROOT_MM = 10.0
"""Enough root block for a port; chosen by us."""


@dataclasses.dataclass(frozen=True)
class Coupon:
    """The coupon as a finger, and how it compares with the real one."""

    parameters: FingerParameters
    fittings: Fittings
    share_of_bellows: float
    """Bellows of the coupon over those of the finger: roughly its share of the finger's leak."""

    @property
    def volume_cm3(self) -> float:
        """Air inside at rest, inlet included."""
        inlet = inlet_air_mm3(self.parameters, self.fittings)
        return (cavity_volume_mm3(self.parameters) + inlet) / 1e3


def leak_coupon(finger: FingerParameters, fittings: Fittings) -> Coupon:
    """The coupon of a finger.

    Parameters
    ----------
    fittings : of the finger; the coupon has the same port, or a hose barb where the finger is fed
        through its base (on the side, so that it prints without support), and a plain root

    Raises
    ------
    ParameterError : the finger's sizes contradict each other, it has no inlet, or its port
        does not fit
    """
    finger.validate()
    if finger.inlet_bore_mm == 0 or fittings.port == "none":
        raise ParameterError(
            "a coupon without an inlet cannot be tested",
            where="finger.inlet_bore_mm" if finger.inlet_bore_mm == 0 else "mount.port",
            found="0 mm" if finger.inlet_bore_mm == 0 else '"none"',
            remedy="Give the finger an inlet, as it will need one to move.",
        )
    short = dataclasses.replace(
        finger,
        bellows_count=min(BELLOWS, finger.bellows_count),
        root_length_mm=min(ROOT_MM, finger.root_length_mm),
        pad=None,
    ).validate()
    plain = dataclasses.replace(fittings, mount="plain", serial="")
    barb = dataclasses.replace(plain, port="barb", hose_bore_mm=_hose(finger, fittings))
    choices = [barb, plain] if fittings.port == "bore" else [plain]
    suits = [choice for choice in choices if not choice.problems(short)]
    return Coupon(
        parameters=short,
        fittings=(suits[0] if suits else plain).validate(short),
        share_of_bellows=short.bellows_count / finger.bellows_count,
    )


def _hose(finger: FingerParameters, fittings: Fittings) -> float:
    """A hose wide enough that the barb around the inlet has a wall, in whole millimetres."""
    return max(fittings.hose_bore_mm, math.ceil(finger.inlet_bore_mm + 2.0 * LEAST_WALL_MM))

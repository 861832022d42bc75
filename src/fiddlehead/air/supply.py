"""How much air a gripper needs: per cycle, per minute, from a pump, from a reservoir.

Free air is air at ANR (100 kPa, 20 °C), as compressors and pumps are rated.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from jaxtyping import Float

from fiddlehead.air.cavity import Cavity
from fiddlehead.air.reference import ANR, ATMOSPHERE_KPA, ROOM_K, free_volume_cm3
from fiddlehead.errors import ParameterError

PUMP_MARGIN = 1.5
"""Flow of a pump at the working pressure over the mean demand; common practice, no source."""


def free_air_per_cycle_cm3(
    cavity: Cavity,
    working_kpa: float,
    *,
    atmosphere_kpa: float = ATMOSPHERE_KPA,
    temperature_k: float = ROOM_K,
) -> float:
    """Free air that one filling takes, ``p V(p) - p0 V(0)`` at the reference state, cm³.

    Raises
    ------
    ParameterError : a pressure above those the cavity knows
    """
    pressure = np.array([0.0, working_kpa])
    amount = free_volume_cm3(pressure + atmosphere_kpa, cavity.volume_at(pressure), temperature_k)
    return float(amount[1] - amount[0])


@dataclass(frozen=True)
class Pump:
    """A small diaphragm pump: its flow falls in a straight line to its highest pressure.

    The straight line is common practice, no source; a data sheet's curve is better.

    Raises
    ------
    ParameterError : a flow or a pressure that is not positive
    """

    free_flow_l_per_min: float
    highest_pressure_kpa: float

    def __post_init__(self) -> None:
        for value in (self.free_flow_l_per_min, self.highest_pressure_kpa):
            if not (math.isfinite(value) and value > 0):
                raise ParameterError(
                    "no such pump",
                    where="air supply",
                    found=f"{self.free_flow_l_per_min:g} L/min free, "
                    f"{self.highest_pressure_kpa:g} kPa",
                    allowed="both above 0",
                    remedy="Take free flow and highest pressure from the data sheet.",
                )

    def flow_cm3_per_s(self, gauge_kpa: Float[np.ndarray, " time"]) -> Float[np.ndarray, " time"]:
        """Flow at ANR, cm³/s; 0 at and above the highest pressure."""
        left = np.clip(1.0 - gauge_kpa / self.highest_pressure_kpa, 0.0, 1.0)
        return left * self.free_flow_l_per_min * 1000.0 / 60.0


def pump_for(
    mean_flow_l_per_min: float,
    working_kpa: float,
    highest_pressure_kpa: float,
    margin: float = PUMP_MARGIN,
) -> Pump:
    """The smallest pump that gives ``margin`` times the mean flow at the working pressure.

    Raises
    ------
    ParameterError : the highest pressure is not above the working pressure
    """
    if not highest_pressure_kpa > working_kpa:
        raise ParameterError(
            "a pump gives nothing at its highest pressure",
            where="air supply",
            found=f"{highest_pressure_kpa:g} kPa",
            allowed=f"above the working pressure of {working_kpa:g} kPa",
            remedy="Choose a pump with a higher end pressure, or a compressor.",
        )
    left = 1.0 - working_kpa / highest_pressure_kpa
    return Pump(margin * mean_flow_l_per_min / left, highest_pressure_kpa)


def reservoir_cm3(
    free_air_cm3: float, cycles: int, drop_kpa: float, temperature_k: float = ROOM_K
) -> float:
    """Volume of a reservoir that feeds ``cycles`` without refill while it falls by ``drop_kpa``.

    Raises
    ------
    ParameterError : a drop or a number of cycles that is not positive
    """
    if not (drop_kpa > 0 and cycles > 0):
        raise ParameterError(
            "a reservoir feeds by losing pressure",
            where="air supply",
            found=f"{cycles} cycles, {drop_kpa:g} kPa",
            allowed="both above 0",
            remedy="Allow it a drop, for example 50 kPa.",
        )
    return cycles * free_air_cm3 * ANR.pressure_kpa / drop_kpa * temperature_k / ANR.temperature_k

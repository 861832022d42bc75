"""The state in which an amount of air is told: a flow without it means nothing.

Sources: ISO 8778:2003 (ANR: 100 kPa, 20 °C, 65 % humidity; value from memory), ISO 13443 and
DIN 1343 (0 °C, 101.325 kPa; value from memory), ISO 6358-1:2013 (1.185 kg/m³ at ANR; value from
memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

ATMOSPHERE_KPA = 101.325
"""Standard atmosphere, absolute."""
ROOM_K = 293.15
"""20 °C."""
ADIABATIC_EXPONENT = 1.4
"""Ratio of the specific heats of air."""
GAS_CONSTANT = 8.314462618
"""J/(mol K), exact to its digits (BIPM, The International System of Units, 9th edition, 2019)."""


@dataclass(frozen=True)
class Reference:
    """A reference state: name, absolute pressure (kPa) and temperature (K)."""

    name: str
    pressure_kpa: float
    temperature_k: float


ANR = Reference("ANR: 100 kPa, 20 °C", 100.0, 293.15)
"""Free air of fluid power, ISO 8778."""
STANDARD_0C = Reference("standard: 101.325 kPa, 0 °C", 101.325, 273.15)
"""The state most leak testers call standard."""
ANR_DENSITY_KG_M3 = 1.185
"""Density of air at ANR."""


def free_volume_cm3(
    absolute_kpa: Any, volume_cm3: Any, temperature_k: Any = ROOM_K, reference: Reference = ANR
) -> Any:
    """Volume the enclosed air would fill at the reference state, cm³ (numbers or equal arrays).

    Boyle and Gay-Lussac: ``p V / T`` is the same on both sides. Whatever the walls do and however
    the temperature drifts, this number changes only when air comes in or goes out.
    """
    shrink = reference.temperature_k / reference.pressure_kpa
    return absolute_kpa * volume_cm3 / temperature_k * shrink


def restated(flow: Any, told_at: Reference, wanted_at: Reference) -> Any:
    """The same flow of air told at another reference state (any unit of volume per time)."""
    colder = wanted_at.temperature_k / told_at.temperature_k
    return flow * told_at.pressure_kpa / wanted_at.pressure_kpa * colder

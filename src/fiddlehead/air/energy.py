"""Energy stored in compressed air, which is what hurts when something bursts."""

from __future__ import annotations

from fiddlehead.air.reference import ADIABATIC_EXPONENT, ATMOSPHERE_KPA


def stored_energy_mj(
    gauge_kpa: float, volume_cm3: float, atmosphere_kpa: float = ATMOSPHERE_KPA
) -> float:
    """Work that the air can do while it expands to the atmosphere without heat, mJ.

    ``p V/(k-1) (1 - (p0/p)^((k-1)/k))`` with absolute pressures (any textbook of thermodynamics).
    A whole gripper holds some joules; a reservoir of some litres holds kilojoules.
    """
    k = ADIABATIC_EXPONENT
    absolute = gauge_kpa + atmosphere_kpa
    cooling = (atmosphere_kpa / absolute) ** ((k - 1.0) / k)
    return absolute * volume_cm3 / (k - 1.0) * (1.0 - cooling)

"""Time to fill and to vent a finger whose volume grows with its pressure.

The air flow depends on the pressure alone, so time is a plain integral over pressure,
``t = ∫ dn/q``, with the amount of air ``n(p)`` from the finger's own volume.

Air is taken at one temperature (heat passes thin walls quickly; common practice, no source),
which gives the longest time. The other bound is air that exchanges no heat with the walls: air that
flows in brings its enthalpy along and warms what is there, air left in a venting finger expands at
constant entropy (balances of energy of an ideal gas, any textbook of thermodynamics). A rigid
vessel then fills exactly 1.4 times sooner. Real times lie between the two.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

import numpy as np

from fiddlehead.air.cavity import Cavity
from fiddlehead.air.flow import Chain
from fiddlehead.air.records import PressureTrace
from fiddlehead.air.reference import (
    ADIABATIC_EXPONENT,
    ATMOSPHERE_KPA,
    ROOM_K,
    free_volume_cm3,
)
from fiddlehead.air.supply import Pump
from fiddlehead.errors import ParameterError

Heat = Literal["isothermal", "adiabatic"]
"""What the walls do: keep the air at room temperature, or exchange nothing with it."""
PIECES = 120
GAUSS_POINTS = 6


def fill(
    chain: Chain,
    cavity: Cavity,
    supply_kpa: float,
    target_kpa: float,
    *,
    start_kpa: float = 0.0,
    atmosphere_kpa: float = ATMOSPHERE_KPA,
    temperature_k: float = ROOM_K,
    heat: Heat = "isothermal",
) -> PressureTrace:
    """Fill from a supply of constant gauge pressure, of air at room temperature.

    Raises
    ------
    ParameterError : the target is not between start and supply, or above what the cavity knows
    """
    if not start_kpa < target_kpa < supply_kpa:
        raise ParameterError(
            "this supply cannot fill to this pressure",
            where="air supply",
            found=f"from {start_kpa:g} to {target_kpa:g} kPa with {supply_kpa:g} kPa",
            allowed="start below target below supply",
            remedy="Raise the supply pressure, or count a finger as filled a little earlier.",
        )
    inlet = supply_kpa + atmosphere_kpa

    def flow(gauge: np.ndarray) -> np.ndarray:
        return np.asarray(chain.flow_cm3_per_s(inlet, gauge + atmosphere_kpa, temperature_k))

    choke = chain.critical_ratio * inlet - atmosphere_kpa
    need = _air_to_fill(cavity, atmosphere_kpa, temperature_k, heat)
    return _trace(flow, need, cavity, (start_kpa, target_kpa), supply_kpa, choke)


def vent(
    chain: Chain,
    cavity: Cavity,
    start_kpa: float,
    target_kpa: float,
    *,
    atmosphere_kpa: float = ATMOSPHERE_KPA,
    temperature_k: float = ROOM_K,
    heat: Heat = "isothermal",
) -> PressureTrace:
    """Vent to the atmosphere through a chain named in the direction of the flow.

    Raises
    ------
    ParameterError : the target is not between 0 and the start, or above what the cavity knows
    """
    if not 0 < target_kpa < start_kpa:
        raise ParameterError(
            "a finger vents from a higher to a lower pressure above 0",
            where="air supply",
            found=f"from {start_kpa:g} to {target_kpa:g} kPa",
            remedy="Take 5 % of the working pressure as vented.",
        )

    cold = (ADIABATIC_EXPONENT - 1.0) / ADIABATIC_EXPONENT if heat == "adiabatic" else 0.0

    def temperature(gauge: np.ndarray) -> np.ndarray:
        """What is left expands at constant entropy: ``T = T0 (p/p0)^((k-1)/k)``."""
        left = (gauge + atmosphere_kpa) / (start_kpa + atmosphere_kpa)
        return np.asarray(temperature_k * left**cold)

    def flow(gauge: np.ndarray) -> np.ndarray:
        absolute = gauge + atmosphere_kpa
        warm = np.sqrt(temperature_k / temperature(gauge))
        return -warm * np.asarray(chain.flow_cm3_per_s(absolute, atmosphere_kpa, temperature_k))

    def need(gauge: np.ndarray) -> np.ndarray:
        """``dn/dp`` of ``n = p V/(R T)``."""
        absolute = gauge + atmosphere_kpa
        grows = (1.0 - cold) * cavity.volume_at(gauge) + absolute * cavity.compliance_at(gauge)
        return np.asarray(free_volume_cm3(1.0, grows, temperature(gauge)))

    choke = np.inf
    if chain.critical_ratio > 0:
        choke = atmosphere_kpa / chain.critical_ratio - atmosphere_kpa
    return _trace(flow, need, cavity, (start_kpa, target_kpa), 0.0, choke)


def fill_from_pump(
    pump: Pump,
    cavity: Cavity,
    target_kpa: float,
    *,
    atmosphere_kpa: float = ATMOSPHERE_KPA,
    temperature_k: float = ROOM_K,
    heat: Heat = "isothermal",
) -> PressureTrace:
    """Fill straight from a pump, without a valve in between.

    Raises
    ------
    ParameterError : the pump cannot reach the target
    """
    end = pump.highest_pressure_kpa
    if not 0 < target_kpa < end:
        raise ParameterError(
            "this pump cannot reach this pressure",
            where="air supply",
            found=f"{target_kpa:g} kPa",
            allowed=f"below {end:g} kPa",
            remedy="Choose a pump with a higher end pressure.",
        )
    need = _air_to_fill(cavity, atmosphere_kpa, temperature_k, heat)
    return _trace(pump.flow_cm3_per_s, need, cavity, (0.0, target_kpa), end, np.inf)


OfGauge = Callable[[np.ndarray], np.ndarray]


def _trace(
    flow: OfGauge,
    need: OfGauge,
    cavity: Cavity,
    ends: tuple[float, float],
    asymptote: float,
    choke: float,
) -> PressureTrace:
    """Integrate ``dn/dp / q`` piece by piece; pieces end where the integrand has a kink.

    The variable is ``u = sqrt(|asymptote - p|)``: near the pressure where the flow dies like a
    square root the integrand stays smooth in u.
    """
    start, target = ends
    sign = 1.0 if asymptote > start else -1.0
    grid = np.linspace(
        np.sqrt(abs(asymptote - start)), np.sqrt(abs(asymptote - target)), PIECES + 1
    )
    kinks = np.append(cavity.pressure_kpa, choke)
    kinks = kinks[(kinks > min(ends)) & (kinks < max(ends))]
    u = np.unique(np.concatenate([grid, np.sqrt(np.abs(asymptote - kinks))]))[::-1]
    nodes, weights = np.polynomial.legendre.leggauss(GAUSS_POINTS)
    middle, half = (u[1:] + u[:-1]) / 2.0, (u[1:] - u[:-1]) / 2.0
    inside = middle[:, None] + half[:, None] * nodes
    gauge = asymptote - sign * inside**2
    rate = need(gauge.ravel()) / flow(gauge.ravel())
    slope = rate.reshape(inside.shape) * -sign * 2.0 * inside
    steps = half * (slope @ weights)
    pressure = np.concatenate([[start], asymptote - sign * u[1:-1] ** 2, [target]])
    return PressureTrace(
        time_s=np.concatenate([[0.0], np.cumsum(steps)]),
        pressure_kpa=pressure,
        flow_l_per_min=flow(pressure) * 60.0 / 1000.0,
    )


def _air_to_fill(
    cavity: Cavity, atmosphere_kpa: float, temperature_k: float, heat: Heat
) -> OfGauge:
    """dn/dp, cm³/kPa: free air that goes in for each kPa, ``V + p dV/dp`` at one temperature.

    Without heat the entering enthalpy warms what is there: ``V/k + p dV/dp``, from
    ``d(pV)/(k-1) + p dV = k R T0 dn/(k-1)``.
    """
    exponent = ADIABATIC_EXPONENT if heat == "adiabatic" else 1.0

    def need(gauge: np.ndarray) -> np.ndarray:
        absolute = gauge + atmosphere_kpa
        grows = cavity.volume_at(gauge) / exponent + absolute * cavity.compliance_at(gauge)
        return np.asarray(free_volume_cm3(1.0, grows, temperature_k))

    return need

"""Fill and vent times: closed forms, step-by-step integration, the finger's own volume."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from fiddlehead.air.catalogue import tube
from fiddlehead.air.cavity import Cavity
from fiddlehead.air.fill import Heat, fill, fill_from_pump, vent
from fiddlehead.air.flow import Chain, Restriction
from fiddlehead.air.supply import Pump
from fiddlehead.errors import ParameterError

ATMOSPHERE = 101.325
SOFT = Cavity(np.array([0.0, 60.0, 150.0, 200.0]), np.array([10.0, 11.0, 14.0, 17.0]))
VALVE = Chain((Restriction("valve", 0.1, 0.3),))


def isothermal_fill_s(volume: float, c: float, b: float, p1: float, pi: float, p2: float) -> float:
    """Closed form for a rigid vessel, bar absolute and dm³ (an ellipse gives an arcsine)."""
    sonic = max(b - pi / p1, 0.0)
    upper = math.asin((p2 / p1 - b) / (1 - b))
    lower = math.asin(max(pi / p1 - b, 0.0) / (1 - b))
    return volume / c * (sonic + (1 - b) * (upper - lower))


@pytest.mark.parametrize(
    ("start", "seconds"), [(1.0, 0.849320), (0.5, 1.016000), (2.0, None), (2.85, None)]
)
def test_rigid_fill_against_its_closed_form(start: float, seconds: float | None) -> None:
    """0.1 dm³ through C = 0.1, b = 0.3 from 3 bar absolute to 2.9."""
    exact = isothermal_fill_s(0.1, 0.1, 0.3, 3.0, start, 2.9)
    if seconds is not None:
        assert exact == pytest.approx(seconds, rel=1e-5)
    trace = fill(
        VALVE,
        Cavity.rigid(100.0),
        200.0,
        190.0,
        start_kpa=100.0 * start - 100.0,
        atmosphere_kpa=100.0,
    )
    assert trace.duration_s == pytest.approx(exact, rel=1e-7)


def test_choked_discharge_is_exponential() -> None:
    """7 to 3.3333 bar absolute: t = (V/(p0 C)) ln(7/3.3333)."""
    trace = vent(VALVE, Cavity.rigid(100.0), 600.0, 700.0 / 2.1 - 100.0, atmosphere_kpa=100.0)
    assert trace.duration_s == pytest.approx(0.741937, rel=1e-5)
    assert trace.duration_s == pytest.approx(math.log(2.1), rel=1e-7)


@pytest.mark.parametrize(
    ("c", "fills_s", "vents_s"), [(0.1, 0.643, 1.53), (0.3, 0.214, 0.51), (1.0, 0.064, 0.153)]
)
def test_hand_calculated_cases(c: float, fills_s: float, vents_s: float) -> None:
    """0.12 dm³ rigid, b 0.3: 1.013 to 3 bar absolute from 4, and back to 1.06 (three digits)."""
    chain, vessel = Chain((Restriction("valve", c, 0.3),)), Cavity.rigid(120.0)
    up = fill(chain, vessel, 400.0 - ATMOSPHERE, 300.0 - ATMOSPHERE)
    down = vent(chain, vessel, 300.0 - ATMOSPHERE, 106.0 - ATMOSPHERE)
    assert up.duration_s == pytest.approx(fills_s, rel=0.01)
    assert down.duration_s == pytest.approx(vents_s, rel=0.01)


def test_without_heat_a_rigid_vessel_fills_sooner_by_the_ratio_of_heat_capacities() -> None:
    """``V dp = k R T0 dm`` against ``V dp = R T0 dm``, whatever flows (textbook energy balance)."""
    slow, quick = (
        fill(VALVE, Cavity.rigid(100.0), 200.0, 190.0, heat=heat).duration_s
        for heat in ("isothermal", "adiabatic")
    )
    assert slow / quick == pytest.approx(1.4, rel=1e-9)


def test_without_heat_choked_discharge_follows_its_closed_form() -> None:
    """``t = 2V/((k-1) p0 C) ((p1/p2)^((k-1)/2k) - 1)``: the usual blow-down of an ideal gas."""
    trace = vent(
        VALVE,
        Cavity.rigid(100.0),
        600.0,
        700.0 / 2.1 - 100.0,
        atmosphere_kpa=100.0,
        heat="adiabatic",
    )
    assert trace.duration_s == pytest.approx(2.0 / 0.4 * (2.1 ** (0.4 / 2.8) - 1.0), rel=1e-7)


@pytest.mark.parametrize("direction", ["fill", "vent"])
def test_soft_finger_without_heat_conserves_energy(direction: str) -> None:
    """Step by step: energy in the air changes by enthalpy that crosses and by work on the walls."""
    k, room, gas = 1.4, 293.15, 100.0 / 293.15  # kPa cm³ of free air per K
    heat: Heat = "adiabatic"
    filling = direction == "fill"
    trace = (
        fill(VALVE, SOFT, 180.0, 150.0, heat=heat)
        if filling
        else vent(VALVE, SOFT, 190.0, 10.0, heat=heat)
    )

    def rate(_: float, state: np.ndarray) -> list[float]:
        gauge, air = state[:1], float(state[1])
        absolute = float(gauge[0]) + ATMOSPHERE
        volume, grows = float(SOFT.volume_at(gauge)[0]), float(SOFT.compliance_at(gauge)[0])
        if filling:
            flow, warm = float(VALVE.flow_cm3_per_s(180.0 + ATMOSPHERE, absolute)), room
        else:
            warm = absolute * volume / (gas * air)
            flow = -float(VALVE.flow_cm3_per_s(absolute, ATMOSPHERE, warm))
        enthalpy = k / (k - 1.0) * gas * warm * flow
        # d(pV)/(k - 1) + p dV = enthalpy
        rise = enthalpy / ((volume + absolute * grows) / (k - 1.0) + absolute * grows)
        return [rise, flow]

    start = trace.pressure_kpa[0]
    held = (start + ATMOSPHERE) * SOFT.volume_at(np.array([start]))[0] / (gas * room)
    steps = solve_ivp(rate, (0.0, trace.duration_s), [start, held], rtol=1e-7, atol=1e-7)
    assert steps.y[0, -1] == pytest.approx(trace.pressure_kpa[-1], rel=1e-4)
    kept = fill(VALVE, SOFT, 180.0, 150.0) if filling else vent(VALVE, SOFT, 190.0, 10.0)
    assert kept.duration_s / 1.4 < trace.duration_s < kept.duration_s


@pytest.mark.parametrize("direction", ["fill", "vent"])
def test_soft_finger_against_step_by_step_integration(direction: str) -> None:
    chain = Chain((Restriction("valve", 0.2, 0.25), tube("tube", 2.5, 1.0)))
    filling = direction == "fill"
    trace = fill(chain, SOFT, 180.0, 150.0) if filling else vent(chain, SOFT, 190.0, 10.0)

    def rate(_: float, gauge: np.ndarray) -> np.ndarray:
        absolute = gauge + ATMOSPHERE
        flow = (
            chain.flow_cm3_per_s(180.0 + ATMOSPHERE, absolute)
            if filling
            else -chain.flow_cm3_per_s(absolute, ATMOSPHERE)
        )
        grows = SOFT.volume_at(gauge) + absolute * SOFT.compliance_at(gauge)
        return 100.0 * flow / grows

    end = trace.duration_s
    steps = solve_ivp(rate, (0.0, end), trace.pressure_kpa[:1], rtol=1e-8, atol=1e-8)
    assert steps.y[0, -1] == pytest.approx(trace.pressure_kpa[-1], rel=1e-5)


def test_a_growing_cavity_takes_longer_than_the_one_at_rest() -> None:
    soft = fill(VALVE, SOFT, 200.0, 150.0).duration_s
    assert soft > 1.5 * fill(VALVE, Cavity.rigid(10.0), 200.0, 150.0).duration_s
    assert soft > fill(VALVE, Cavity.rigid(14.0), 200.0, 150.0).duration_s  # p dV/dp counts too


@settings(deadline=None)
@given(st.floats(20.0, 190.0), st.floats(1.001, 4.0))
def test_air_that_flowed_is_air_that_is_in(target: float, surplus: float) -> None:
    trace = fill(VALVE, SOFT, target * surplus, target)
    assert (np.diff(trace.pressure_kpa) > 0).all()
    assert (np.diff(trace.time_s) > 0).all()
    flowed = np.trapezoid(trace.flow_l_per_min, trace.time_s) * 1000.0 / 60.0
    held = ((target + ATMOSPHERE) * SOFT.volume_at(np.array([target]))[0] - ATMOSPHERE * 10) / 100
    assert flowed == pytest.approx(held, rel=5e-3)  # trapezoids between 120 points


def test_pump_fills_a_rigid_vessel_exponentially() -> None:
    pump = Pump(6.0, 100.0)
    trace = fill_from_pump(pump, Cavity.rigid(50.0), 63.0)
    assert trace.duration_s == pytest.approx(-0.5 * math.log(1.0 - 0.63), rel=1e-7)


def test_refusals() -> None:
    with pytest.raises(ParameterError, match="cannot fill to this pressure"):
        fill(VALVE, SOFT, 100.0, 100.0)
    with pytest.raises(ParameterError, match="higher to a lower"):
        vent(VALVE, SOFT, 100.0, 0.0)
    with pytest.raises(ParameterError, match="cannot reach this pressure"):
        fill_from_pump(Pump(1.0, 50.0), SOFT, 50.0)
    with pytest.raises(ParameterError, match="not known at this pressure"):
        fill(VALVE, SOFT, 400.0, 250.0)

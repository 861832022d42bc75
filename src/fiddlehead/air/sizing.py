"""The whole air supply of a gripper from one request."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from fiddlehead.air.cavity import Cavity
from fiddlehead.air.energy import stored_energy_mj
from fiddlehead.air.fill import Heat, fill, fill_from_pump, vent
from fiddlehead.air.flow import Chain
from fiddlehead.air.records import AirResult, PathOfAir, PressureTrace
from fiddlehead.air.reference import ATMOSPHERE_KPA, ROOM_K
from fiddlehead.air.supply import Pump, free_air_per_cycle_cm3, pump_for, reservoir_cm3
from fiddlehead.errors import ParameterError

FILLED, VENTED = 0.95, 0.05
"""Shares of the working pressure at which a finger counts as filled and as vented; common
practice, no source."""
PUMP_END_RATIO = 1.5
"""End pressure of the pump we size, over the working pressure; our choice."""


@dataclass(frozen=True, kw_only=True)
class AirRequest:
    """What the gripper is and what it shall do. Gauge pressures; flows and leaks at ANR."""

    cavity: Cavity
    """One finger, without tubes."""
    fingers: int
    shared_valve: bool
    """One valve feeds all fingers; else each has its own."""
    working_pressure_kpa: float
    supply_pressure_kpa: float
    fill_chain: Chain
    """From the supply to the finger."""
    vent_chain: Chain
    """From the finger to the atmosphere."""
    tube_volume_cm3: float
    """Behind one valve."""
    cycles_per_min: float
    hold_s: float
    leak_cm3_per_min: float
    """One finger."""
    reservoir_cycles: int
    reservoir_drop_kpa: float
    pump: Pump | None = None
    """Feeds the fingers directly instead of the supply."""
    wall_energy_mj: float = 0.0
    """Strain energy of one finger at the working pressure."""
    atmosphere_kpa: float = ATMOSPHERE_KPA
    temperature_k: float = ROOM_K


def size_supply(request: AirRequest) -> AirResult:
    """Fill and vent times, free air, flows, pump, reservoir and stored energy.

    Raises
    ------
    ParameterError : the supply cannot fill the finger, or V(p) ends below the working pressure
    """
    r, room = request, {"atmosphere_kpa": request.atmosphere_kpa}
    per_valve = r.fingers if r.shared_valve else 1
    valves = r.fingers // per_valve
    fed = r.cavity.together(per_valve, r.tube_volume_cm3)
    filling = _filling(r, fed)
    venting = _venting(r, fed)
    air = valves * free_air_per_cycle_cm3(
        fed, r.working_pressure_kpa, temperature_k=r.temperature_k, **room
    )
    leak = r.fingers * r.leak_cm3_per_min
    flow = (r.cycles_per_min * air + leak) / 1000.0
    pump = pump_for(flow, r.working_pressure_kpa, PUMP_END_RATIO * r.working_pressure_kpa)
    reservoir = reservoir_cm3(air, r.reservoir_cycles, r.reservoir_drop_kpa, r.temperature_k)
    rest, work = r.cavity.volume_at(np.array([0.0, r.working_pressure_kpa]))
    shortest = filling.duration_s + r.hold_s + venting.duration_s
    return AirResult(
        working_pressure_kpa=r.working_pressure_kpa,
        supply_pressure_kpa=r.supply_pressure_kpa,
        fingers=r.fingers,
        fingers_per_valve=per_valve,
        fill=filling,
        vent=venting,
        fill_without_heat_s=_filling(r, fed, "adiabatic").duration_s,
        vent_without_heat_s=_venting(r, fed, "adiabatic").duration_s,
        fill_path=_path(r.fill_chain),
        vent_path=_path(r.vent_chain),
        cavity_at_rest_cm3=float(rest),
        cavity_at_work_cm3=float(work),
        dead_volume_cm3=valves * r.tube_volume_cm3,
        free_air_per_cycle_cm3=air,
        cycles_per_min=r.cycles_per_min,
        hold_s=r.hold_s,
        shortest_cycle_s=shortest,
        leak_cm3_per_min=leak,
        mean_flow_l_per_min=flow,
        pump_free_flow_l_per_min=pump.free_flow_l_per_min,
        pump_highest_pressure_kpa=pump.highest_pressure_kpa,
        reservoir_cm3=reservoir,
        reservoir_cycles=r.reservoir_cycles,
        reservoir_drop_kpa=r.reservoir_drop_kpa,
        air_energy_mj=stored_energy_mj(
            r.working_pressure_kpa, r.fingers * work + valves * r.tube_volume_cm3, **room
        ),
        wall_energy_mj=r.fingers * r.wall_energy_mj,
        reservoir_energy_mj=stored_energy_mj(r.supply_pressure_kpa, reservoir, **room),
        remarks=tuple(_remarks(r, shortest, flow)),
    )


def _venting(r: AirRequest, fed: Cavity, heat: Heat = "isothermal") -> PressureTrace:
    """From where the fill ended to where a finger counts as vented."""
    start, end = FILLED * r.working_pressure_kpa, VENTED * r.working_pressure_kpa
    room = {"atmosphere_kpa": r.atmosphere_kpa, "temperature_k": r.temperature_k}
    return vent(r.vent_chain, fed, start, end, heat=heat, **room)


def _filling(r: AirRequest, fed: Cavity, heat: Heat = "isothermal") -> PressureTrace:
    """To the working pressure, or as near to it as counts where the supply is no higher."""
    room = {"atmosphere_kpa": r.atmosphere_kpa, "temperature_k": r.temperature_k}
    if r.supply_pressure_kpa < r.working_pressure_kpa:
        raise ParameterError(
            "the supply is weaker than the finger's working pressure",
            where="air.supply_pressure_kpa",
            found=f"{r.supply_pressure_kpa:g} kPa",
            allowed=f"{r.working_pressure_kpa:g} kPa or more",
            remedy="Raise the supply pressure or lower the working pressure.",
        )
    target = FILLED * r.working_pressure_kpa
    if r.pump is None:
        return fill(r.fill_chain, fed, r.supply_pressure_kpa, target, heat=heat, **room)
    return fill_from_pump(r.pump, fed, target, heat=heat, **room)


def _path(chain: Chain) -> PathOfAir:
    return PathOfAir(
        names=tuple(part.name for part in chain.parts),
        conductances_dm3_per_s_bar=tuple(p.conductance_dm3_per_s_bar for p in chain.parts),
        critical_ratios=tuple(part.critical_ratio for part in chain.parts),
        standings=tuple(part.standing for part in chain.parts),
        conductance_dm3_per_s_bar=chain.conductance_dm3_per_s_bar,
        critical_ratio=chain.critical_ratio,
        narrowest=chain.narrowest.name,
    )


def _remarks(r: AirRequest, shortest_s: float, flow_l_per_min: float) -> Iterator[str]:
    if r.supply_pressure_kpa > r.working_pressure_kpa and r.pump is None:
        yield (
            "The supply is above the working pressure: a pressure controller must close the fill "
            "valve in time, and the relief valve must sit on the fingers' side of it."
        )
    if r.cycles_per_min * shortest_s > 60.0:
        yield (
            f"{r.cycles_per_min:g} cycles a minute are too many: one takes {shortest_s:.2f} s, so "
            f"{60.0 / shortest_s:.1f} a minute at most. Widen the narrowest part of the path, "
            "shorten the tubes or hold for a shorter time."
        )
    if r.pump is not None:
        yield "The pump fills the fingers alone: valve and tube are taken as wide enough for it."
        at_work = float(r.pump.flow_cm3_per_s(np.array([r.working_pressure_kpa]))[0]) * 0.06
        if at_work < flow_l_per_min:
            yield (
                f"The pump gives {at_work:.2f} L/min at the working pressure, less than the "
                f"{flow_l_per_min:.2f} L/min the gripper uses on average: it falls behind."
            )

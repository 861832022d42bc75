"""From the ``[air]`` section to what the ``air`` room takes."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from fiddlehead.project.air_section import AirSection
from fiddlehead.project.findings import Finding
from fiddlehead.project.run_sections import LoadsSection
from fiddlehead.project.validate import Source

if TYPE_CHECKING:
    from fiddlehead.air.cavity import Cavity
    from fiddlehead.air.sizing import AirRequest

KELVIN_AT_0C = 273.15


def air_request(
    section: AirSection,
    working_pressure_kpa: float,
    cavity: Cavity,
    wall_energy_mj: float = 0.0,
) -> AirRequest:
    """The request of a project for a finger of this volume.

    Parameters
    ----------
    wall_energy_mj : strain energy of one finger at the working pressure

    Raises
    ------
    ParameterError : a value no component can have
    """
    from fiddlehead.air.catalogue import tube, tube_volume_cm3
    from fiddlehead.air.flow import Chain, Restriction
    from fiddlehead.air.sizing import AirRequest
    from fiddlehead.air.supply import Pump

    def valve(name: str, conductance: float) -> Restriction:
        return Restriction(name, conductance, section.critical_ratio, standing="your entry")

    fill_c = section.fill_valve_dm3_per_s_bar
    vent_c = section.vent_valve_dm3_per_s_bar or fill_c
    line = tube("tube", section.tube_bore_mm, section.tube_length_m)
    pump = None
    if section.pump_free_flow_l_per_min and section.pump_highest_pressure_kpa:
        pump = Pump(section.pump_free_flow_l_per_min, section.pump_highest_pressure_kpa)
    return AirRequest(
        cavity=cavity,
        fingers=section.fingers,
        shared_valve=section.valves == "shared",
        working_pressure_kpa=working_pressure_kpa,
        supply_pressure_kpa=section.supply_pressure_kpa or working_pressure_kpa,
        fill_chain=Chain((valve("fill valve", fill_c), line)),
        vent_chain=Chain((line, valve("vent valve", vent_c))),
        tube_volume_cm3=tube_volume_cm3(section.tube_bore_mm, section.tube_length_m),
        cycles_per_min=section.cycles_per_min,
        hold_s=section.hold_s,
        leak_cm3_per_min=section.leak_cm3_per_min,
        reservoir_cycles=section.reservoir_cycles,
        reservoir_drop_kpa=section.reservoir_drop_kpa,
        pump=pump,
        wall_energy_mj=wall_energy_mj,
        atmosphere_kpa=section.atmosphere_kpa,
        temperature_k=section.room_temperature_deg_c + KELVIN_AT_0C,
    )


def air_findings(section: AirSection, loads: LoadsSection, source: Source) -> Iterator[Finding]:
    """What does not fit together in the air supply, and what is unwise."""
    supply, working = section.supply_pressure_kpa, loads.working_pressure_kpa
    if supply is not None and supply < working:
        yield Finding(
            kind="mistake",
            message="the supply is weaker than the finger's working pressure",
            found=f"{supply:g} kPa",
            allowed=f"{working:g} kPa or more",
            remedy="Raise it, or leave it out: then it is the working pressure.",
            **source.place(("air", "supply_pressure_kpa")),
        )
    proof = section.proof_factor * working
    if supply is not None and supply > proof:
        yield Finding(
            kind="advice",
            message="a supply above the proof pressure can burst a finger when a valve sticks",
            found=f"{supply:g} kPa",
            allowed=f"proof pressure {proof:g} kPa",
            remedy="Set the regulator lower; a wider valve or tube fills as quickly.",
            standing="common practice, no source",
            **source.place(("air", "supply_pressure_kpa")),
        )
    free, highest = section.pump_free_flow_l_per_min, section.pump_highest_pressure_kpa
    if (free is None) != (highest is None):
        missing = "pump_free_flow_l_per_min" if free is None else "pump_highest_pressure_kpa"
        yield Finding(
            kind="mistake",
            message="a pump has a free flow and a highest pressure; one of them is missing",
            remedy=f"Add {missing}, or leave both out.",
            **source.place(("air", missing)),
        )
    if highest is not None and highest <= working:
        yield Finding(
            kind="mistake",
            message="this pump stalls before the finger's working pressure",
            found=f"{highest:g} kPa",
            allowed=f"above {working:g} kPa",
            remedy="Choose another pump, or lower the working pressure.",
            **source.place(("air", "pump_highest_pressure_kpa")),
        )

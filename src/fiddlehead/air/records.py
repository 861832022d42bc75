"""What the air room found: plain numbers and arrays that can be saved and drawn."""

from __future__ import annotations

import dataclasses

import numpy as np
from jaxtyping import Float


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class PressureTrace:
    """Gauge pressure over time while air flows in or out."""

    time_s: Float[np.ndarray, " time"]
    pressure_kpa: Float[np.ndarray, " time"]
    flow_l_per_min: Float[np.ndarray, " time"]
    """At ANR; positive into the finger."""

    @property
    def duration_s(self) -> float:
        """Time to the last pressure."""
        return float(self.time_s[-1])


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class PathOfAir:
    """One way air takes: valves and tubes in a row, and what they are as one."""

    names: tuple[str, ...]
    conductances_dm3_per_s_bar: tuple[float, ...]
    critical_ratios: tuple[float, ...]
    standings: tuple[str, ...]
    conductance_dm3_per_s_bar: float
    critical_ratio: float
    narrowest: str


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class AirResult:
    """The air supply of one gripper. Flows and free air at ANR (100 kPa, 20 °C)."""

    working_pressure_kpa: float
    supply_pressure_kpa: float
    fingers: int
    fingers_per_valve: int
    fill: PressureTrace
    vent: PressureTrace
    fill_without_heat_s: float
    """The shortest the fill can take: walls that exchange no heat with the air."""
    vent_without_heat_s: float
    fill_path: PathOfAir
    vent_path: PathOfAir
    cavity_at_rest_cm3: float
    """One finger."""
    cavity_at_work_cm3: float
    """One finger at the working pressure."""
    dead_volume_cm3: float
    """Tubes of all fingers."""
    free_air_per_cycle_cm3: float
    """All fingers and tubes."""
    cycles_per_min: float
    hold_s: float
    shortest_cycle_s: float
    """Fill, hold and vent without a pause."""
    leak_cm3_per_min: float
    """All fingers."""
    mean_flow_l_per_min: float
    """Free air per cycle times cycles, and the leak."""
    pump_free_flow_l_per_min: float
    """What a pump should give at no pressure, margin included."""
    pump_highest_pressure_kpa: float
    """Pressure at which that pump's flow ends; its flow falls in a straight line to there."""
    reservoir_cm3: float
    """Volume that feeds the cycles asked for within the pressure drop asked for."""
    reservoir_cycles: int
    reservoir_drop_kpa: float
    air_energy_mj: float
    """In all fingers and tubes at the working pressure."""
    wall_energy_mj: float
    """Strain energy in the walls of all fingers; 0 where it is not known."""
    reservoir_energy_mj: float
    remarks: tuple[str, ...]
    """What does not work out, in plain words."""

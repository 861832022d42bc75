"""The ``[air]`` section: valves, tubes and what the gripper shall do."""

from __future__ import annotations

from typing import Literal

from fiddlehead.air.cautions import PROOF_FACTOR
from fiddlehead.air.reference import ATMOSPHERE_KPA
from fiddlehead.project.fields import COMMON, DEMO, MEMORY, OURS, Section, entry


class AirSection(Section):
    """Air supply of the gripper: valves, tubes, cycles. Flows and free air at 100 kPa and 20 °C."""

    fingers: int = entry(
        3, says="Fingers of one gripper.", standing=DEMO, usual=(2, 6), ge=1, le=12
    )
    valves: Literal["shared", "one per finger"] = entry(
        "shared", says="One valve feeds all fingers, or each has its own.", standing=COMMON
    )
    supply_pressure_kpa: float | None = entry(
        None,
        says="Gauge pressure before the valve; left out = the working pressure.",
        example="# 250.0",
        usual=(20.0, 800.0),
        gt=0,
        le=1600,
    )
    fill_valve_dm3_per_s_bar: float = entry(
        0.3,
        says="Sonic conductance C of the fill valve, from its data sheet.",
        standing=COMMON,
        usual=(0.02, 5.0),
        gt=0,
        le=100,
    )
    vent_valve_dm3_per_s_bar: float | None = entry(
        None,
        says="Sonic conductance of the vent valve; left out = as the fill valve.",
        example="# 0.3",
        usual=(0.02, 5.0),
        gt=0,
        le=100,
    )
    critical_ratio: float = entry(
        0.3,
        says="Critical pressure ratio b of both valves.",
        standing=COMMON,
        usual=(0.1, 0.53),
        ge=0,
        lt=1,
    )
    tube_bore_mm: float = entry(
        2.5,
        says="Inner diameter of the tube from valve to finger.",
        standing=COMMON,
        usual=(1.0, 8.0),
        gt=0,
        le=50,
    )
    tube_length_m: float = entry(
        0.5,
        says="Length of that tube; short tubes are quick tubes.",
        standing=DEMO,
        usual=(0.05, 5.0),
        gt=0,
        le=50,
    )
    cycles_per_min: float = entry(
        6.0, says="Grasps in a minute.", standing=DEMO, usual=(0.5, 60.0), gt=0, le=1000
    )
    hold_s: float = entry(
        3.0, says="How long each grasp is held.", standing=DEMO, usual=(0.0, 60.0), ge=0, le=3600
    )
    leak_cm3_per_min: float = entry(
        1.0,
        says="Leak of one finger at the working pressure; measure it.",
        standing=OURS,
        usual=(0.0, 50.0),
        ge=0,
        le=10000,
    )
    pump_free_flow_l_per_min: float | None = entry(
        None,
        says="Flow of your pump without back pressure; left out = there is a regulated supply.",
        example="# 6.0",
        usual=(0.5, 50.0),
        gt=0,
        le=1000,
    )
    pump_highest_pressure_kpa: float | None = entry(
        None,
        says="Gauge pressure at which that pump stalls.",
        example="# 200.0",
        usual=(20.0, 800.0),
        gt=0,
        le=1600,
    )
    reservoir_cycles: int = entry(
        5, says="Grasps a reservoir shall feed without refill.", standing=OURS, ge=1, le=1000
    )
    reservoir_drop_kpa: float = entry(
        50.0,
        says="How far the reservoir's pressure may fall meanwhile.",
        standing=OURS,
        usual=(5.0, 300.0),
        gt=0,
        le=1000,
    )
    atmosphere_kpa: float = entry(
        ATMOSPHERE_KPA,
        says="Absolute pressure of the room; about 90 at 1000 m.",
        standing=MEMORY,
        usual=(70.0, 105.0),
        gt=30,
        le=120,
    )
    room_temperature_deg_c: float = entry(
        20.0, says="Temperature of room and air.", standing=COMMON, usual=(0.0, 45.0), ge=-40, le=80
    )
    proof_factor: float = entry(
        PROOF_FACTOR,
        says="Proof pressure over working pressure.",
        standing="our proposal; no standard for soft grippers is known to us",
        usual=(1.2, 2.5),
        ge=1,
        le=5,
    )

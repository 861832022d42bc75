"""Sections on the air: what the supply must give, and the label that goes on the gripper."""

from __future__ import annotations

from fiddlehead.air.cautions import RELIEF_FACTOR
from fiddlehead.report.document import Note, Section, Table
from fiddlehead.report.job.parts import Job
from fiddlehead.units import say


def air_supply(job: Job) -> Section | None:
    """Fill and vent, free air, pump, reservoir, stored energy."""
    if not job.has("air"):
        return None
    air = job.document("air", "air.json")
    pictures = job.pictures(
        "air",
        ("cycle", "Gauge pressure while the fingers fill and vent.",
         f"Filled in {say(air['fill']['duration_s'], 's')}, vented in "
         f"{say(air['vent']['duration_s'], 's')}."),
        ("volume_pressure", "Volume and free air of one finger."),
    )  # fmt: skip
    working = air["working_pressure_kpa"]
    rows = (
        ("working pressure / supply pressure, gauge",
         f"{say(working, 'kPa')} / {say(air['supply_pressure_kpa'], 'kPa')}"),
        ("fingers", str(air["fingers"])),
        ("volume of one finger, at rest / at work",
         f"{say(air['cavity_at_rest_cm3'], 'cm3')} / {say(air['cavity_at_work_cm3'], 'cm3')}"),
        ("fill / vent, to 95 % and 5 % of the working pressure",
         f"{say(air['fill']['duration_s'], 's')} / {say(air['vent']['duration_s'], 's')}"),
        ("narrowest part while filling / venting",
         f"{air['fill_path']['narrowest']} / {air['vent_path']['narrowest']}"),
        ("free air for one grasp, at 100 kPa and 20 °C",
         say(air["free_air_per_cycle_cm3"], "cm3")),
        (f"mean flow at {air['cycles_per_min']:g} grasps a minute",
         say(air["mean_flow_l_per_min"], "L/min")),
        ("pump, if there is no shop air",
         f"{say(air['pump_free_flow_l_per_min'], 'L/min')} free flow, stalls at "
         f"{say(air['pump_highest_pressure_kpa'], 'kPa')}"),
        (f"reservoir for {air['reservoir_cycles']} grasps", say(air["reservoir_cm3"] / 1e3, "L")),
        ("relief valve opens at", f"{say(RELIEF_FACTOR * working, 'kPa')} or less"),
        ("energy of the air in fingers and tubes", say(air["air_energy_mj"] / 1e3, "J")),
        ("energy of the air in the reservoir", say(air["reservoir_energy_mj"] / 1e3, "J")),
    )  # fmt: skip
    return Section(
        "Air supply",
        (
            *pictures,
            Table(("quantity", "value"), rows),
            *(Note(remark) for remark in air["remarks"]),
        ),
    )


def pressure_label(job: Job) -> Section | None:
    """The label with the ratings and whether a proof test was done."""
    if not job.has("handover"):
        return None
    made = job.document("handover", "handover.json")
    working, proof = made["working_pressure_kpa"], made["proof_pressure_kpa"]
    tested = made["proof_tested"]
    words = (
        f"Highest working pressure {say(working, 'kPa')}, proof pressure {say(proof, 'kPa')}, "
        + (f"proof tested {tested}." if tested else "not yet proof tested.")
    )
    untested = Note(
        "This gripper has not been proof tested. Do the proof test behind a screen before anybody "
        "works near it; steps and parts list stand in handover/handover.html."
    )
    return Section(
        "Pressure label",
        (
            *job.pictures("handover", ("label", "Print label.svg at 80 x 50 mm.", words)),
            words,
            *([] if tested else [untested]),
        ),
    )

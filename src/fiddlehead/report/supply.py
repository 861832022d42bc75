"""The air supply of a gripper as a sheet with pictures, tables and a record.

results/air/  air.html, cycle.png/svg, volume_pressure.png/svg, fill.csv, vent.csv, air.json
"""

from __future__ import annotations

import dataclasses
import json
from pathlib import Path
from typing import Any

from fiddlehead.air.cautions import RELIEF_FACTOR
from fiddlehead.air.cavity import Cavity
from fiddlehead.air.records import AirResult, PathOfAir, PressureTrace
from fiddlehead.air.supply import PUMP_MARGIN
from fiddlehead.files import write_text
from fiddlehead.project.load import Project
from fiddlehead.report.document import Picture, Section, Sheet, Table, html
from fiddlehead.report.export.tables import write_table
from fiddlehead.report.figures.air import cycle_picture, draw_cycle, volume_picture
from fiddlehead.report.figures.curves import draw_curves
from fiddlehead.report.figures.style import save
from fiddlehead.report.results import Written, write_result
from fiddlehead.units import say

RULE_OF_THUMB = (10.0, 50.0)
"""Reservoir over the volume of all fingers; common practice, no source."""


def write_air(
    results: Path, project: Project, cavity: Cavity, result: AirResult, volume_from: str
) -> Written:
    """Write the sheet, its pictures, tables and record.

    Parameters
    ----------
    cavity : one finger
    volume_from : where V(p) came from, in words

    Raises
    ------
    StoreError : the folder cannot be written
    """
    detail = f"{result.fingers} fingers; {volume_from}"
    sheet = air_sheet(project.name, result, volume_from)
    atmosphere = project.sections.air.atmosphere_kpa

    def fill(folder: Path) -> None:
        cycle = cycle_picture(result, f"{project.name}: one grasp", detail)
        save(draw_cycle(cycle), folder, "cycle")
        volume = volume_picture(
            cavity, result.working_pressure_kpa, atmosphere, f"{project.name}: air", volume_from
        )
        save(draw_curves(volume), folder, volume.name)
        for name, trace in (("fill", result.fill), ("vent", result.vent)):
            write_table(folder / f"{name}.csv", _columns(trace))
        write_text(folder / "air.html", html(sheet))
        write_text(folder / "air.json", json.dumps(_record(result), indent=2) + "\n")

    return write_result(
        results / "air", fill, "air", project.input_hash, ("cycle", "volume_pressure")
    )


def _columns(trace: PressureTrace) -> dict[str, Any]:
    return {
        "time_s": list(trace.time_s),
        "pressure_kpa": list(trace.pressure_kpa),
        "flow_l_per_min_anr": list(trace.flow_l_per_min),
    }


def _record(result: AirResult) -> dict[str, Any]:
    found = dataclasses.asdict(result)
    for name in ("fill", "vent"):
        found[name] = {"duration_s": getattr(result, name).duration_s}
    return found


def air_sheet(name: str, r: AirResult, volume_from: str) -> Sheet:
    """The sheet as data."""
    return Sheet(
        title=f"{name}: air supply",
        subtitle=f"Gauge pressures; flows and free air at ANR (100 kPa, 20 °C). {volume_from}.",
        sections=(
            Section("What it takes", (_demand_table(r), *r.remarks)),
            Section(
                "One grasp",
                (
                    Picture("cycle.png", "Gauge pressure while the fingers fill and vent."),
                    _path_table(r),
                    "The longer times take the air at one temperature, the shorter ones take walls "
                    "that exchange no heat with it; real times lie between. Filled means 95 %, "
                    "vented 5 % of the working pressure (common practice, no source).",
                ),
            ),
            Section(
                "The finger's own volume",
                (Picture("volume_pressure.png", "Volume and free air of one finger."),),
            ),
            Section("Stored energy", (_energy_table(r),)),
            Section("Pump, reservoir, relief valve", (_sizing_table(r),)),
        ),
    )


def _demand_table(r: AirResult) -> Table:
    fed = "one valve for all" if r.fingers_per_valve > 1 else "a valve for each"
    return Table(
        ("quantity", "value"),
        (
            ("working pressure / supply pressure",
             f"{say(r.working_pressure_kpa, 'kPa')} / {say(r.supply_pressure_kpa, 'kPa')}"),
            ("fingers", f"{r.fingers}, {fed}"),
            ("volume of one finger, at rest / at work",
             f"{say(r.cavity_at_rest_cm3, 'cm3')} / {say(r.cavity_at_work_cm3, 'cm3')}"),
            ("tubes", say(r.dead_volume_cm3, "cm3")),
            ("free air for one grasp, all fingers", say(r.free_air_per_cycle_cm3, "cm3")),
            ("fill / vent, air at room temperature",
             f"{say(r.fill.duration_s, 's')} / {say(r.vent.duration_s, 's')}"),
            ("fill / vent, no heat to the walls",
             f"{say(r.fill_without_heat_s, 's')} / {say(r.vent_without_heat_s, 's')}"),
            ("shortest cycle with the hold asked for", say(r.shortest_cycle_s, "s")),
            ("leak, all fingers", say(r.leak_cm3_per_min, "cm3/min")),
            (f"mean flow at {r.cycles_per_min:g} grasps a minute",
             say(r.mean_flow_l_per_min, "L/min")),
        ),
    )  # fmt: skip


def _path_table(r: AirResult) -> Table:
    rows: list[tuple[str, ...]] = []
    for way, path in (("fill", r.fill_path), ("vent", r.vent_path)):
        rows += _path_rows(way, path)
    return Table(("path", "part", "C, dm³/(s bar)", "b", "from"), tuple(rows))


def _path_rows(way: str, path: PathOfAir) -> list[tuple[str, ...]]:
    parts = zip(
        path.names,
        path.conductances_dm3_per_s_bar,
        path.critical_ratios,
        path.standings,
        strict=True,
    )
    rows = [(way, name, f"{c:.3g}", f"{b:.2f}", standing) for name, c, b, standing in parts]
    whole = f"{path.conductance_dm3_per_s_bar:.3g}", f"{path.critical_ratio:.2f}"
    return [*rows, (way, "together", *whole, f"narrowest: {path.narrowest}")]


def _energy_table(r: AirResult) -> Table:
    rows = [("air in fingers and tubes", say(r.air_energy_mj / 1e3, "J"))]
    if r.wall_energy_mj:
        rows.append(("stretched walls of all fingers", say(r.wall_energy_mj / 1e3, "J")))
    rows.append((
        f"reservoir of {say(r.reservoir_cm3 / 1e3, 'L')} at {say(r.supply_pressure_kpa, 'kPa')}",
        say(r.reservoir_energy_mj / 1e3, "J"),
    ))  # fmt: skip
    return Table(("where", "energy"), tuple(rows))


def _sizing_table(r: AirResult) -> Table:
    fingers = (r.fingers * r.cavity_at_work_cm3 + r.dead_volume_cm3) / 1e3
    low, high = (say(factor * fingers, "L") for factor in RULE_OF_THUMB)
    return Table(
        ("part", "size", "rests on"),
        (
            ("pump, if there is no shop air",
             f"{say(r.pump_free_flow_l_per_min, 'L/min')} free flow, stalls at "
             f"{say(r.pump_highest_pressure_kpa, 'kPa')}",
             f"{PUMP_MARGIN:g} times the mean flow at the working pressure; flow falls in a "
             "straight line (common practice, no source)"),
            ("reservoir",
             say(r.reservoir_cm3 / 1e3, "L"),
             f"{r.reservoir_cycles} grasps while it falls by {say(r.reservoir_drop_kpa, 'kPa')}; "
             f"rule of thumb {low} to {high} (10 to 50 times the fingers, common practice)"),
            ("relief valve",
             f"opens at {say(RELIEF_FACTOR * r.working_pressure_kpa, 'kPa')} or less",
             f"{RELIEF_FACTOR:g} times the working pressure (common practice, no source)"),
        ),
    )  # fmt: skip

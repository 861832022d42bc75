"""``fiddlehead air``: fill and vent times, pump, reservoir, stored energy."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from fiddlehead.cli.codes import OK
from fiddlehead.cli.options import json_option, project_argument, results_option
from fiddlehead.cli.output import Voice
from fiddlehead.cli.session import checked_project, results_folder

if TYPE_CHECKING:
    from fiddlehead.air.records import AirResult


@click.command()
@project_argument
@results_option
@click.option(
    "--rigid",
    is_flag=True,
    help="A rough estimate without `bend`: the volume at rest, as if the walls did not give.",
)
@json_option
def air(project: Path, results: Path | None, rigid: bool, machine: bool) -> int:
    """Size the air supply: fill and vent times, free air, pump, reservoir.

    PROJECT is the project file or its folder. The finger's volume over pressure is taken from the
    last `bend`. Writes a sheet with pictures and tables to air/ in the results folder.
    """
    voice = Voice(machine)
    checked = checked_project(project, voice, "air")
    folder = results_folder(checked, results)

    from fiddlehead.air.sizing import size_supply
    from fiddlehead.project.air import air_request
    from fiddlehead.report.supply import write_air
    from fiddlehead.report.volume import finger_volume

    volume = finger_volume(checked, folder, rigid=rigid)
    request = air_request(
        checked.sections.air,
        checked.loads.working_pressure_kpa,
        volume.cavity,
        volume.wall_energy_mj,
    )
    result = size_supply(request)
    written = write_air(folder, checked, volume.cavity, result, volume.origin)
    _tell(voice, result)
    for remark in (*volume.remarks, *result.remarks):
        voice.paragraph(f"Mind: {remark}")
    voice.files(written.pictures, [written.folder / "air.html"])
    voice.caution()
    voice.document(
        "air",
        OK,
        project=checked.name,
        input_hash_sha256=checked.input_hash,
        volume_from=volume.origin,
        fill_s=result.fill.duration_s,
        vent_s=result.vent.duration_s,
        fill_without_heat_s=result.fill_without_heat_s,
        vent_without_heat_s=result.vent_without_heat_s,
        free_air_per_cycle_cm3=result.free_air_per_cycle_cm3,
        mean_flow_l_per_min=result.mean_flow_l_per_min,
        pump_free_flow_l_per_min=result.pump_free_flow_l_per_min,
        reservoir_cm3=result.reservoir_cm3,
        air_energy_mj=result.air_energy_mj,
        warnings=[*volume.remarks, *result.remarks],
        folder=str(written.folder),
        files=[str(file) for file in written.files],
    )
    return OK


def _tell(voice: Voice, result: AirResult) -> None:
    from fiddlehead.units import say

    voice.paragraph(
        f"{result.fingers} fingers fill in {say(result.fill.duration_s, 's')} and vent in "
        f"{say(result.vent.duration_s, 's')} ({say(result.fill_without_heat_s, 's')} and "
        f"{say(result.vent_without_heat_s, 's')} if the walls took no heat); narrowest on the "
        f"way: {result.fill_path.narrowest}."
    )
    voice.paragraph(
        f"One grasp takes {say(result.free_air_per_cycle_cm3, 'cm3')} of free air; at "
        f"{result.cycles_per_min:g} a minute that is {say(result.mean_flow_l_per_min, 'L/min')} "
        f"with the leak. A pump needs {say(result.pump_free_flow_l_per_min, 'L/min')} free flow, "
        f"a reservoir {say(result.reservoir_cm3 / 1e3, 'L')}."
    )
    voice.paragraph(
        f"Stored energy: {say(result.air_energy_mj / 1e3, 'J')} in fingers and tubes, "
        f"{say(result.reservoir_energy_mj / 1e3, 'J')} in that reservoir."
    )

"""``fiddlehead handover``: parts list, pressure label and checks of one gripper."""

from __future__ import annotations

from pathlib import Path

import click

from fiddlehead.cli.codes import OK
from fiddlehead.cli.options import day_option, json_option, project_argument, results_option
from fiddlehead.cli.output import Voice
from fiddlehead.cli.session import checked_project, now, results_folder


@click.command()
@project_argument
@results_option
@day_option(
    "--proof-tested",
    "Day on which this gripper passed its proof test; without it the label says: not yet.",
)
@day_option("--date", "Day on the sheet.  [default: today]")
@json_option
def handover(
    project: Path, results: Path | None, proof_tested: str, date: str, machine: bool
) -> int:
    """Write the sheet that goes with a gripper: parts, ratings, label, checks.

    PROJECT is the project file or its folder. Uses the results of `bend` and `block` where they
    are there. Writes to handover/ in the results folder.
    """
    voice = Voice(machine)
    checked = checked_project(project, voice, "handover")
    folder = results_folder(checked, results)

    from fiddlehead.air.sizing import size_supply
    from fiddlehead.fabricate.solid import finger_solid
    from fiddlehead.project.air import air_request
    from fiddlehead.report.handover import Handover, predicted_values, write_handover
    from fiddlehead.report.volume import finger_volume

    working = checked.loads.working_pressure_kpa
    rigid = not (folder / "bend" / "record.json").exists()
    volume = finger_volume(checked, folder, rigid=rigid)
    request = air_request(checked.sections.air, working, volume.cavity, volume.wall_energy_mj)
    finger = finger_solid(checked.finger, checked.fittings)
    made = Handover(
        project=checked,
        air=size_supply(request),
        finger_mass_g=finger.mass_g(checked.material.density_g_per_cm3),
        volume_from=volume.origin,
        date=date or now()[:10],
        proof_tested=proof_tested,
        predicted=predicted_values(folder, working),
    )
    written = write_handover(folder, made)
    for line in made.label.lines:
        voice.say(f"  {line}")
    for remark in (*volume.remarks, *made.air.remarks):
        voice.paragraph(f"Mind: {remark}")
    voice.files(written.pictures, [written.folder / "handover.html", written.folder / "parts.csv"])
    voice.caution()
    voice.document(
        "handover",
        OK,
        project=checked.name,
        input_hash_sha256=checked.input_hash,
        working_pressure_kpa=working,
        proof_pressure_kpa=made.proof_kpa,
        proof_tested=proof_tested,
        predicted=dict(made.predicted),
        warnings=[*volume.remarks, *made.air.remarks],
        folder=str(written.folder),
        files=[str(file) for file in written.files],
    )
    return OK

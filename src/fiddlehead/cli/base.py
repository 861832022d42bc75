"""``fiddlehead base``: what carries the fingers and brings them air."""

from __future__ import annotations

from pathlib import Path

import click

from fiddlehead.cli.codes import OK
from fiddlehead.cli.options import json_option, project_argument, results_option
from fiddlehead.cli.output import Voice
from fiddlehead.cli.session import checked_project, now, results_folder


@click.command()
@project_argument
@results_option
@click.option("--quick", is_flag=True, help="Leave out the layer check of the base.")
@json_option
def base(project: Path, results: Path | None, quick: bool, machine: bool) -> int:
    """Model the modular base: slots, seals, air channels, wrist flange, blanking plugs.

    PROJECT is the project file or its folder. Writes STL, 3MF, an assembly as STEP and pictures to
    base/ in the results folder.
    """
    voice = Voice(machine)
    checked = checked_project(project, voice, "base")
    folder = results_folder(checked, results)

    from fiddlehead.fabricate.solid import finger_solid
    from fiddlehead.report.base import check_base, model_gripper, numbers, write_base

    gripper = model_gripper(checked, finger_solid(checked.finger, checked.fittings))
    found = None if quick else check_base(gripper, checked)
    written = write_base(folder, checked, gripper, found, now())
    p, layout = gripper.layout.parameters, gripper.layout
    voice.paragraph(
        f"Base: {p.slots} slots, {len(p.used)} of them for fingers, {2 * layout.radius:g} mm "
        f"across, {layout.thickness:g} mm thick, for a wrist flange {p.flange}."
    )
    if gripper.plugs_needed:
        voice.say(f"Print {gripper.plugs_needed} blanking plugs, and an O-ring for every slot.")
    if found is not None:
        voice.paragraph(f"Layer check of the base, flange face down: {found.verdict}.")
    voice.files(
        written.pictures, [f for f in written.files if f.suffix in (".3mf", ".step", ".pdf")]
    )
    voice.caution()
    voice.document(
        "base",
        OK,
        project=checked.name,
        input_hash_sha256=checked.input_hash,
        base=numbers(gripper, found),
        folder=str(written.folder),
        files=[str(file) for file in written.files],
    )
    return OK

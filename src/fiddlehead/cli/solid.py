"""``fiddlehead solid``: the finger as files for a printer and for drawing programs."""

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
@json_option
def solid(project: Path, results: Path | None, machine: bool) -> int:
    """Model the finger and write STL, 3MF, STEP and a drawing.

    PROJECT is the project file or its folder. The solid has fillets, inlet, mount and serial
    number; it is proven closed and free of crossings before anything is written. Writes to solid/
    in the results folder.
    """
    voice = Voice(machine)
    checked = checked_project(project, voice, "solid")
    folder = results_folder(checked, results)

    from fiddlehead.fabricate.solid import finger_solid
    from fiddlehead.report.fabrication import write_solid
    from fiddlehead.units import say

    finger = finger_solid(checked.finger, checked.fittings)
    written, found = write_solid(folder, checked, finger, now())
    mass = finger.mass_g(checked.material.density_g_per_cm3)
    voice.say(
        f"Finger: {say(finger.volume_mm3 / 1000.0, 'cm3')} of material, {say(mass, '')} g solid; "
        f"{found.measures['surface']}."
    )
    voice.files(
        written.pictures, [f for f in written.files if f.suffix in (".3mf", ".step", ".pdf")]
    )
    voice.document(
        "solid",
        OK,
        project=checked.name,
        input_hash_sha256=checked.input_hash,
        finger={**found.measures, "mass_g": mass},
        folder=str(written.folder),
        files=[str(file) for file in written.files],
    )
    return OK

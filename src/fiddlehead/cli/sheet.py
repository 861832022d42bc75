"""``fiddlehead sheet``: what to key into a slicing program."""

from __future__ import annotations

from pathlib import Path

import click

from fiddlehead.cli.codes import OK
from fiddlehead.cli.options import json_option, project_argument, results_option
from fiddlehead.cli.output import Voice
from fiddlehead.cli.session import checked_project, results_folder


@click.command()
@project_argument
@results_option
@click.option("--quick", is_flag=True, help="Leave out the layer check with its time and mass.")
@json_option
def sheet(project: Path, results: Path | None, quick: bool, machine: bool) -> int:
    """Write the slicing sheet: every setting with start, range, reason and standing.

    PROJECT is the project file or its folder. The sheet suits any slicing program; a TOML file
    holds the same values for scripts. Writes to sheet/ in the results folder.
    """
    voice = Voice(machine)
    checked = checked_project(project, voice, "sheet")
    folder = results_folder(checked, results)

    from fiddlehead.fabricate.printcheck import print_check, walls_hold_a_line
    from fiddlehead.fabricate.slicing_sheet import slicing_settings
    from fiddlehead.fabricate.solid import finger_solid
    from fiddlehead.report.slicing import shown, write_sheet

    walls_hold_a_line(checked.finger, checked.process)
    found = None
    if not quick:
        finger = finger_solid(checked.finger, checked.fittings)
        part = finger.part(checked.printing.build_orientation)
        found = print_check(part, checked.process, finger.plug())
        voice.paragraph(f"Layer check: {found.verdict}.")
    written = write_sheet(folder, checked, found)
    settings = slicing_settings(checked.finger, checked.printing, checked.process)
    for setting in settings:
        if setting.from_project:
            voice.say(f"  {setting.name:<32} {shown(setting)}")
    voice.files(written.pictures, [f for f in written.files if f.suffix in (".html", ".toml")])
    voice.document(
        "sheet",
        OK,
        project=checked.name,
        input_hash_sha256=checked.input_hash,
        settings={s.key: s.start for s in settings},
        folder=str(written.folder),
        files=[str(file) for file in written.files],
    )
    return OK

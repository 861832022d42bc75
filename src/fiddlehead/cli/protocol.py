"""``fiddlehead protocol``: printable test sheets and blank forms."""

from __future__ import annotations

from pathlib import Path

import click

from fiddlehead.cli.options import json_option, project_argument, results_option
from fiddlehead.cli.output import Voice
from fiddlehead.cli.session import checked_project, results_folder


@click.command()
@project_argument
@results_option
@click.option("--only", "only", default="", metavar="NAME", help="One protocol instead of all.")
@json_option
def protocol(project: Path, results: Path | None, only: str, machine: bool) -> int:
    """Write test sheets to print and forms to fill in.

    PROJECT is the project file or its folder. Each test (angle, blocked force, lateral, leak,
    life, picks, pull-off, step, creep) gets a page with rig sketch, cautions, steps and blank
    table, and the same table as CSV and workbook, which `measure` reads back without any mapping.
    The board for photos and the places of the marks come at true size. All goes to protocols/ in
    the results folder.
    """
    from fiddlehead.bench.protocols import PROTOCOLS, find_protocol
    from fiddlehead.report.protocols import write_protocols

    voice = Voice(machine)
    loaded = checked_project(project, voice, "protocol")
    folder = results_folder(loaded, results)
    wanted = [find_protocol(only)] if only else list(PROTOCOLS.values())
    written = write_protocols(folder, loaded, wanted)
    for path in written.files:
        if path.suffix == ".pdf":
            voice.say(f"  {path}")
    voice.say("Print the board without scaling, then measure it: the project asks for both sizes.")
    voice.caution()
    voice.document(
        "protocol", 0, folder=str(written.folder), files=[str(path) for path in written.files]
    )
    return 0

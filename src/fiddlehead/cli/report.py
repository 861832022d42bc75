"""``fiddlehead report``: everything that was found, as one page, one PDF and a data package."""

from __future__ import annotations

from pathlib import Path

import click

from fiddlehead.cli.codes import DOUBTS, OK
from fiddlehead.cli.options import day_option, json_option, project_argument, results_option
from fiddlehead.cli.output import Voice
from fiddlehead.cli.session import checked_project, now, results_folder


@click.command()
@project_argument
@results_option
@day_option("--date", "Day on the report; the same day gives the same bytes.  [default: today]")
@click.option("--no-package", is_flag=True, help="Leave the data package out.")
@click.option("--strict", is_flag=True, help="Exit with 1 when a part is stale or damaged.")
@json_option
def report(
    project: Path,
    results: Path | None,
    date: str,
    no_package: bool,
    strict: bool,
    machine: bool,
) -> int:
    """Write the report of the whole job, from every result that is there.

    PROJECT is the project file or its folder. Nothing is computed: run the other commands first,
    each adds its part. Results of an older project file are shown and marked. Writes one HTML
    page, one PDF and a data package to report/ in the results folder.
    """
    voice = Voice(machine)
    checked = checked_project(project, voice, "report")
    folder = results_folder(checked, results)

    from fiddlehead.report.job.parts import look_through
    from fiddlehead.report.job.write import write_report

    job = look_through(checked, folder, date or now()[:10])
    reported = write_report(job, package=not no_package)
    headings = [section.heading for section in reported.sheet.sections]
    voice.paragraph(f"Parts: {', '.join(headings)}.")
    doubts = [one for one in job.found.values() if one.told]
    for one in doubts:
        voice.paragraph(f"Mind: {one.part.tells}: {one.told}")
    voice.files((), [f for f in reported.written.files if f.suffix in (".html", ".pdf", ".zip")])
    voice.caution()
    code = DOUBTS if strict and doubts else OK
    voice.document(
        "report",
        code,
        project=checked.name,
        input_hash_sha256=checked.input_hash,
        date=job.day,
        parts={name: one.state for name, one in job.found.items()},
        warnings=[one.told for one in doubts],
        sections=headings,
        folder=str(reported.written.folder),
        files=[str(file) for file in reported.written.files],
    )
    return code

"""``fiddlehead printcheck``: will it be tight, will it print, and how should it lie?"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from fiddlehead.cli.codes import DOUBTS, OK
from fiddlehead.cli.options import json_option, project_argument, results_option
from fiddlehead.cli.output import Voice
from fiddlehead.cli.session import checked_project, results_folder

if TYPE_CHECKING:
    from fiddlehead.fabricate.printcheck import PrintCheck


@click.command()
@project_argument
@results_option
@click.option(
    "--orientation",
    type=click.Choice(["side", "upright", "base_down"]),
    default=None,
    help="How the finger lies on the plate, instead of the project's own orientation.",
)
@click.option(
    "--part",
    type=click.Path(path_type=Path, dir_okay=False),
    default=None,
    metavar="FILE.stl",
    help="Check another part as it lies in an STL file (mm), with the project's print settings.",
)
@click.option("--strict", is_flag=True, help="Exit with 1 when faults are found.")
@json_option
def printcheck(
    project: Path,
    results: Path | None,
    orientation: str | None,
    part: Path | None,
    strict: bool,
    machine: bool,
) -> int:
    """Check the finger layer by layer: leak paths, bridges, overhangs, print time.

    PROJECT is the project file or its folder. The solid is cut into layers and every layer drawn
    with lines; what is found is told with its layer and place. Three orientations are compared.
    Writes to printcheck/ in the results folder, and values to colour in leak-map/.
    """
    voice = Voice(machine)
    checked = checked_project(project, voice, "printcheck")
    folder = results_folder(checked, results)

    from fiddlehead.fabricate.leak_map import FILE, leak_map
    from fiddlehead.fabricate.printcheck import (
        compare_orientations,
        print_check,
        walls_hold_a_line,
    )
    from fiddlehead.fabricate.solid import finger_solid
    from fiddlehead.fabricate.surface import read_stl
    from fiddlehead.report.printing import check_numbers, finding_columns, write_print_check
    from fiddlehead.report.results import write_result

    if part is not None:
        found = print_check(read_stl(part), checked.process)
        written = write_print_check(
            folder / f"printcheck-{part.stem}", part.stem, checked.input_hash, found
        )
        others = {}
    else:
        walls_hold_a_line(checked.finger, checked.process)
        finger = finger_solid(checked.finger, checked.fittings)
        body, stopper = finger.part(), finger.plug()
        others = dict(compare_orientations(body, checked.process, stopper))
        wanted = orientation or checked.printing.build_orientation
        if wanted not in others:  # does not fit the printer: let the check say so
            print_check(finger.part(wanted), checked.process, stopper)  # type: ignore[arg-type]
        found = others[wanted]  # type: ignore[index]
        voice.say(f"Orientation: {wanted.replace('_', ' ')}.")
        written = write_print_check(
            folder / "printcheck", checked.name, checked.input_hash, found, others
        )
        spread = leak_map(found)

        def fill(place: Path) -> None:
            spread.save(place / FILE)

        write_result(folder / "leak-map", fill, "leak_map", checked.input_hash)
    tell(voice, found)
    for name, other in others.items():
        voice.say(f"  {name.replace('_', ' '):<10} {len(other.faults):>3} faults  {_time(other)}")
    voice.files(written.pictures, [f for f in written.files if f.suffix in (".csv", ".json")])
    code = DOUBTS if strict and found.faults else OK
    columns = finding_columns(found.findings)
    voice.document(
        "printcheck",
        code,
        project=checked.name,
        input_hash_sha256=checked.input_hash,
        check=check_numbers(found),
        orientations={name: check_numbers(other) for name, other in others.items()},
        findings=[
            dict(zip(columns, row, strict=True)) for row in zip(*columns.values(), strict=True)
        ],
        folder=str(written.folder),
        files=[str(file) for file in written.files],
    )
    return code


def tell(voice: Voice, check: PrintCheck) -> None:
    """The verdict, the worst of every kind of finding, and what the print takes."""
    from fiddlehead.units import say

    voice.paragraph(f"Verdict: {check.verdict}.")
    told: dict[str, int] = {}
    for finding in check.findings:
        told[finding.kind] = told.get(finding.kind, 0) + 1
    for finding in check.findings:
        count = told.pop(finding.kind, 0)
        if count:
            more = {1: "", 2: " And one more place."}.get(count, f" And {count - 1} more places.")
            voice.paragraph(f"{finding.severity.capitalize()}: {finding.text}.{more}", indent="  ")
    e = check.estimate
    voice.paragraph(
        f"Estimate: {e.layers} layers, {_time(check)}, {say(e.filament_mm / 1000.0, 'm')} of "
        f"filament, {say(e.mass_g, '')} g, {say(e.cost, '')} in your currency."
    )


def _time(check: PrintCheck) -> str:
    minutes = round(check.estimate.time_s / 60.0)
    return f"{minutes // 60} h {minutes % 60:02d} min"

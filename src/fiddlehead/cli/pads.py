"""``fiddlehead pads``: by how much a pad lowers the contact pressure."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fiddlehead.cli.interrupts import Interrupts
from fiddlehead.cli.options import (
    json_option,
    mesh_option,
    pressure_option,
    project_argument,
    results_option,
)
from fiddlehead.cli.outcome import tell_outcome
from fiddlehead.cli.output import Voice
from fiddlehead.cli.progress import PressureSteps
from fiddlehead.cli.session import prepare
from fiddlehead.errors import ParameterError

if TYPE_CHECKING:
    from fiddlehead.trials.records import PressResult

SECOND = {"preview": "standard", "standard": "preview", "fine": "standard"}
"""The mesh on which the figures are tried again."""


@click.command()
@project_argument
@results_option
@pressure_option
@mesh_option
@click.option("--object", "name", metavar="NAME", help="What to press on.  [default: the first]")
@click.option("--pad", "chosen", multiple=True, metavar="KIND", help="Only these kinds of pad.")
@click.option("--quick", is_flag=True, help="Leave out the second mesh.")
@json_option
def pads(
    project: Path,
    results: Path | None,
    pressure_kpa: float | None,
    mesh: str | None,
    name: str | None,
    chosen: tuple[str, ...],
    quick: bool,
    machine: bool,
) -> int:
    """Compare pads: how many times lower is the contact pressure?

    PROJECT is the project file or its folder. The bare finger, and pads of one depth filled in
    different ways (plain, ribs, cells, ribs and cells), press on one object; they are compared at
    equal grip force and at equal air pressure, on two meshes. Writes maps on one colour scale, a
    histogram, factors and a table to pads/ in the results folder.
    """
    voice = Voice(machine)
    run, folder = prepare(project, results, mesh, voice, "pads")

    from fiddlehead.finger.pad.variants import pad_variants
    from fiddlehead.mesh.settings import mesh_settings
    from fiddlehead.objects.making import shape_of
    from fiddlehead.project.objects import library_path, pressed_objects
    from fiddlehead.report.pads import pad_rows, summarise_pads, write_pads
    from fiddlehead.trials.pads import compare_pads
    from fiddlehead.trials.press import press as run_press

    test, home = run.project.tests.press, run.project.path.parent
    asked = test.model_copy(update={"objects": (name,) if name else test.objects[:1]})
    (record,) = pressed_objects(asked, home)
    shape = shape_of(record, library_path(asked, home).parent)
    fingers, refused = pad_variants(run.project.finger)
    for kind in chosen:
        if kind not in fingers:
            raise ParameterError(
                "no such kind of pad", where="--pad", found=repr(kind),
                allowed=", ".join(fingers), remedy=refused.get(kind, "Choose one of these."),
            )  # fmt: skip
    wanted = {k: f for k, f in fingers.items() if not chosen or k in (*chosen, "none")}
    pressures = run.project.pressures_mpa(pressure_kpa)
    preset = mesh or run.project.sections.mesh.preset
    meshes = [run.mesh] if quick else [run.mesh, mesh_settings(SECOND[preset])]
    found: list[dict[str, PressResult]] = [{} for _ in meshes]
    with Interrupts(voice) as interrupts:
        for number, settings in enumerate(meshes):
            for kind, finger in wanted.items():
                if interrupts.requested:
                    break
                again = ", second mesh" if number else ""
                voice.say(f"Pad {kind} on {record.name}{again}:")
                found[number][kind] = run_press(
                    finger,
                    run.card.law(),
                    run.card.bulk_modulus_mpa,
                    pressures,
                    shape,
                    object_name=record.name,
                    friction_coefficient=record.friction_coefficient,
                    orientation=test.orientation,
                    touch_at_mm=1e-2 * test.touch_at_percent * finger.length_mm,
                    clearance_mm=test.clearance_mm,
                    threshold_kpa=test.contact_threshold_kpa,
                    mesh_settings=settings,
                    build_orientation=run.project.printing.build_orientation,
                    progress=PressureSteps(voice, interrupts, pressures),
                )
    first, second = found[0], found[1] if len(found) > 1 else {}
    compared = compare_pads(first, second)
    written = write_pads(folder, run, compared, first)
    summary = summarise_pads(compared, refused, run.card)
    return tell_outcome(
        voice, "pads", run, [r.history for r in first.values()], written, summary,
        pads=pad_rows(compared), object=dataclasses.asdict(record),
    )  # fmt: skip

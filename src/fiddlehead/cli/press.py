"""``fiddlehead press``: the finger against objects that do not move."""

from __future__ import annotations

from pathlib import Path

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


@click.command()
@project_argument
@results_option
@pressure_option
@mesh_option
@click.option(
    "--object",
    "names",
    multiple=True,
    metavar="NAME",
    help="An object of the library, instead of the project's; may be given several times.",
)
@click.option("--smooth", is_flag=True, help="Leave friction out.")
@json_option
def press(
    project: Path,
    results: Path | None,
    pressure_kpa: float | None,
    mesh: str | None,
    names: tuple[str, ...],
    smooth: bool,
    machine: bool,
) -> int:
    """Predict grip force and contact pressure on objects.

    PROJECT is the project file or its folder. Each object stands before the straight finger and
    does not move; the finger is inflated against it. Writes maps of contact pressure, curves, mesh
    series and records to press/ in the results folder. Ctrl-C stops at the next safe place and
    keeps the finished steps in press-cancelled/.
    """
    voice = Voice(machine)
    run, folder = prepare(project, results, mesh, voice, "press")

    from fiddlehead.objects.making import shape_of
    from fiddlehead.project.objects import library_path, pressed_objects
    from fiddlehead.report.export.tables import press_columns
    from fiddlehead.report.pressed import summarise_press, write_press
    from fiddlehead.trials.press import press as run_press

    test, home = run.project.tests.press, run.project.path.parent
    asked = test.model_copy(update={"objects": names}) if names else test
    objects = pressed_objects(asked, home)
    place = library_path(asked, home).parent
    shapes = [shape_of(record, place) for record in objects]  # all faults told before any run
    pressures = run.project.pressures_mpa(pressure_kpa)
    finger = run.project.finger
    found = []
    with Interrupts(voice) as interrupts:
        for record, shape in zip(objects, shapes, strict=True):
            voice.say(f"Pressing on {record.name} to {1e3 * pressures[-1]:g} kPa:")
            found.append(
                run_press(
                    finger,
                    run.card.law(),
                    run.card.bulk_modulus_mpa,
                    pressures,
                    shape,
                    object_name=record.name,
                    friction_coefficient=0.0 if smooth else record.friction_coefficient,
                    orientation=test.orientation,
                    touch_at_mm=1e-2 * test.touch_at_percent * finger.length_mm,
                    clearance_mm=test.clearance_mm,
                    threshold_kpa=test.contact_threshold_kpa,
                    mesh_settings=run.mesh,
                    build_orientation=run.project.printing.build_orientation,
                    progress=PressureSteps(voice, interrupts, pressures),
                )
            )
            if interrupts.requested:
                break
    met = objects[: len(found)]
    written = write_press(folder, run, found, met)
    summary = summarise_press(found, met, run.project.loads, run.card)
    curves = [{"object": r.object_name, **press_columns(r)} for r in found]
    return tell_outcome(
        voice, "press", run, [r.history for r in found], written, summary, curves=curves
    )

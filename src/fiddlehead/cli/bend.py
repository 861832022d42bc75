"""``fiddlehead bend``: free bending over pressure."""

from __future__ import annotations

from pathlib import Path

import click

from fiddlehead import __version__
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
@json_option
def bend(
    project: Path,
    results: Path | None,
    pressure_kpa: float | None,
    mesh: str | None,
    machine: bool,
) -> int:
    """Predict how the free finger bends as the pressure rises.

    PROJECT is the project file or its folder. Writes curves, pictures, a mesh series and a record
    to bend/ in the results folder. Ctrl-C stops at the next safe place and keeps the finished
    steps in bend-cancelled/. Finished steps are also written to bend-unfinished.npz as they come:
    the same command goes on from there, also after a crash.
    """
    voice = Voice(machine)
    run, folder = prepare(project, results, mesh, voice, "bend")

    from fiddlehead.report.export.tables import bend_columns
    from fiddlehead.report.results import write_bend
    from fiddlehead.report.summary import summarise_bend
    from fiddlehead.trials.bend import bend as run_bend
    from fiddlehead.trials.unfinished import Unfinished

    pressures = run.project.pressures_mpa(pressure_kpa)
    voice.say(f"Bending to {1e3 * pressures[-1]:g} kPa (the first step includes compiling):")
    finger, law, bulk = run.project.finger, run.card.law(), run.card.bulk_modulus_mpa
    unfinished = Unfinished(
        folder / "bend-unfinished.npz", __version__, finger, law, bulk, list(pressures), run.mesh
    )
    if unfinished.state() is not None:
        voice.say(f"Going on where an earlier run was cut off; to begin anew delete "
                  f"{unfinished.path}.")  # fmt: skip
    with Interrupts(voice) as interrupts:
        result = run_bend(
            finger,
            law,
            bulk,
            pressures,
            mesh_settings=run.mesh,
            build_orientation=run.project.printing.build_orientation,
            progress=PressureSteps(voice, interrupts, pressures),
            unfinished=unfinished,
        )
    if result.history.outcome != "cancelled":
        unfinished.remove()
    written = write_bend(folder, run, result)
    summary = summarise_bend(
        result,
        run.project.loads,
        run.card,
        first=run.project.tests.bend.bending_angle,
    )
    return tell_outcome(
        voice, "bend", run, [result.history], written, summary, curve=bend_columns(result)
    )

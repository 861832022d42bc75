"""``fiddlehead lateral``: lateral stiffness over pressure."""

from __future__ import annotations

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

if TYPE_CHECKING:
    from fiddlehead.trials.records import LateralResult


@click.command()
@project_argument
@results_option
@pressure_option
@mesh_option
@json_option
def lateral(
    project: Path,
    results: Path | None,
    pressure_kpa: float | None,
    mesh: str | None,
    machine: bool,
) -> int:
    """Predict how firmly the tip stands against a push from the side.

    PROJECT is the project file or its folder. The free finger is inflated, and at each pressure
    its lateral (out-of-plane) stiffness and its distance from lateral buckling are found. Writes a
    curve, a picture, a mesh series and a record to lateral/ in the results folder. Ctrl-C stops at
    the next safe place and keeps the finished steps in lateral-cancelled/.
    """
    voice = Voice(machine)
    run, folder = prepare(project, results, mesh, voice, "lateral")

    from fiddlehead.report.export.tables import lateral_columns
    from fiddlehead.report.results import write_lateral
    from fiddlehead.report.summary import summarise_lateral
    from fiddlehead.trials.lateral import lateral as run_lateral

    pressures = run.project.pressures_mpa(pressure_kpa)
    voice.say(f"Pushing sideways up to {1e3 * pressures[-1]:g} kPa:")
    with Interrupts(voice) as interrupts:
        result = run_lateral(
            run.project.finger,
            run.card.law(),
            run.card.bulk_modulus_mpa,
            pressures,
            mesh_settings=run.mesh,
            progress=PressureSteps(voice, interrupts, pressures),
        )
    written = write_lateral(folder, run, result)
    summary = summarise_lateral(result, run.card)
    _tell_table(voice, result)
    buckling = result.buckling_pressure_mpa
    return tell_outcome(
        voice,
        "lateral",
        run,
        [result.history],
        written,
        summary,
        curve=lateral_columns(result),
        buckling_pressure_kpa=None if buckling is None else 1e3 * buckling,
        margin_standing=result.margin_standing,
    )


def _tell_table(voice: Voice, result: LateralResult) -> None:
    """One line per pressure."""
    voice.say()
    voice.say("  pressure   bending   lateral stiffness   twist     stability")
    voice.say("  kPa        deg       N/mm                deg/N     of that at rest")
    for pressure, angle, stiffness, twist, stability in zip(
        result.pressure_mpa,
        result.tip_angle_deg,
        result.stiffness_n_per_mm,
        result.twist_deg_per_n,
        result.stability,
        strict=True,
    ):
        voice.say(
            f"  {1e3 * pressure:<9.4g}  {angle:<8.1f}  {stiffness:<18.4g}  {twist:<8.3g}  "
            f"{stability:.3f}"
        )

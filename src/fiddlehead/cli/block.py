"""``fiddlehead block``: blocked force over pressure."""

from __future__ import annotations

from pathlib import Path

import click

from fiddlehead.cli.codes import OK, STOPPED
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


@click.command()
@project_argument
@results_option
@pressure_option
@mesh_option
@json_option
def block(
    project: Path,
    results: Path | None,
    pressure_kpa: float | None,
    mesh: str | None,
    machine: bool,
) -> int:
    """Predict how hard the tip presses on a plate that does not give.

    PROJECT is the project file or its folder. The tip meets a smooth flat plate, straight or bent
    to each preset angle, and the pressure rises. Writes curves, pictures, mesh series and records
    to block/ in the results folder. Ctrl-C stops at the next safe place and keeps the finished
    steps in block-cancelled/.
    """
    voice = Voice(machine)
    run, folder = prepare(project, results, mesh, voice, "block")

    from fiddlehead.report.export.tables import block_columns
    from fiddlehead.report.results import write_block
    from fiddlehead.report.summary import summarise_block
    from fiddlehead.trials.block import block as run_block

    pressures = run.project.pressures_mpa(pressure_kpa)
    test = run.project.tests.block
    found, missed = [], []
    with Interrupts(voice) as interrupts:
        for angle in test.preset_angles_deg:
            voice.say(f"Blocked at {angle:g}° to {1e3 * pressures[-1]:g} kPa:")
            try:
                result = run_block(
                    run.project.finger,
                    run.card.law(),
                    run.card.bulk_modulus_mpa,
                    pressures,
                    preset_angle_deg=angle,
                    tip_hold=test.tip_hold,
                    contact_length_mm=test.contact_length_mm,
                    mesh_settings=run.mesh,
                    build_orientation=run.project.printing.build_orientation,
                    progress=PressureSteps(voice, interrupts, pressures),
                )
                found.append(result)
            except ParameterError as error:  # one angle out of reach must not cost the others
                missed.append(error)
            if interrupts.requested:
                break
    if not found and interrupts.requested:
        raise KeyboardInterrupt
    if not found:
        raise missed[0]
    written = write_block(folder, run, found)
    summary = summarise_block(found, run.project.loads, run.card)
    if missed and not interrupts.requested:
        summary = summary.warned(str(error) for error in missed)
    curves = [{"preset_angle_deg": r.preset_angle_deg, **block_columns(r)} for r in found]
    code = tell_outcome(
        voice, "block", run, [r.history for r in found], written, summary, curves=curves
    )
    return STOPPED if code == OK and missed else code

"""``fiddlehead grasp-table``: objects by grippers, the picture a practitioner shows first."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fiddlehead.cli.codes import CANCELLED, OK
from fiddlehead.cli.interrupts import Interrupts
from fiddlehead.cli.options import (
    json_option,
    mesh_option,
    pressure_option,
    project_argument,
    results_option,
)
from fiddlehead.cli.outcome import plain
from fiddlehead.cli.output import Voice
from fiddlehead.cli.session import prepare

if TYPE_CHECKING:
    from fiddlehead.finger.parameters import FingerParameters
    from fiddlehead.grasp.records import GraspCell
    from fiddlehead.grasp.task import Held, Task
    from fiddlehead.grasp.touch import FingerMotion
    from fiddlehead.report.results import Run

TRIALS_A_CELL = 50
"""Grasps drawn for each cell, at most: a table has many."""


@click.command("grasp-table")
@project_argument
@results_option
@pressure_option
@mesh_option
@click.option("--full", is_flag=True, help="Full runs instead of fast estimates: minutes a cell.")
@json_option
def grasp_table(
    project: Path,
    results: Path | None,
    pressure_kpa: float | None,
    mesh: str | None,
    full: bool,
    machine: bool,
) -> int:
    """Judge every object with every number of fingers, without and with pad.

    PROJECT is the project file or its folder; [grasp] names objects and finger counts. Cells are
    fast estimates unless --full is given, and say which they are. Writes a picture and a table to
    grasp-table/ in the results folder. Ctrl-C keeps the cells that are done.
    """
    voice = Voice(machine)
    run, folder = prepare(project, results, mesh, voice, "grasp-table")

    from fiddlehead.grasp.choice import advise, size_of
    from fiddlehead.grasp.records import GraspTable
    from fiddlehead.grasp.touch import finger_motion
    from fiddlehead.project.grasp import (
        bare_and_padded,
        chosen_objects,
        held_object,
        task_of,
    )
    from fiddlehead.report.export.grasps import table_columns
    from fiddlehead.report.grasp import write_grasp_table

    section = run.project.sections.grasp
    objects = [
        held_object(run.project, r) for r in chosen_objects(section, run.project.path.parent)
    ]
    task = task_of(run.project, pressure_kpa)
    law, bulk = run.card.law(), run.card.bulk_modulus_mpa
    pressures = run.project.pressures_mpa(pressure_kpa)
    fingers = bare_and_padded(run.project.finger)
    motions = {}
    for name, finger in fingers.items():
        voice.say(f"Free bending {name} ...")
        motions[name] = finger_motion(finger, law, bulk, pressures, run.mesh)
    advice = advise(
        run.project.finger,
        [size_of(held.record.name, held.shape) for held in objects],
        position_error_mm=section.position_error_mm,
    )
    voice.paragraph(
        f"For these objects: {advice.fingers} fingers, pitch radius {advice.pitch_radius_mm:g} mm, "
        f"splay {advice.splay_deg:g}° ({advice.standing}). {' '.join(advice.reasons)}"
    )
    with Interrupts(voice) as interrupts:
        cells, missed = _cells(voice, run, objects, fingers, motions, task, full, interrupts)
    table = GraspTable(
        objects=tuple(held.record.name for held in objects),
        columns=tuple(dict.fromkeys(one.column for one in cells)),
        cells=cells,
        wanted_margin=section.wanted_margin,
    )
    written = write_grasp_table(folder, run, table, _remark(run, full))
    for text in missed:
        voice.paragraph(f"Left out: {text}")
    voice.files(written.pictures, [written.folder / "grasp_table.csv"])
    voice.caution()
    code = CANCELLED if interrupts.requested else OK
    voice.document(
        "grasp-table", code,
        project=run.project.name,
        input_hash_sha256=run.project.input_hash,
        table=plain(dict(table_columns(table))),
        left_out=missed,
        advice=plain(vars(advice)),
        folder=str(written.folder),
        files=[str(file) for file in written.files],
    )  # fmt: skip
    return code


def _cells(
    voice: Voice,
    run: Run,
    objects: Sequence[Held],
    fingers: Mapping[str, FingerParameters],
    motions: Mapping[str, FingerMotion],
    task: Task,
    full: bool,
    interrupts: Interrupts,
) -> tuple[tuple[GraspCell, ...], list[str]]:
    """Every cell that can be made before somebody stops it, and why others cannot."""
    from fiddlehead.errors import FiddleheadError
    from fiddlehead.grasp.chance import chance
    from fiddlehead.grasp.sequence import grasp
    from fiddlehead.grasp.table import cell, cell_of_estimate
    from fiddlehead.project.grasp import gripper_of, spread_of

    section, law, bulk = run.project.sections.grasp, run.card.law(), run.card.bulk_modulus_mpa
    cells: list[GraspCell] = []
    missed: list[str] = []
    for held, count, name in itertools.product(objects, section.finger_counts, fingers):
        if interrupts.requested:
            break
        try:
            gripper = gripper_of(run.project, held, task, fingers=count, finger=fingers[name])
        except FiddleheadError as error:
            missed.append(f"{held.record.name}, {count} fingers {name}: {error}")
            continue
        if full:
            found = grasp(
                gripper, held, task, law, bulk, mesh_settings=run.mesh,
                stop=lambda: interrupts.requested,
            )  # fmt: skip
            one = cell(gripper, found)
        else:
            odds = chance(
                motions[name], gripper, held, task, spread_of(section),
                trials=min(section.trials, TRIALS_A_CELL), seed=section.seed,
            )  # fmt: skip
            one = cell_of_estimate(motions[name], gripper, held, task, odds)
        cells.append(one)
        voice.say(f"  {one.object_name:<12} {one.column:<24} {one.verdict.words}")
    return tuple(cells), missed


def _remark(run: Run, full: bool) -> str:
    project = run.project
    pitch = "fitted to each object" if project.sections.grasp.pitch == "fitted" else "of the base"
    how = (
        "full runs"
        if full
        else "fast estimates: free bending, rigid friction, a bound on the force"
    )
    pad = "" if project.finger.pad else "; the pad is the standard one, the project has none"
    return f"{how}; pitch radius {pitch}{pad}. Blue: held; orange: narrow or harmed; red: lost."

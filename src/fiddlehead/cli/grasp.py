"""``fiddlehead grasp``: will the fingers lift an object, and will it be unharmed?"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fiddlehead.cli.codes import CANCELLED, OK, STOPPED
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
    from fiddlehead.grasp.records import Chance, GraspEstimate
    from fiddlehead.objects.records import ObjectRecord
    from fiddlehead.report.results import Run


@click.command()
@project_argument
@results_option
@pressure_option
@mesh_option
@click.option("--object", "name", default=None, help="Object of the library.  [default: the first]")
@click.option("--fingers", type=click.IntRange(2, 6), default=None, help="Instead of air.fingers.")
@click.option("--estimate", "quick", is_flag=True, help="Only the fast estimate, in seconds.")
@json_option
def grasp(
    project: Path,
    results: Path | None,
    pressure_kpa: float | None,
    mesh: str | None,
    name: str | None,
    fingers: int | None,
    quick: bool,
    machine: bool,
) -> int:
    """Grip an object: approach, inflate, lift, shake, pull off.

    PROJECT is the project file or its folder. The fast estimate comes first; then the fingers are
    balanced with the free object, with friction and weight. Writes verdict, margins, steps and a
    moving picture to grasp/ in the results folder. Ctrl-C stops at the next balance and keeps
    what is there.
    """
    voice = Voice(machine)
    run, folder = prepare(project, results, mesh, voice, "grasp")

    from fiddlehead.grasp.chance import chance
    from fiddlehead.grasp.estimate import estimate, sensitivities
    from fiddlehead.grasp.sequence import grasp as run_grasp
    from fiddlehead.grasp.touch import finger_motion
    from fiddlehead.project.grasp import (
        gripper_of,
        held_object,
        spread_of,
        task_of,
    )
    from fiddlehead.report.grasp import (
        estimate_numbers,
        ratios,
        run_numbers,
        sentences,
        write_grasp,
    )

    section = run.project.sections.grasp
    held = held_object(run.project, _chosen(run, name))
    task = task_of(run.project, pressure_kpa)
    gripper = gripper_of(run.project, held, task, fingers=fingers)
    law, bulk = run.card.law(), run.card.bulk_modulus_mpa
    voice.say(
        f"{gripper.fingers} fingers on {held.record.name}, pitch radius "
        f"{gripper.pitch_radius_mm:g} mm, {1e3 * task.pressure_mpa:g} kPa."
    )
    pressures = run.project.pressures_mpa(pressure_kpa)
    motion = finger_motion(gripper.finger, law, bulk, pressures, run.mesh)
    guess = estimate(motion, gripper, held, task)
    slopes = sensitivities(motion, gripper, held, task)
    _tell_estimate(voice, guess)
    if quick:
        odds = chance(
            motion, gripper, held, task, spread_of(section), trials=section.trials,
            seed=section.seed,
        )  # fmt: skip
        _tell_chance(voice, odds)
        return _close(
            voice, run, OK,
            estimate=estimate_numbers(guess), sensitivity=slopes, probability=vars(odds),
        )  # fmt: skip
    with Interrupts(voice) as interrupts:
        found = run_grasp(
            gripper, held, task, law, bulk,
            mesh_settings=run.mesh,
            tell=lambda phase, share, seconds: voice.say(
                f"  {phase:<9} {100 * share:4.0f} %   {seconds:.0f} s"
            ),
            stop=lambda: interrupts.requested,
        )  # fmt: skip
    over = ratios(guess, found)
    odds = chance(
        motion, gripper, held, task, spread_of(section), trials=section.trials, seed=section.seed,
        force_factor=1.0 / over["normal_force"] if over["normal_force"] else 1.0,
    )  # fmt: skip
    written = write_grasp(folder, run, found, guess, odds, slopes)
    voice.say()
    for sentence in sentences(found, guess):
        voice.paragraph(sentence)
    _tell_chance(voice, odds)
    for remark in found.verdict.remarks:
        voice.paragraph(f"Mind: {remark}")
    if found.partial:
        voice.paragraph(f"Stopped early: {found.partial}.")
    voice.files(written.pictures, [written.folder / "grasp.gif", written.folder / "grasp.csv"])
    code = OK if not found.partial else CANCELLED if "request" in found.partial else STOPPED
    return _close(
        voice, run, code,
        estimate=estimate_numbers(guess), full_run=run_numbers(found), estimate_over_full_run=over,
        sensitivity=slopes, probability=vars(odds), folder=str(written.folder),
        files=[str(file) for file in written.files],
    )  # fmt: skip


def _chosen(run: Run, name: str | None) -> ObjectRecord:
    """The object that was asked for, or the first of the project."""
    from fiddlehead.errors import ParameterError
    from fiddlehead.project.grasp import chosen_objects

    folder = run.project.path.parent
    records = {r.name: r for r in chosen_objects(run.project.sections.grasp, folder)}
    if name is not None and name not in records:
        raise ParameterError(
            "no such object in this project", where="--object", found=repr(name),
            allowed=", ".join(records), remedy="Add it to the library, or choose one.",
        )  # fmt: skip
    return records[name or next(iter(records))]


def _tell_estimate(voice: Voice, guess: GraspEstimate) -> None:
    margins = {k: v for k, v in vars(guess.verdict.margins).items() if v is not None}
    words = ", ".join(f"{name} {value:.2g}" for name, value in margins.items())
    voice.paragraph(f"Estimate: {guess.verdict.words} Margins: {words or 'none'}.")
    voice.paragraph(f"({guess.standing})")


def _tell_chance(voice: Voice, odds: Chance) -> None:
    worst = ", ".join(f"{why} {count}" for why, count in sorted(odds.failures.items()))
    voice.paragraph(
        f"Of {odds.trials} drawn grasps {100 * odds.probability:.0f} % succeed "
        f"({100 * odds.low:.0f} to {100 * odds.high:.0f} %), by the fast estimate"
        + (f"; failed: {worst}." if worst else ".")
    )


def _close(voice: Voice, run: Run, code: int, **content: Any) -> int:
    voice.caution()
    voice.document(
        "grasp", code, project=run.project.name, input_hash_sha256=run.project.input_hash,
        **{key: plain(value) for key, value in content.items()},
    )  # fmt: skip
    return code

"""``fiddlehead tolerance``: what printing scatter does to one design."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from fiddlehead.cli.codes import OK
from fiddlehead.cli.options import json_option, project_argument, results_option
from fiddlehead.cli.output import Voice
from fiddlehead.cli.study_options import study_session, workers_options

if TYPE_CHECKING:
    from fiddlehead.study.tolerance import Tolerance


@click.command()
@project_argument
@results_option
@click.option(
    "--design", type=int, default=None, metavar="NUMBER",
    help="A design of the study by its number, instead of the project's own.",
)  # fmt: skip
@click.option(
    "--by", type=click.Choice(["adjoint", "simulations"]), default=None,
    help="Derivatives at the design, or simulated prints.  [default: derivatives where all limits "
    "have them]",
)  # fmt: skip
@click.option(
    "--prints", type=click.IntRange(min=8, max=10_000), default=24, show_default=True,
    metavar="N", help="Prints to simulate, by simulations.",
)  # fmt: skip
@workers_options
@json_option
def tolerance(
    project: Path,
    results: Path | None,
    design: int | None,
    by: str | None,
    prints: int,
    processes: int | None,
    scheduler: str | None,
    batch: int | None,
    machine: bool,
) -> int:
    """Tell how likely a print of a design meets each limit.

    PROJECT is the project file or its folder. Line width, flow, layer height and modulus scatter
    as [study.scatter] says; the limits are those of [study]. Tells for each limit the chance that
    it is met, the worst case (simulated) and the causes that matter. Writes to tolerance/ in the
    results folder.
    """
    voice = Voice(machine)
    with study_session(
        project, results, voice, "tolerance", processes=processes, scheduler=scheduler, batch=batch
    ) as session:
        from fiddlehead.report.study import odds_columns, write_tolerance
        from fiddlehead.study.explore import row_of
        from fiddlehead.study.prints import tolerance_of

        study, store = session.study, session.store
        row = None if design is None else row_of(study, store, design)
        name = "the project's own design" if design is None else f"design {design}"
        voice.say(f"Printing scatter of {name}:")
        found = tolerance_of(study, store, row, by=by, prints=prints, **session.options)
        written = write_tolerance(session.results, session.run.project, study, found, name)
        _tell(voice, found)
        voice.files(written.pictures, [written.folder / "odds.csv"])
        voice.caution()
        columns = odds_columns(found)
        voice.document(
            "tolerance",
            OK,
            project=session.run.project.name,
            input_hash_sha256=session.run.project.input_hash,
            study=study.name,
            design=design,
            by=found.by,
            simulations=found.simulations,
            chance_of_all=found.chance_of_all,
            limits=[
                dict(zip(columns, r, strict=True)) for r in zip(*columns.values(), strict=True)
            ],
            causes=[vars(cause) for cause in found.causes],
            folder=str(written.folder),
            files=[str(file) for file in written.files],
        )
        return OK


def _tell(voice: Voice, found: Tolerance) -> None:
    from fiddlehead.report.figures.study.labels import split_unit, written

    voice.say()
    for odds in found.limits:
        name = odds.limit.quantity
        causes = " and ".join(split_unit(cause)[0] for cause in odds.matter) or "none"
        told = odds.worst if odds.worst_simulated is None else odds.worst_simulated
        voice.paragraph(
            f"{odds.limit.says}: met in {100 * odds.chance:.1f} % of prints "
            f"({100 * odds.chance_low:.1f} to {100 * odds.chance_high:.1f} % with the model's "
            f"error); worst case {written(name, told)}; what matters: {causes}."
        )
        if odds.worst_simulated is not None:
            voice.paragraph(
                f"  There the model said {written(name, odds.worst)}, a simulation "
                f"{written(name, odds.worst_simulated)}."
            )
    if len(found.limits) > 1:
        voice.paragraph(f"All limits at once: {100 * found.chance_of_all:.1f} % of prints.")
    assumed = [cause.name for cause in found.causes if "memory" in cause.standing]
    if assumed:
        names = ", ".join(split_unit(name)[0] for name in assumed)
        voice.paragraph(
            f"Mind: the scatter of {names} is a value from memory; measure your own prints and "
            "write it into [study.scatter]."
        )

"""``fiddlehead optimise``: look for better designs than the sample holds."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from fiddlehead.cli.codes import CANCELLED, OK
from fiddlehead.cli.options import json_option, project_argument, results_option
from fiddlehead.cli.output import Voice
from fiddlehead.cli.study_options import Session, study_session, workers_options

if TYPE_CHECKING:
    from fiddlehead.study.evolution import Search

BY = ("evolution", "gradient")


@click.command()
@project_argument
@results_option
@click.option(
    "--by", type=click.Choice([*BY, "both"]), default="evolution", show_default=True,
    help="Generations of designs, or steps along derivatives, or one after the other.",
)  # fmt: skip
@click.option(
    "--designs", type=click.IntRange(min=4, max=100_000), default=64, show_default=True,
    metavar="N", help="Most simulations for each way.",
)  # fmt: skip
@click.option(
    "--population", type=click.IntRange(min=4, max=10_000), default=16, show_default=True,
    metavar="N", help="Designs of a generation.",
)  # fmt: skip
@workers_options
@json_option
def optimise(
    project: Path,
    results: Path | None,
    by: str,
    designs: int,
    population: int,
    processes: int | None,
    scheduler: str | None,
    batch: int | None,
    machine: bool,
) -> int:
    """Search for designs nobody beats in the objectives, within the limits.

    PROJECT is the project file or its folder; its [study] section says what may change and what is
    wanted. Simulated designs go into the study's store, so an earlier one costs nothing and a
    search that was cut off goes on where it was. Writes the hypervolume over simulations and the
    designs of each search to optimise/ in the results folder; `rank` then shows all together.
    """
    voice = Voice(machine)
    with study_session(
        project, results, voice, "optimise", processes=processes, scheduler=scheduler, batch=batch
    ) as session:
        ways = BY if by == "both" else (by,)
        searches: dict[str, Search] = {}
        for way in ways:
            voice.say(f"By {way}, up to {designs} simulations:")
            searches[way] = (
                _evolved(session, designs, population)
                if way == "evolution"
                else _descended(session, designs)
            )
        return _tell(voice, session, searches)


def _evolved(session: Session, designs: int, population: int) -> Search:
    from fiddlehead.study.evolution import evolve
    from fiddlehead.study.explore import asker

    ask = asker(session.study, session.store, "optimise", **session.options)
    study = session.study
    return evolve(
        study.space, study.goals, ask, designs=designs, population=population, seed=study.seed
    )


def _descended(session: Session, designs: int) -> Search:
    from fiddlehead.study.climbing import descend_study

    return descend_study(
        session.study,
        session.store,
        designs=designs,
        tell=session.options["tell"],
        stop=session.options["stop"],
    )


def _tell(voice: Voice, session: Session, searches: dict[str, Search]) -> int:
    from fiddlehead.report.study import write_search
    from fiddlehead.study.fronts import reference_of

    study, project = session.study, session.run.project
    found = {name: search for name, search in searches.items() if search.rows}
    code = CANCELLED if session.interrupts.requested else OK
    reference = reference_of([search.kept() for search in found.values()])
    if reference is None:
        voice.paragraph("No design met all limits; widen the ranges or ease the limits.")
        voice.document("optimise", code, project=project.name, study=study.name, front={})
        return code
    written = write_search(session.results, project, study, found, reference)
    for name, search in found.items():
        grown = search.growth(reference)
        voice.paragraph(
            f"By {name}: {len(search.rows)} simulations, {len(search.front)} designs on the front, "
            f"hypervolume {grown[-1]:.4g}."
        )
    voice.files(written.pictures, [f for f in written.files if f.suffix == ".csv"])
    voice.say("  fiddlehead rank shows them among all designs of the study.")
    voice.caution()
    voice.document(
        "optimise",
        code,
        project=project.name,
        input_hash_sha256=project.input_hash,
        study=study.name,
        simulations={name: len(search.rows) for name, search in found.items()},
        hypervolume={name: float(s.growth(reference)[-1]) for name, s in found.items()},
        reference=[float(r) for r in reference],
        front={name: [s.rows[k] for k in s.front] for name, s in found.items()},
        folder=str(written.folder),
        files=[str(file) for file in written.files],
    )
    return code

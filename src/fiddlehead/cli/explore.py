"""``fiddlehead explore``: simulate the designs of a study."""

from __future__ import annotations

from pathlib import Path

import click

from fiddlehead.cli.codes import CANCELLED, OK
from fiddlehead.cli.options import json_option, project_argument, results_option
from fiddlehead.cli.output import Voice
from fiddlehead.cli.rank import tell_study
from fiddlehead.cli.study_options import study_session, workers_options


@click.command()
@project_argument
@results_option
@click.option(
    "--designs", type=click.IntRange(min=1, max=100_000), default=None, metavar="N",
    help="Designs to look at, instead of the project's number.",
)  # fmt: skip
@click.option(
    "--unsure", type=click.IntRange(min=1, max=1000), default=None, metavar="N",
    help="Then simulate N more where predictions are least sure.",
)  # fmt: skip
@click.option(
    "--best", type=click.IntRange(min=0, max=1000), default=None, metavar="N",
    help="Designs to run again on the project's mesh, instead of the project's number.",
)  # fmt: skip
@click.option("--anew", is_flag=True, help="Forget this study's designs first.")
@workers_options
@json_option
def explore(
    project: Path,
    results: Path | None,
    designs: int | None,
    unsure: int | None,
    best: int | None,
    anew: bool,
    processes: int | None,
    scheduler: str | None,
    batch: int | None,
    machine: bool,
) -> int:
    """Simulate many designs and see what they have in common.

    PROJECT is the project file or its folder; its [study] section says what varies, which trials
    run and what is wanted. Designs go into studies.sqlite in the results folder batch by batch:
    after Ctrl-C, a crash or a power cut the same command goes on where it was. The best designs
    are run again on the project's own mesh. Then writes what `rank` writes.
    """
    voice = Voice(machine)
    with study_session(
        project, results, voice, "explore", designs=designs, best=best, anew=anew,
        processes=processes, scheduler=scheduler, batch=batch,
    ) as session:  # fmt: skip
        from fiddlehead.study.explore import explore as run_study
        from fiddlehead.study.explore import offered
        from fiddlehead.study.running import run

        study, store = session.study, session.store
        wanted = len(study.sample())
        voice.say(
            f"Study {study.name!r}: {wanted} designs on the {study.mesh_name} mesh, "
            f"{', '.join(kind.name for kind in study.task().kinds)} "
            "(the first batch includes compiling):"
        )
        run_study(study, store, **session.options)
        if unsure and not session.interrupts.requested:
            voice.say(f"{unsure} designs where predictions are least sure:")
            rows = offered(study, store, unsure)
            run(study.task(), rows, store, origin="unsure", **session.options)
        stopped = session.interrupts.requested
        return tell_study(
            voice, "explore", session.run.project, study, store, session.results,
            code=CANCELLED if stopped else OK,
        )  # fmt: skip

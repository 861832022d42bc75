"""What the verbs of a study share: workers, progress, the study itself."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from fiddlehead.cli.interrupts import Interrupts
from fiddlehead.cli.output import Voice
from fiddlehead.cli.progress import duration
from fiddlehead.cli.session import prepare

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from fiddlehead.report.results import Run
    from fiddlehead.study.definition import Study
    from fiddlehead.study.running import Progress
    from fiddlehead.study.store import Store

Command = Callable[..., Any]


def workers_options(command: Command) -> Command:
    """``--processes``, ``--scheduler`` and ``--batch``"""
    command = click.option(
        "--batch",
        type=click.IntRange(min=1),
        default=None,
        metavar="N",
        help="Designs solved together, and the most a crash can lose for each worker.  "
        "[default: 8; 256 on a graphics card]",
    )(command)
    command = click.option(
        "--scheduler",
        default=None,
        metavar="ADDRESS",
        help="Use the workers of a Dask scheduler, such as tcp://10.0.0.5:8786.",
    )(command)
    return click.option(
        "--processes",
        type=click.IntRange(min=1, max=256),
        default=None,
        metavar="N",
        help="Processes on this machine, one thread each; this process alone when left out.",
    )(command)


class Session(NamedTuple):
    """A study ready to run."""

    run: Run
    study: Study
    store: Store
    results: Path
    options: dict[str, Any]
    """``workers``, ``batch``, ``tell`` and ``stop`` as everything in ``study`` takes them."""
    interrupts: Interrupts


@contextmanager
def study_session(
    place: Path,
    wished: Path | None,
    voice: Voice,
    command: str,
    *,
    designs: int | None = None,
    best: int | None = None,
    anew: bool = False,
    processes: int | None = None,
    scheduler: str | None = None,
    batch: int | None = None,
) -> Iterator[Session]:
    """Project, card, study, store and workers; everything is let go of at the end.

    Raises
    ------
    FiddleheadError : the project, the study, the store or the workers cannot be used
    """
    run, results = prepare(place, wished, None, voice, command)

    from fiddlehead.project.study import study_of
    from fiddlehead.study.definition import store_path
    from fiddlehead.study.explore import with_numbers
    from fiddlehead.study.lock import only_run
    from fiddlehead.study.store import Store

    study = with_numbers(study_of(run.project, run.card), designs, best)
    path = store_path(results)
    with only_run(path, study.name), Store(path) as store, Interrupts(voice) as interrupts:
        if anew:
            store.forget(study.name)
        study.begin(store)
        with _workers(processes, scheduler) as (fresh, size):
            options = {
                "workers": fresh,
                "batch": batch or size,
                "tell": _Rate(voice),
                "stop": lambda: interrupts.requested,
            }
            yield Session(run, study, store, results, options, interrupts)


@contextmanager
def _workers(
    count: int | None, scheduler: str | None
) -> Iterator[tuple[Callable[[], Executor], int]]:
    """Who works, and how many designs they like at once."""
    from fiddlehead.study import workers

    if scheduler is not None:
        with workers.cluster(scheduler) as fresh:
            yield fresh, workers.BATCH
    elif count is not None:
        with workers.processes(count) as fresh:
            yield fresh, workers.BATCH
    else:
        with workers.this_process() as fresh:
            yield fresh, workers.batch_here()


class _Rate:
    """One line for each batch: how far, how fast, how long still."""

    def __init__(self, voice: Voice) -> None:
        self.voice = voice

    def __call__(self, at: Progress) -> None:
        rate = f", {60 * at.rate_per_s:.3g} a minute" if at.rate_per_s else ""
        left = f", about {duration(at.left_s)} left" if at.left_s else ""
        refused = f", {at.refused} cannot be made" if at.refused else ""
        self.voice.say(
            f"  {at.done} of {at.wanted} designs   {duration(at.elapsed_s)}{rate}{left}{refused}"
        )

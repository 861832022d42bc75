"""Designs through the workers into the store: batches, progress, cancel, resume."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from typing import NamedTuple

from fiddlehead.errors import StoreError
from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.study.catalogue import TrialKind
from fiddlehead.study.evaluate import Outcome, evaluate, topology
from fiddlehead.study.pattern import Pattern, design_key, fingerprint
from fiddlehead.study.space import Row, Value, plain
from fiddlehead.study.store import Entry, Store
from fiddlehead.study.workers import ATTEMPTS, BATCH, ThisProcess

AHEAD = 4
"""Batches handed out beyond those the store holds; more than workers, so that none waits."""


class Progress(NamedTuple):
    """How far a run is."""

    done: int
    wanted: int
    elapsed_s: float
    rate_per_s: float
    """Designs for each second since the first batch of this run came back."""
    left_s: float | None
    """Time left at that rate; None before there is one."""
    refused: int


Told = Callable[[Progress], None]


@dataclass(frozen=True)
class Task:
    """What is run on every design of a study.

    name : of the study, under which the store keeps designs
    mesh_name, mesh : how finely designs are divided, in a word and in numbers
    """

    name: str
    pattern: Pattern
    kinds: tuple[TrialKind, ...]
    mesh_name: str
    mesh: MeshSettings

    @property
    def pattern_hash(self) -> str:
        """Fingerprint of everything designs share."""
        return fingerprint(self.pattern.content())

    def keys(self, rows: Sequence[Row]) -> list[str]:
        """Key of every design."""
        shared, names = self.pattern_hash, tuple(kind.name for kind in self.kinds)
        return [design_key(shared, row, names, self.mesh) for row in rows]


class Batch(NamedTuple):
    """Designs of one topology that are solved together."""

    keys: tuple[str, ...]
    rows: tuple[dict[str, Value], ...]


def batches(task: Task, rows: Sequence[Row], size: int = BATCH) -> list[Batch]:
    """Designs grouped by topology and cut into batches, equal designs once.

    The cut depends on the designs alone and not on what is done already, so a run that goes on
    after a kill solves the same batches as one that was never cut off.
    """
    unique = dict(zip(task.keys(rows), (plain(row) for row in rows), strict=True))
    groups: dict[str, list[str]] = {}
    for key, row in unique.items():
        groups.setdefault(topology(task.pattern, row), []).append(key)
    return [
        Batch(tuple(part), tuple(unique[key] for key in part))
        for group in groups.values()
        for part in (group[at : at + size] for at in range(0, len(group), size))
    ]


def run(
    task: Task,
    rows: Sequence[Row],
    store: Store,
    *,
    origin: str = "sample",
    workers: Callable[[], Executor] = ThisProcess,
    batch: int = BATCH,
    tell: Told | None = None,
    stop: Callable[[], bool] = lambda: False,
) -> list[Outcome | None]:
    """Simulate designs that the store does not hold yet, and keep each batch as it comes.

    Parameters
    ----------
    workers : makes an executor; see ``study.workers``
    batch : designs of a batch
    tell : called after every batch
    stop : asked between batches; once it says yes nothing more is handed out, and what is in
        flight is waited for and kept

    Returns
    -------
    outcomes in the order of ``rows``; None for those a stop left out

    Raises
    ------
    StoreError : the store cannot be written, or workers were lost over and over
    """
    planned = batches(task, rows, batch)
    known = store.outcomes(task.name, [key for one in planned for key in one.keys])
    waiting = iter([one for one in planned if not all(key in known for key in one.keys)])
    count = _Count(sum(len(one.keys) for one in planned), dict(known), tell)
    for one, found in _worked(task, waiting, workers, stop):
        entries = [
            Entry(key, origin, task.mesh_name, row, outcome)
            for key, row, outcome in zip(one.keys, one.rows, found, strict=True)
        ]
        store.add(task.name, entries)
        count.add(dict(zip(one.keys, found, strict=True)))
    return [count.known.get(key) for key in task.keys([plain(row) for row in rows])]


def _worked(
    task: Task,
    waiting: Iterator[Batch],
    workers: Callable[[], Executor],
    stop: Callable[[], bool],
) -> Iterator[tuple[Batch, list[Outcome]]]:
    """Batches with their outcomes as workers hand them back; lost workers are replaced."""
    executor = workers()
    ahead = 1 if isinstance(executor, ThisProcess) else _hands(executor) + AHEAD
    flying: dict[Future[list[Outcome]], Batch] = {}
    lost: dict[tuple[str, ...], int] = {}
    again: list[Batch] = []
    while True:
        while len(flying) < ahead and not stop():
            one = again.pop() if again else next(waiting, None)
            if one is None:
                break
            future = executor.submit(evaluate, task.pattern, one.rows, task.kinds, task.mesh)
            flying[future] = one
        if not flying:
            return
        for future in wait(flying, return_when=FIRST_COMPLETED).done:
            one = flying.pop(future)
            try:
                found = future.result()
            except BrokenProcessPool as error:
                again += [one, *flying.values()]
                flying.clear()
                _count_losses(lost, again, error)
                executor = workers()
                break
            except Exception as error:
                if type(error).__module__.split(".")[0] != "distributed":
                    raise
                raise StoreError(
                    f"the cluster lost this work ({type(error).__name__}); what was found before "
                    "is kept",
                    found=str(one.rows[0]),
                    remedy="Look at scheduler and workers, then run the same command again.",
                ) from error
            yield one, found


def _hands(executor: Executor) -> int:
    """How many tasks an executor works on at once, as far as it tells."""
    own = getattr(executor, "_max_workers", None)
    client = getattr(executor, "_client", None)
    return int(own) if own else sum(client.nthreads().values()) if client else 1


def _count_losses(
    lost: dict[tuple[str, ...], int], again: Sequence[Batch], error: Exception
) -> None:
    for one in again:
        lost[one.keys] = lost.get(one.keys, 0) + 1
        if lost[one.keys] >= ATTEMPTS:
            raise StoreError(
                "workers were lost over and over on the same designs; what was found before is "
                "kept",
                found=str(one.rows[0]),
                remedy="Look whether memory ran out; fewer processes need less.",
            ) from error


class _Count:
    """What is done, and how fast."""

    def __init__(self, wanted: int, known: dict[str, Outcome], tell: Told | None) -> None:
        self.wanted, self.known, self.tell = wanted, known, tell
        self.began = time.perf_counter()
        self.first: tuple[float, int] | None = None

    def add(self, found: dict[str, Outcome]) -> None:
        self.known |= found
        now, done = time.perf_counter(), len(self.known)
        rate = 0.0
        if self.first is None:  # the first batch includes compiling
            self.first = (now, done)
        else:
            rate = (done - self.first[1]) / max(now - self.first[0], 1e-9)
        left = (self.wanted - done) / rate if rate else None
        if self.tell:
            refused = sum(one.status == "refused" for one in self.known.values())
            self.tell(Progress(done, self.wanted, now - self.began, rate, left, refused))

"""Who does the work: this process, several on this machine, or a cluster.

All are executors of ``concurrent.futures``, so a study runs the same way on each.
"""

from __future__ import annotations

import os
import signal
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from contextlib import contextmanager
from typing import Any

from fiddlehead.errors import MissingExtra, ParameterError

ATTEMPTS = 3
"""How often a batch is tried whose worker was lost, before the run gives up."""
BATCH = 8
"""Designs of a batch on a processor, and the most that a ``kill -9`` can lose for each worker."""
BATCH_ON_CARD = 256
"""On a graphics card: enough to fill its lanes."""


class ThisProcess(Executor):
    """Does each task when it is submitted."""

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        """Run now; the future that comes back is done."""
        future: Future[Any] = Future()
        try:
            future.set_result(fn(*args, **kwargs))
        except Exception as error:
            future.set_exception(error)
        return future


def batch_here() -> int:
    """How many designs this process likes at once."""
    import jax

    return BATCH if jax.default_backend() == "cpu" else BATCH_ON_CARD


@contextmanager
def this_process() -> Iterator[Callable[[], Executor]]:
    """The embedded default."""
    yield ThisProcess


def _one_thread() -> None:
    """Each process keeps to one thread: threads under small dense blocks only wait for each other
    (docs/engine.md). Children inherit it before they load anything."""
    for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS"):
        os.environ[name] = "1"


def _begin(started: Any) -> None:
    """A process leaves Ctrl-C to the one that started it, and keeps to a core of its own where the
    system allows it, so that JAX brings up one thread."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with started.get_lock():
        number = started.value
        started.value += 1
    if hasattr(os, "sched_setaffinity"):
        cores = sorted(os.sched_getaffinity(0))
        os.sched_setaffinity(0, {cores[number % len(cores)]})


@contextmanager
def processes(count: int) -> Iterator[Callable[[], Executor]]:
    """``count`` processes on this machine, started fresh.

    Gives a function that makes a new pool, so that one whose process was killed can be replaced.

    Raises
    ------
    ParameterError : fewer than one
    """
    import multiprocessing

    if count < 1:
        raise ParameterError("too few processes", found=str(count), allowed="1 or more")
    pools: list[ProcessPoolExecutor] = []
    spawn = multiprocessing.get_context("spawn")
    _one_thread()

    def fresh() -> Executor:
        pools.append(
            ProcessPoolExecutor(count, spawn, initializer=_begin, initargs=(spawn.Value("i", 0),))
        )
        return pools[-1]

    try:
        yield fresh
    finally:
        for pool in pools:
            pool.shutdown(wait=False, cancel_futures=True)


@contextmanager
def cluster(scheduler: str, answer_s: float = 10.0) -> Iterator[Callable[[], Executor]]:
    """The workers of a Dask scheduler at an address such as ``tcp://10.0.0.5:8786``.

    The scheduler gives a task whose worker was lost to another worker.

    Raises
    ------
    MissingExtra : the package ``distributed`` is not installed
    ParameterError : nobody answers at this address
    """
    try:
        from distributed import Client
    except ImportError as error:
        raise MissingExtra(
            "a cluster needs a package that is not installed",
            remedy="pip install 'fiddlehead[cluster]'",
        ) from error
    try:
        client = Client(scheduler, timeout=answer_s, set_as_default=False)
    except (OSError, TimeoutError, ValueError) as error:
        raise ParameterError(
            "no scheduler answers at this address",
            where="--scheduler",
            found=scheduler,
            allowed="for example tcp://192.168.0.5:8786",
            remedy="Start one with `dask scheduler`, workers with `dask worker ADDRESS`.",
        ) from error
    try:
        yield lambda: client.get_executor(pure=False, retries=ATTEMPTS)
    finally:
        client.close()

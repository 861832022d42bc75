"""The same study on a Dask cluster of separate processes, one of them killed while it works."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from fiddlehead.errors import ParameterError
from fiddlehead.study.running import Progress, run
from fiddlehead.study.sampling import sample
from fiddlehead.study.store import Store
from fiddlehead.study.workers import cluster
from tests.study.analytic import PATTERN, SPACE, task

pytest.importorskip("distributed")
ROOT = Path(__file__).resolve().parents[2]


def start(*words: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-W", "ignore", "-m", "distributed.cli." + words[0], *words[1:]],
        cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path), "ANALYTIC_PAUSE_S": "0.02"},
    )  # fmt: skip


@pytest.fixture
def cluster_of_two(tmp_path: Path) -> Iterator[tuple[str, list[subprocess.Popen[str]]]]:
    scheduler = start("dask_scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard",
                      "--scheduler-file", str(tmp_path / "scheduler.json"))  # fmt: skip
    assert scheduler.stderr is not None
    for line in scheduler.stderr:
        if "Scheduler at:" in line:
            address = line.split()[-1]
            break
    workers = [
        start(
            "dask_worker",
            address,
            "--nthreads",
            "1",
            "--no-nanny",
            "--no-dashboard",
            "--local-directory",
            str(tmp_path),
        )
        for _ in range(2)
    ]
    drains = [threading.Thread(target=p.stderr.read, daemon=True) for p in (scheduler, *workers)]  # type: ignore[union-attr]
    for drain in drains:
        drain.start()
    yield address, workers
    for process in (*workers, scheduler):
        process.kill()
        process.wait()


@pytest.mark.filterwarnings("ignore::ResourceWarning")
def test_a_killed_worker_changes_nothing(
    cluster_of_two: tuple[str, list[subprocess.Popen[str]]], tmp_path: Path
) -> None:
    address, workers = cluster_of_two
    rows = sample(SPACE, "Sobol sequence", 64, 1)
    told: list[Progress] = []

    def kill_one(at: Progress) -> None:
        told.append(at)
        if len(told) == 2:
            workers[0].send_signal(signal.SIGKILL)

    content = {"pattern": PATTERN.content()}
    frames = []
    with Store(tmp_path / "far.sqlite") as far, Store(tmp_path / "here.sqlite") as here:
        for store in (far, here):
            store.begin("demo", content, task().pattern_hash)
        with cluster(address) as fresh:
            _wait_for(fresh, 2)
            assert None not in run(task(), rows, far, workers=fresh, batch=4, tell=kill_one)
        assert workers[0].wait(10) == -signal.SIGKILL
        assert workers[1].poll() is None
        run(task(), rows, here, batch=4)
        for store in (far, here):
            frame = store.table("demo").drop(columns=["seconds", "number"])
            frames.append(frame.sort_values("key").reset_index(drop=True))
    assert len(frames[0]) == 64
    assert frames[0].equals(frames[1])


def _wait_for(fresh, count: int) -> None:  # type: ignore[no-untyped-def]
    client = fresh()._client
    until = time.monotonic() + 30
    while len(client.nthreads()) < count:
        assert time.monotonic() < until
        time.sleep(0.05)


def test_nobody_at_the_address() -> None:
    with (
        pytest.raises(ParameterError, match="no scheduler answers"),
        cluster("tcp://127.0.0.1:9", 0.5),
    ):
        pass

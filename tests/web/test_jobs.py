"""Work in the background: progress, cancelling, waiting, and outliving the server."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from fiddlehead.errors import InputError
from fiddlehead.files import write_text
from fiddlehead.web.jobs import SILENCE_S, Jobs, Tool
from tests.web.made_up import stand_in


@pytest.fixture
def jobs(tmp_path: Path) -> Iterator[Jobs]:
    jobs = Jobs(tmp_path / "jobs", stand_in(tmp_path), at_once=1)
    yield jobs
    for child in jobs._children.values():
        child.wait(10)


def until(told: Callable[[], bool], seconds: float = 10.0) -> None:
    """Wait for something."""
    end = time.monotonic() + seconds
    while not told():
        assert time.monotonic() < end, "it did not come"
        time.sleep(0.02)


def only(jobs: Jobs) -> dict[str, Any]:
    """The one job."""
    (job,) = jobs.all()
    return job


def test_a_job_tells_how_far_it_is_and_how_it_ended(jobs: Jobs) -> None:
    jobs.start("fit", ["fit"])
    until(lambda: only(jobs)["state"] == "done")
    job = only(jobs)
    assert (job["done"], job["parts"]) == (1, 60)
    assert job["said"] == ["step 1 of 60"]
    assert job["document"] == {"summary": ["done"]}
    jobs.forget(job["id"])
    assert jobs.all() == []


def test_a_job_that_fails_gives_its_errors(jobs: Jobs) -> None:
    jobs.start("solid", ["solid"])
    until(lambda: only(jobs)["state"] == "failed")
    assert only(jobs)["ending"] == "the input is wrong"
    assert only(jobs)["document"]["errors"][0]["message"] == "no solid"


def test_one_waits_for_another_and_both_can_be_cancelled(jobs: Jobs) -> None:
    first = jobs.start("bend", ["bend"])
    second = jobs.start("block", ["block"])
    assert [job["state"] for job in jobs.all()] == ["waiting", "running"]
    with pytest.raises(InputError, match="being done already"):
        jobs.start("bend", ["bend"])
    with pytest.raises(InputError, match="still going on"):
        jobs.forget(first["id"])
    jobs.cancel(second["id"])
    jobs.cancel(first["id"])
    until(lambda: {job["state"] for job in jobs.all()} == {"cancelled"})
    assert jobs.all()[0]["said"] == [], "the one that waited never ran"


def test_a_waiting_job_starts_when_there_is_room(jobs: Jobs) -> None:
    jobs.start("solid", ["solid"])
    jobs.start("fit", ["fit"])

    def both_ended() -> bool:
        jobs.pump()
        return {job["state"] for job in jobs.all()} == {"done", "failed"}

    until(both_ended)


def test_a_job_outlives_its_server(tmp_path: Path) -> None:
    """The server is killed; the next one sees the job going on, and can cancel it."""
    tool = stand_in(tmp_path)
    program = (
        "import sys, time; from pathlib import Path; from fiddlehead.web.jobs import Jobs, Tool; "
        f"j = Jobs(Path({str(tmp_path / 'jobs')!r}), Tool({tool.command!r}, {{}}, {{}})); "
        "j.start('bend', ['bend']); time.sleep(60)"
    )
    server = subprocess.Popen([sys.executable, "-c", program])
    jobs = Jobs(tmp_path / "jobs", tool)
    until(lambda: bool(jobs.all()) and (only(jobs)["done"] or 0) >= 2)
    server.kill()
    server.wait()
    seen = only(jobs)["done"]
    until(lambda: only(jobs)["done"] > seen)
    assert only(jobs)["state"] == "running"
    jobs.cancel(only(jobs)["id"])
    until(lambda: only(jobs)["state"] == "cancelled")


def test_a_process_that_crashes_is_noticed_at_once(tmp_path: Path) -> None:
    tool = Tool((sys.executable, "-c", "raise SystemExit(70)"), {}, {70: "unexpected error"})
    jobs = Jobs(tmp_path / "jobs", tool)
    jobs.start("bend", ["bend"])

    def failed() -> bool:
        jobs.pump()
        return only(jobs)["state"] == "failed"

    until(failed)
    assert only(jobs)["ending"] == "unexpected error"


def test_a_process_that_is_gone_is_noticed(jobs: Jobs) -> None:
    place = jobs.folder / "000001"
    write_text(place / "job.json", '{"verb": "bend", "words": ["bend"], "asked": 1.0}')
    write_text(place / "alive", "")
    assert only(jobs)["state"] == "running"
    past = time.time() - SILENCE_S - 1
    os.utime(place / "alive", (past, past))
    assert only(jobs)["state"] == "lost"
    assert "Start it again" in only(jobs)["ending"]


@pytest.mark.parametrize("number", ["", "7", "../jobs", "x", "000001/.."])
def test_a_job_that_is_none_is_told(jobs: Jobs, number: str) -> None:
    with pytest.raises(InputError, match="no such job"):
        jobs.cancel(number)


def run_job(folder: Path, words: list[str]) -> subprocess.Popen[bytes]:
    """The real process of a job."""
    write_text(folder / "alive", "")
    return subprocess.Popen(
        [sys.executable, "-m", "fiddlehead.cli.job", str(folder), *words],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )


def test_the_real_process_leaves_its_exit_code(tmp_path: Path) -> None:
    process = run_job(tmp_path, ["check", str(tmp_path / "nowhere"), "--json"])
    assert process.wait(30) == 2
    assert (tmp_path / "ended").read_text() == "2"


def test_the_wish_to_stop_comes_as_an_interrupt(tmp_path: Path) -> None:
    write_text(tmp_path / "alive", "")
    program = (
        "import time\nfrom pathlib import Path\nfrom fiddlehead.cli import job\n"
        "def main(words):\n"
        "    try:\n        time.sleep(30)\n    except KeyboardInterrupt:\n        return 130\n"
        f"job.main = main\njob.run(Path({str(tmp_path)!r}), [])\n"
    )
    process = subprocess.Popen([sys.executable, "-c", program])
    beat = (tmp_path / "alive").stat().st_mtime_ns
    until(lambda: (tmp_path / "alive").stat().st_mtime_ns > beat)
    write_text(tmp_path / "cancel", "")
    process.wait(10)
    assert (tmp_path / "ended").read_text() == "130"

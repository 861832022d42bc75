"""The store and the runs that fill it: resume, two at once, full disk, read-only, changes."""

from __future__ import annotations

import dataclasses
import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from fiddlehead.errors import StoreError
from fiddlehead.study.lock import only_run
from fiddlehead.study.running import Progress, batches, run
from fiddlehead.study.sampling import sample
from fiddlehead.study.store import Entry, Store
from fiddlehead.study.workers import ThisProcess, processes
from tests.study import analytic
from tests.study.analytic import PATTERN, SPACE, task

ROWS = sample(SPACE, "Sobol sequence", 40, 1)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store(tmp_path / "studies.sqlite") as store:
        begin(store)
        yield store


def begin(store: Store, pattern: Any = PATTERN, name: str = "demo") -> None:
    changed = dataclasses.replace(task(name), pattern=pattern)
    store.begin(name, {"pattern": pattern.content()}, changed.pattern_hash)


def numbers(store: Store, name: str = "demo") -> Any:
    """Everything but wall time and the order of arrival."""
    frame = store.table(name).drop(columns=["seconds", "number"])
    return frame.sort_values("key").reset_index(drop=True)


def test_a_run_keeps_every_design_once(store: Store) -> None:
    outcomes = run(task(), [*ROWS, *ROWS[:5]], store)
    frame = store.table("demo")
    assert len(frame) == len(ROWS)
    assert frame["number"].tolist() == list(range(1, 41))
    assert [o.status for o in outcomes if o][:5] == [o.status for o in outcomes[40:] if o]
    for row, outcome in zip(ROWS, outcomes, strict=False):
        assert outcome is not None
        soft = analytic.softness(*(float(row[n]) for n in SPACE.names[:2]), row["bellows_count"])  # type: ignore[arg-type]
        assert outcome.values["softness"] == pytest.approx(soft)
        assert (outcome.status == "partial") == (float(row["wall_thickness_mm"]) > 1.55)
    partial = frame[frame["status"] == "partial"]
    assert partial["reason"].unique().tolist() == ["analytic: too stiff to press"]
    assert partial["stress"].isna().all()


def test_designs_that_cannot_be_made_are_refused_and_stop_nobody(store: Store) -> None:
    rows = [{**ROWS[0], "wall_thickness_mm": 30.0}, ROWS[1], {**ROWS[0], "base_thickness_mm": -1.0}]
    first, second, third = run(task(), rows, store)
    assert (first and first.status, second and second.status) == ("refused", "complete")
    assert third is not None
    assert "base_thickness_mm" in third.reason
    assert "\n" not in first.reason  # type: ignore[union-attr]


def test_progress_tells_rate_and_time_left(store: Store) -> None:
    told: list[Progress] = []
    run(task(), ROWS, store, tell=told.append)
    assert [p.done for p in told] == sorted({p.done for p in told})
    assert told[-1].done == told[-1].wanted == len(ROWS)
    assert told[0].left_s is None
    assert all(p.rate_per_s > 0 and p.left_s is not None for p in told[1:])


def test_a_stopped_run_goes_on_where_it_was(store: Store, tmp_path: Path) -> None:
    told: list[Progress] = []
    some = run(task(), ROWS, store, tell=told.append, stop=lambda: len(told) == 2)
    assert sum(o is not None for o in some) == told[-1].done < len(ROWS)
    worked: list[Progress] = []
    assert None not in run(task(), ROWS, store, tell=worked.append)
    assert len(worked) == len(batches(task(), ROWS)) - 2
    assert run(task(), ROWS, store, tell=worked.append) == run(task(), ROWS, store)
    with Store(tmp_path / "whole.sqlite") as whole:
        begin(whole)
        run(task(), ROWS, whole)
        assert numbers(store).equals(numbers(whole))


def test_two_studies_share_a_store(store: Store) -> None:
    with Store(store.path) as other:
        begin(other, name="second")
        told: list[Progress] = []

        def interleave(progress: Progress) -> None:
            told.append(progress)
            if len(told) == 2:
                run(task("second"), ROWS, other)

        run(task(), ROWS, store, tell=interleave)
    assert numbers(store).equals(numbers(store, "second"))
    assert set(store.studies()) == {"demo", "second"}


def test_one_study_runs_once_at_a_time(tmp_path: Path) -> None:
    place = tmp_path / "studies.sqlite"
    with (
        only_run(place, "demo"),
        only_run(place, "other"),
        pytest.raises(StoreError, match="another process is running this study"),
        only_run(place, "demo"),
    ):
        pass
    with only_run(place, "demo"):
        pass
    assert list(tmp_path.iterdir()) == []


def test_a_changed_project_is_told_and_nothing_is_mixed(store: Store) -> None:
    run(task(), ROWS[:8], store)
    finger = dataclasses.replace(PATTERN.finger, height_mm=13.0)
    changed = dataclasses.replace(PATTERN, finger=finger, working_pressure_kpa=90.0)
    with pytest.raises(StoreError, match="has changed since this study began") as caught:
        begin(store, changed)
    assert "finger.height_mm was 12.0, is 13.0" in caught.value.found
    assert "working_pressure_kpa was 100.0, is 90.0" in caught.value.found
    assert "--anew" in caught.value.remedy
    assert len(store.table("demo")) == 8
    begin(store, changed, "another name")
    store.forget("demo")
    begin(store, changed)
    assert len(store.table("demo")) == 0


def test_a_full_disk_is_told_and_what_was_kept_is_whole(store: Store) -> None:
    run(task(), ROWS[:16], store)
    before = store.table("demo")
    pages = store.connection.execute("pragma page_count").fetchone()[0]
    store.connection.execute(f"pragma max_page_count = {pages}")  # what a full disk answers
    with pytest.raises(StoreError, match="full") as caught:
        run(task(), sample(SPACE, "Latin hypercube", 400, 1), store)
    assert "safe" in caught.value.remedy
    assert store.connection.execute("pragma integrity_check").fetchone() == ("ok",)
    kept = store.table("demo")
    assert kept[: len(before)].equals(before)
    store.connection.execute("pragma max_page_count = 100000")
    assert None not in run(task(), ROWS, store)


@pytest.mark.skipif(os.geteuid() == 0, reason="nothing is read-only to the superuser")
def test_a_read_only_folder_is_told_and_can_be_read(store: Store, tmp_path: Path) -> None:
    run(task(), ROWS[:8], store)
    store.close()
    tmp_path.chmod(0o555)
    store.path.chmod(0o444)
    try:
        with Store(store.path, write=False) as reader:
            assert len(reader.table("demo")) == 8
        with pytest.raises(StoreError, match="cannot use this store"):
            Store(store.path)
        with pytest.raises(StoreError, match="cannot write here"), only_run(store.path, "demo"):
            pass
    finally:
        tmp_path.chmod(0o755)


def test_a_place_that_cannot_be_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    place = tmp_path / "file" / "studies.sqlite"
    with pytest.raises(StoreError, match="cannot use this store"):
        Store(place)
    with pytest.raises(StoreError, match="cannot write here"), only_run(place, "demo"):
        pass


def test_a_file_without_right_to_write(store: Store) -> None:
    run(task(), ROWS[:8], store)
    with Store(store.path, write=False) as reader:
        assert len(reader.table("demo")) == 8
        entry = Entry("k", "sample", "preview", ROWS[0], run(task(), ROWS[:1], store)[0])  # type: ignore[arg-type]
        with pytest.raises(StoreError, match="readonly"):
            reader.add("demo", [entry])


@pytest.mark.parametrize("content", [b"no database at all, but long enough" * 9, b""])
def test_what_is_no_store_is_told(tmp_path: Path, content: bytes) -> None:
    place = tmp_path / "studies.sqlite"
    with pytest.raises(StoreError, match="nothing was simulated yet"):
        Store(place, write=False)
    place.write_bytes(content)
    with pytest.raises(StoreError), Store(place, write=False) as reader:
        reader.table("demo")


def test_another_release_of_the_store_is_left_alone(store: Store) -> None:
    store.connection.execute("pragma user_version = 99")
    for write in (True, False):
        with pytest.raises(StoreError, match="another release"):
            Store(store.path, write=write)


def test_processes_give_the_same_and_a_lost_one_is_replaced(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    flag = tmp_path / "die"
    flag.touch()
    monkeypatch.setenv("ANALYTIC_DIE_ONCE", str(flag))
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join(__import__("sys").path))
    with processes(2) as fresh:
        run(task(), ROWS, store, workers=fresh)
    assert not flag.exists()  # one process did die
    with Store(tmp_path / "here.sqlite") as here:
        begin(here)
        run(task(), ROWS, here)
        assert numbers(store).equals(numbers(here))


def test_a_worker_that_always_dies_ends_the_run_in_words(store: Store) -> None:
    from concurrent.futures import Executor, Future
    from concurrent.futures.process import BrokenProcessPool

    class Doomed(Executor):
        def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
            future: Future[Any] = Future()
            future.set_exception(BrokenProcessPool("gone"))
            return future

    with pytest.raises(StoreError, match="lost over and over"):
        run(task(), ROWS, store, workers=Doomed)
    assert isinstance(ThisProcess().submit(int, "x").exception(), ValueError)

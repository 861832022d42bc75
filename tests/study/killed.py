"""Children that are killed with SIGKILL at random moments while they fill a store.

    python -m tests.study.killed FOLDER MOMENTS

Writes one line: how many were killed with work under way, and whether the store, after one run
that is left alone, equals that of a run that was never cut off.
"""

from __future__ import annotations

import os
import random
import signal
import sys
import time
from pathlib import Path

from fiddlehead.study.running import run
from fiddlehead.study.sampling import sample
from fiddlehead.study.store import Store
from tests.study.analytic import PATTERN, SPACE, task


def fill(place: Path, designs: int) -> None:
    """One whole run, from wherever the store is."""
    with Store(place) as store:
        store.begin("demo", {"pattern": PATTERN.content()}, task().pattern_hash)
        run(task(), sample(SPACE, "Sobol sequence", designs, 1), store, batch=4)


def content(place: Path) -> list[tuple[object, ...]]:
    """Every design but its wall time, by key."""
    with Store(place, write=False) as store:
        assert store.connection.execute("pragma integrity_check").fetchone() == ("ok",)
        return store.connection.execute(
            "select key, origin, mesh, row, status, found, reason from design order by key"
        ).fetchall()


def main(folder: Path, moments: int) -> str:
    """Kill, go on, compare."""
    designs, chance = 4 * moments, random.Random(1)
    whole, cut = folder / "whole.sqlite", folder / "cut.sqlite"
    began = time.perf_counter()
    fill(whole, designs)
    span = time.perf_counter() - began
    killed, partial = 0, set()
    for _ in range(moments):
        child = os.fork()
        if child == 0:
            fill(cut, designs)
            os._exit(0)
        time.sleep(chance.uniform(0.0, 0.06 * span))
        os.kill(child, signal.SIGKILL)
        killed += os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == -signal.SIGKILL
        if cut.exists():
            with Store(cut) as store:
                partial.add(store.connection.execute("select count(*) from design").fetchone()[0])
    fill(cut, designs)
    same = content(whole) == content(cut)
    return f"{killed} killed, {len(partial)} different fills, {designs} designs, same {same}"


if __name__ == "__main__":
    sys.stdout.write(main(Path(sys.argv[1]), int(sys.argv[2])) + "\n")

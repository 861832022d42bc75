"""How soon fiddlehead is there: first screen, import, and the first Newton step of ``bend``.

    python -m benchmarks.startup

``bend`` is started anew on the demo project, whose programs an earlier process has compiled and
kept in the cache on disk; what is timed runs from asking for the process to the end of the first
Newton step, with the stages in between. Medians of several starts.
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from benchmarks.record import RESULTS, ROOT, load_average, write_table
from benchmarks.startup_probe import STAGES

TARGETS_S = {"import fiddlehead": 0.5, "fiddlehead --help": 0.5, "first Newton step": 3.0}
"""What we hold ourselves to."""
SHORT = {
    "import fiddlehead": ["-c", "import fiddlehead"],
    "fiddlehead --help": ["-c", "from fiddlehead.cli.main import main; main(['--help'])"],
}


def environment(cache: Path) -> dict[str, str]:
    """This environment with the package of this checkout and a cache folder of our own."""
    path = os.pathsep.join([str(ROOT / "src"), str(ROOT)])
    kept = {k: v for k, v in os.environ.items() if k != "JAX_COMPILATION_CACHE_DIR"}
    return {**kept, "PYTHONPATH": path, "XDG_CACHE_HOME": str(cache)}


def start(words: list[str], cache: Path) -> tuple[float, str]:
    """Run a Python to its end; wall time and what it printed."""
    began = time.perf_counter()
    done = subprocess.run(
        [sys.executable, *words], env=environment(cache), capture_output=True, text=True, check=True
    )
    return time.perf_counter() - began, done.stdout


def probe(project: Path, mesh: str, cache: Path) -> dict[str, Any]:
    """One new process up to its first Newton step."""
    words = ["-m", "benchmarks.startup_probe", str(time.time())]
    _, said = start([*words, "bend", str(project), "--mesh", mesh], cache)
    return json.loads(said.splitlines()[-1])


def short_rows(cache: Path, repeats: int) -> list[dict[str, Any]]:
    """The first screen and the bare import."""
    rows = []
    for name, words in SHORT.items():
        start(words, cache)
        times = [start(words, cache)[0] for _ in range(repeats)]
        rows.append(_row(name, times, TARGETS_S[name]))
    return rows


def bend_rows(project: Path, mesh: str, cache: Path, repeats: int) -> list[dict[str, Any]]:
    """First start with an empty cache, then the stages of later ones."""
    cold = probe(project, mesh, cache)
    rows = [_row("bend, nothing compiled yet", [cold["stages"]["first Newton step"]])]
    warm = [probe(project, mesh, cache) for _ in range(repeats)]
    rows.append(
        _row(
            "bend, seen before: to the end of the first Newton step",
            [w["stages"]["first Newton step"] for w in warm],
            TARGETS_S["first Newton step"],
        )
    )
    for earlier, stage in zip(("", *STAGES), STAGES, strict=False):
        times = [w["stages"][stage] - w["stages"].get(earlier, 0.0) for w in warm]
        rows.append(_row(f"  stage: {stage}", times))
    for event in sorted({event for w in warm for event in w["jax"]}):
        rows.append(_row(f"  JAX: {event}", [w["jax"].get(event, 0.0) for w in warm]))
    for event in sorted({event for w in warm for event in w["counts"]}):
        rows.append(_row(f"  JAX count: {event}", [w["counts"].get(event, 0) for w in warm]))
    return rows


def _row(name: str, times: list[float], target: float | None = None) -> dict[str, Any]:
    row = {
        "what": name,
        "median": round(statistics.median(times), 3),
        "least": round(min(times), 3),
        "most": round(max(times), 3),
        "starts": len(times),
        "target_s": "" if target is None else target,
        "load_average": load_average(),
    }
    print(f"{name:<60} {row['median']:>8} (from {row['least']} to {row['most']})", flush=True)
    return row


def main(arguments: list[str] | None = None) -> int:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="once, on the coarsest mesh")
    parser.add_argument("--repeats", type=int, default=5)
    parser.add_argument("--results", type=Path, default=None)
    asked = parser.parse_args(arguments)
    repeats = 1 if asked.quick else asked.repeats
    with tempfile.TemporaryDirectory() as scratch:
        project, cache = Path(scratch) / "greenware", Path(scratch) / "cache"
        shutil.copytree(ROOT / "examples" / "greenware", project)
        rows = short_rows(cache, repeats)
        rows += bend_rows(project, "preview" if asked.quick else "standard", cache, repeats)
    folder = asked.results or (None if asked.quick else RESULTS)
    if folder is not None:
        print(write_table(folder / "startup.csv", rows, ("jax", "jaxlib", "numpy", "click")))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())

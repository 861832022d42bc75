"""One finger on a CPU: fiddlehead beside general-purpose finite-element libraries.

    python -m pip install -c constraints.txt -e '.[test,benchmarks]'
    python -m benchmarks.cpu_libraries

Same bricks, same nodes, same law and bulk modulus, same pressures, same tolerance. Every library
has a process of its own that is warmed up at a hundredth of the pressures (compilers, thread pools)
and then solves whole curves, in turn with the others; one round is one pairing, and the ratio that
counts is the median over the rounds. A library still at work after the limit is stopped at the next
pressure; one that takes far longer than fiddlehead is asked once. Libraries that are not installed
are left out.
"""

from __future__ import annotations

import argparse
import dataclasses
import importlib
import multiprocessing
import os
import statistics
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from types import ModuleType
from typing import Any

from benchmarks.demo import demo_finger, first, with_bellows
from benchmarks.libraries.problem import Problem, angle_deg, make_problem
from benchmarks.record import RESULTS, load_average, write_table
from fiddlehead.mesh.settings import mesh_settings

LIBRARIES = ("fiddlehead", "ngsolve", "felupe", "skfem")
AGREEMENT = 0.02
"""Largest spread of the tip angles between all libraries at which the comparison counts."""
COARSE_AGREEMENT = 0.05
"""The same on the tiny mesh of ``--quick``, where elements differ more."""
FAR_BEHIND = 4.0
"""Times fiddlehead's wall time at which one round is enough."""
WARM_UP_S = 5.0


@dataclasses.dataclass(frozen=True)
class Curve:
    """One whole curve by one library, as far as it came."""

    name: str
    method: str
    wall_s: float
    pressures_mpa: list[float]
    angles_deg: list[float]
    solves: int
    unknowns: int
    complete: bool


def module_of(library: str) -> ModuleType:
    """The library's own way of solving the finger."""
    return importlib.import_module(f"benchmarks.libraries.with_{library}")


def solve(library: str, problem: Problem, limit_s: float) -> Curve:
    """Time one curve; runs in the library's process."""
    module = module_of(library)
    steps, began = [], time.perf_counter()
    for step in module.solve(problem):
        steps.append(step)
        if time.perf_counter() - began > limit_s:
            break
    wall = time.perf_counter() - began
    return Curve(
        name=module.NAME,
        method=module.METHOD,
        wall_s=wall,
        pressures_mpa=list(problem.pressures_mpa[: len(steps)]),
        angles_deg=[angle_deg(problem, step.tip_displacement) for step in steps],
        solves=sum(step.solves for step in steps),
        unknowns=steps[-1].unknowns,
        complete=len(steps) == len(problem.pressures_mpa),
    )


def installed(libraries: tuple[str, ...]) -> dict[str, ProcessPoolExecutor]:
    """A process for every library that can be imported."""
    context = multiprocessing.get_context("spawn")
    found = {}
    for library in libraries:
        worker = ProcessPoolExecutor(1, mp_context=context)
        try:
            worker.submit(importable, library).result()
        except ImportError as error:
            worker.shutdown()
            print(f"{library}: left out ({error})")
        else:
            found[library] = worker
    return found


def importable(library: str) -> None:
    """Import the library; runs in its process."""
    module_of(library)


def measure(
    problem: Problem, libraries: tuple[str, ...], rounds: int, limit_s: float
) -> list[dict[str, Any]]:
    """Rounds of one curve by every library, with the angles it found.

    A library that met the limit is not asked again.
    """
    workers = installed(libraries)
    warm_up = dataclasses.replace(problem, pressures_mpa=problem.pressures_mpa / 100)
    rows, first_s = [], {}
    for library, worker in workers.items():
        first_s[library] = worker.submit(solve, library, warm_up, WARM_UP_S).result().wall_s
    for number in range(1, rounds + 1):
        ours = None
        for library, worker in list(workers.items()):
            load = load_average()
            curve = worker.submit(solve, library, problem, limit_s).result()
            ours = ours or curve.wall_s
            rows.append(_row(curve, number, first_s[library], curve.wall_s / ours, load))
            print(_line(rows[-1]), flush=True)
            if not curve.complete or curve.wall_s > FAR_BEHIND * ours:
                workers.pop(library).shutdown()
    for worker in workers.values():
        worker.shutdown()
    return rows


def _row(curve: Curve, number: int, first_s: float, ratio: float, load: float) -> dict[str, Any]:
    return {
        "library": curve.name,
        "round": number,
        "wall_s": round(curve.wall_s, 2),
        "times_fiddlehead": round(ratio, 2),
        "linear_solves": curve.solves,
        "s_per_solve": round(curve.wall_s / curve.solves, 3),
        "unknowns": curve.unknowns,
        "reached_kpa": round(1000 * curve.pressures_mpa[-1], 1),
        "complete": curve.complete,
        "warm_up_s": round(first_s, 2),
        "load_average": load,
        "method": curve.method,
        "angles_deg": curve.angles_deg,
    }


def _line(row: dict[str, Any]) -> str:
    return (
        f"round {row['round']}  {row['library']:<11} {row['wall_s']:7.2f} s to "
        f"{row['reached_kpa']:g} kPa, {row['times_fiddlehead']:.2f} x fiddlehead, "
        f"{row['linear_solves']} linear solves, load {row['load_average']}"
    )


def angles(problem: Problem, rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Tip angle by pressure and library, and their relative spread where all have one."""
    latest = {row["library"]: row["angles_deg"] for row in rows}
    table = []
    for n, pressure in enumerate(problem.pressures_mpa):
        found = {name: a[n] for name, a in latest.items() if n < len(a)}
        spread = (max(found.values()) - min(found.values())) / min(found.values())
        cells = {f"{name}_deg": round(found[name], 4) if name in found else "" for name in latest}
        table.append(
            {"pressure_kpa": round(1000 * pressure, 1), **cells, "spread": round(spread, 5)}
        )
    return table


def summary(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Medians over the rounds, one row per library."""
    table = []
    for name in dict.fromkeys(row["library"] for row in rows):
        mine = [row for row in rows if row["library"] == name]
        middle = {
            key: statistics.median(row[key] for row in mine)
            for key in ("wall_s", "times_fiddlehead", "s_per_solve")
        }
        table.append({**mine[-1], **middle, "round": f"median of {len(mine)}"})
    return table


def main(arguments: list[str] | None = None) -> int:
    """Run the benchmark; returns 1 when the libraries disagree."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="a tiny finger, two pressures, once")
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--limit-s", type=float, default=240.0, help="per curve and library")
    parser.add_argument("--libraries", nargs="+", default=LIBRARIES, choices=LIBRARIES)
    parser.add_argument("--results", type=Path, default=None)
    asked = parser.parse_args(arguments)
    os.environ.setdefault("OMP_NUM_THREADS", str(len(os.sched_getaffinity(0))))
    finger, card = demo_finger()
    if asked.quick:
        problem = make_problem(with_bellows(2), card, mesh_settings("preview"), first(2))
        rows = measure(problem, tuple(asked.libraries), 1, asked.limit_s)
    else:
        problem = make_problem(finger, card, mesh_settings("standard"), first(10))
        rows = measure(problem, tuple(asked.libraries), asked.rounds, asked.limit_s)
    agreed = angles(problem, rows)
    allowed = COARSE_AGREEMENT if asked.quick else AGREEMENT
    worst = max(row["spread"] for row in agreed)
    told = [{k: v for k, v in row.items() if k != "angles_deg"} for row in rows + summary(rows)]
    folder = asked.results or (None if asked.quick else RESULTS)
    if folder is not None:
        modules = [module_of(library) for library in asked.libraries if _present(library, rows)]
        packages = [*dict.fromkeys(p for module in modules for p in module.PACKAGES), "numpy"]
        print(write_table(folder / "cpu_libraries.csv", told, packages))
        print(write_table(folder / "cpu_libraries_angles.csv", agreed, packages))
    for row in summary(rows):
        print(_line(row))
    verdict = "the comparison counts" if worst <= allowed else "VOID: the libraries disagree"
    print(f"tip angles within {100 * worst:.2f} % of each other: {verdict}")
    return int(worst > allowed)


def _present(library: str, rows: list[dict[str, Any]]) -> bool:
    own = {"skfem": "scikit-fem"}
    return own.get(library, library) in {row["library"] for row in rows}


if __name__ == "__main__":
    raise SystemExit(main())

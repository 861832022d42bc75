"""How long studies take, and what their shortcuts cost.

    python -m benchmarks.study rate --designs 8 --mesh draft   seconds a design, one process
    python -m benchmarks.study rate --designs 512 --batch 256  the same on a graphics card
    python -m benchmarks.study ranking --designs 12            draft and standard: same order?
    python -m benchmarks.study demo                            the demo's 300, two processes
    python -m benchmarks.study search --designs 48             evolution beside gradient
    python -m benchmarks.study store                           10,000: open, filter, plot

All but ``store`` use the [study] of the demo project.
"""

from __future__ import annotations

import argparse
import dataclasses
import shutil
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import jax
import numpy as np
from scipy.stats import spearmanr

from benchmarks.record import RESULTS, load_average, write_table
from fiddlehead.mesh.settings import mesh_settings
from fiddlehead.project.load import load_project
from fiddlehead.project.material import make_material
from fiddlehead.project.study import study_of
from fiddlehead.study.definition import Study
from fiddlehead.study.evaluate import Outcome
from fiddlehead.study.running import run
from fiddlehead.study.store import Entry, Store
from fiddlehead.study.workers import BATCH

PACKAGES = ("jax", "jaxlib", "numpy", "pymoo", "moocore", "scikit-learn", "SALib")
EXAMPLE = Path(__file__).parents[1] / "examples" / "greenware"


def demo_study(folder: Path) -> Study:
    """The demo's study."""
    shutil.copytree(EXAMPLE, folder / "greenware")
    project = load_project(folder / "greenware")
    return study_of(project, make_material(project, "2026-01-01").card)


def simulated(study: Study, store: Store, count: int) -> tuple[float, list[Outcome]]:
    """Processor seconds a design, after one of every topology that compiles; and all outcomes."""
    rows = study.sample()[: count + 1]
    study.begin(store)
    run(study.task(), rows[:1], store, batch=1)
    by_count = sorted(rows[1:], key=lambda row: str(row.get("bellows_count")))
    for other in {row.get("bellows_count"): row for row in by_count}.values():
        run(study.task(), [other], store, batch=1)
    known = set(store.table(study.name)["key"])
    fresh = [r for r, k in zip(rows, study.task().keys(rows), strict=True) if k not in known]
    began = time.process_time()
    run(study.task(), fresh, store)
    seconds = (time.process_time() - began) / max(len(fresh), 1)
    return seconds, [one for one in run(study.task(), rows, store) if one]


def rate(folder: Path, asked: argparse.Namespace) -> list[dict[str, Any]]:
    """Seconds a design in one process, of the second of two equal samples: compiling left out."""
    study = demo_study(folder)
    study = dataclasses.replace(
        study,
        mesh_name=asked.mesh,
        mesh=mesh_settings(asked.mesh),
        designs=2 * asked.designs,
    )
    half = [study.sample()[k::2] for k in range(2)]
    with Store(folder / "s.sqlite") as store:
        study.begin(store)
        run(study.task(), half[0], store, batch=asked.batch)
        began, worked = time.perf_counter(), time.process_time()
        found = [one for one in run(study.task(), half[1], store, batch=asked.batch) if one]
        seconds, work = time.perf_counter() - began, time.process_time() - worked
    return [
        {
            "mesh": asked.mesh,
            "designs": len(found),
            "complete": sum(one.status == "complete" for one in found),
            "batch": asked.batch,
            "device": jax.devices()[0].device_kind,
            "s_per_design": round(seconds / len(found), 3),
            "cpu_s_per_design": round(work / len(found), 3),
            "load_average": load_average(),
        }
    ]


def ranking(folder: Path, asked: argparse.Namespace) -> list[dict[str, Any]]:
    """Rank correlation (Spearman) of coarse meshes with the standard one, by quantity."""
    study, found, rows = demo_study(folder), {}, []
    with Store(folder / "s.sqlite") as store:
        for mesh in asked.meshes:
            one = dataclasses.replace(study, mesh_name=mesh, mesh=mesh_settings(mesh))
            found[mesh] = simulated(one, store, asked.designs)
    fine = asked.meshes[-1]
    for mesh in asked.meshes[:-1]:
        for name in (*study.goals.quantities, "strain_across_layers_percent"):
            both = np.array(
                [[one.values.get(name, np.nan) for one in found[m][1]] for m in (mesh, fine)]
            )
            coarse, true = both[:, np.isfinite(both).all(0)]
            rows.append(
                {
                    "mesh": mesh,
                    "against": fine,
                    "quantity": name,
                    "designs": len(true),
                    "rank_correlation": round(float(spearmanr(coarse, true).statistic), 4),
                    "largest_difference_percent": round(
                        float(100 * np.max(np.abs(coarse / true - 1))), 2
                    ),
                    "cpu_s_per_design": round(found[mesh][0], 3),
                    "cpu_s_per_design_against": round(found[fine][0], 3),
                }
            )
    return rows


def demo(folder: Path, asked: argparse.Namespace) -> list[dict[str, Any]]:
    """The whole command on the demo's study, everything included."""
    from fiddlehead.cli.main import main as fiddlehead

    demo_study(folder)
    began = time.perf_counter()
    designs = ["--designs", str(asked.designs)] if asked.designs else []
    code = fiddlehead(
        ["explore", str(folder / "greenware"), "--processes", str(asked.processes), *designs]
    )
    seconds = time.perf_counter() - began
    with Store(folder / "greenware/results/studies.sqlite", write=False) as store:
        frame = store.table("shorter finger")
    on = frame["mesh"].value_counts()
    return [
        {
            "processes": asked.processes,
            "exit_code": code,
            "designs_draft": int(on.get("draft", 0)),
            "designs_standard": int(on.get("standard", 0)),
            "complete": int((frame["status"] == "complete").sum()),
            "seconds_in_all": round(seconds, 1),
        }
    ]


def search(folder: Path, asked: argparse.Namespace) -> list[dict[str, Any]]:
    """Hypervolume over true simulations, evolution and gradient, from the same start."""
    from fiddlehead.report.figures.study.search import draw_search, search_picture
    from fiddlehead.report.figures.style import save
    from fiddlehead.study.climbing import descend_study
    from fiddlehead.study.evolution import evolve
    from fiddlehead.study.explore import asker
    from fiddlehead.study.fronts import reference_of
    from fiddlehead.study.goals import Goals, Limit
    from fiddlehead.study.space import Range, Space

    study = demo_study(folder)
    ranges = tuple(
        dataclasses.replace(v, steps=None) for v in study.space.variables if isinstance(v, Range)
    )
    goals = Goals(study.goals.objectives, (Limit("strain_p95_percent", at_most=asked.strain),))
    finger = dataclasses.replace(study.pattern.finger, bellows_count=5)
    pattern = dataclasses.replace(study.pattern, finger=finger)
    study = dataclasses.replace(
        study, name="search", pattern=pattern, space=Space(ranges), goals=goals
    )
    with Store(folder / "s.sqlite") as store:
        study.begin(store)
        found = {
            "gradient": descend_study(study, store, designs=asked.designs),
            "evolution": evolve(
                study.space, study.goals, asker(study, store, "optimise"),
                designs=asked.designs, population=12, seed=study.seed,
            ),
        }  # fmt: skip
    reference = reference_of([one.kept() for one in found.values()])
    assert reference is not None
    heading = "greenware: hypervolume over simulations"
    picture = search_picture(found, reference, heading, f"{study.mesh_name} mesh, 5 bellows")
    save(draw_search(picture), asked.results, "search")
    return [
        {"by": name, "simulations": int(n), "hypervolume": round(float(h), 4)}
        for name, one in found.items()
        for n, h in zip(one.asked, one.growth(reference), strict=True)
    ]


def store(folder: Path, asked: argparse.Namespace) -> list[dict[str, Any]]:
    """10,000 invented designs: seconds to open and read, to filter, and to draw."""
    from fiddlehead.report.figures.study.front import draw_front, front_picture
    from fiddlehead.report.figures.study.matrix import draw_matrix, matrix_picture
    from fiddlehead.report.figures.study.parallel import draw_parallel, parallel_picture
    from fiddlehead.report.figures.style import save

    study = dataclasses.replace(demo_study(folder), designs=asked.designs)
    rows = study.sample()
    points, place = study.space.unit(rows), folder / "big.sqlite"
    random = np.random.default_rng(0)
    with Store(place) as kept:
        study.begin(kept)
        entries = []
        for key, row, point in zip(study.task().keys(rows), rows, points, strict=True):
            noise = random.normal(0, 0.05, len(study.quantities))
            values = {
                q: float(40 + 30 * point.sum() + n)
                for q, n in zip(study.quantities, noise, strict=True)
            }
            entries.append(Entry(key, "sample", study.mesh_name, row, Outcome("complete", values)))
        kept.add(study.name, entries)
    draw_front(
        front_picture(
            study.goals,
            {
                "tip_angle_deg": np.zeros(1),
                "mass_g": np.zeros(1),
                "strain_p95_percent": np.zeros(1),
            },
            np.zeros(1, int),
            (),
            "",
            "",
        )
    )  # matplotlib and its fonts
    times = {"designs": len(rows)}
    mark = time.perf_counter()

    def lap(name: str) -> None:
        nonlocal mark
        now = time.perf_counter()
        times[name], mark = round(now - mark, 3), now

    with Store(place, write=False) as kept:
        frame = study.table(kept)
    lap("open_s")
    frame = frame[(frame["tip_angle_deg"] > 60) & (frame["status"] == "complete")]
    columns, numbers = study.columns(frame), frame["number"].to_numpy(int)
    lap("filter_s")
    args = ("title", "detail")
    some = study.rows(frame)
    save(draw_front(front_picture(study.goals, columns, numbers, (0, 1), *args)), folder, "front")
    lap("front_s")
    save(draw_parallel(parallel_picture(study.space, study.goals, some, columns, (0,), *args)),
         folder, "parallel")  # fmt: skip
    lap("parallel_s")
    save(draw_matrix(matrix_picture(study.space, study.goals, some, columns, (0,), *args)),
         folder, "matrix")  # fmt: skip
    lap("matrix_s")
    return [times]


PARTS = {"rate": rate, "ranking": ranking, "demo": demo, "search": search, "store": store}


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one part, write ``results/study_PART.csv``, and print it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("part", choices=PARTS)
    parser.add_argument("--designs", type=int)
    parser.add_argument("--mesh", default="draft")
    parser.add_argument("--batch", type=int, default=BATCH)
    parser.add_argument("--meshes", nargs="+", default=["draft", "preview", "standard"])
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--strain", type=float, default=12.0)
    parser.add_argument("--results", type=Path, default=RESULTS)
    asked = parser.parse_args(arguments)
    usual = {"rate": 8, "ranking": 12, "demo": None, "search": 48, "store": 10_000}
    asked.designs = asked.designs or usual[asked.part]
    with tempfile.TemporaryDirectory() as folder:
        rows = PARTS[asked.part](Path(folder), asked)
    write_table(asked.results / f"study_{asked.part}.csv", rows, PACKAGES)
    for row in rows:
        print(row)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())

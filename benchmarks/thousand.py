"""How long a thousand different fingers take: full 3D curves on whatever device JAX finds.

    python -m benchmarks.thousand                      1,000 designs around the demo finger
    python -m benchmarks.thousand --designs 8 --mesh preview

Meshing, transfers and results (angle, strain, volume at ten pressures) are inside the time;
compilation is measured first on one full set of lanes and reported apart.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Sequence
from pathlib import Path

import jax
import numpy as np

from benchmarks.designs import BULK_MPA, LAW, WORKING_PRESSURE_MPA, around_demo
from benchmarks.record import RESULTS, write_table
from fiddlehead.mechanics.lanes import lanes_that_fit
from fiddlehead.mesh.build import build_mesh
from fiddlehead.mesh.settings import mesh_settings
from fiddlehead.trials.bend_many import bend_many
from fiddlehead.trials.rig import clamped_body

PACKAGES = ("jax", "jaxlib", "numpy")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run, write ``results/thousand.csv``, and print it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--designs", type=int, default=1000)
    parser.add_argument("--mesh", default="standard")
    parser.add_argument("--lanes", type=int)
    parser.add_argument("--results", type=Path, default=RESULTS)
    asked = parser.parse_args(arguments)

    mesh = mesh_settings(asked.mesh)
    pressures = np.linspace(0.1, 1.0, 10) * WORKING_PRESSURE_MPA
    fingers = around_demo(asked.designs)
    body = clamped_body(build_mesh(fingers[0], mesh))
    lanes = min(asked.lanes or lanes_that_fit(body), asked.designs)

    def run(some: list) -> tuple[float, list]:  # type: ignore[type-arg]
        began = time.perf_counter()
        done = []
        for _, result in bend_many(some, LAW, BULK_MPA, pressures, mesh_settings=mesh, lanes=lanes):
            done.append((result.tip_angle_deg[-1], result.strain.p95[-1], result.history))
        return time.perf_counter() - began, done

    # a first pass of one set of lanes at one small pressure compiles everything the timed run uses
    began = time.perf_counter()
    list(bend_many(fingers[:lanes], LAW, BULK_MPA, pressures / 100, mesh_settings=mesh,
                   lanes=lanes))  # fmt: skip
    first_s = time.perf_counter() - began
    seconds, done = run(fingers)
    histories = [history for *_, history in done]
    stats = jax.devices()[0].memory_stats() or {}
    row = {
        "device": jax.devices()[0].device_kind,
        "mesh": asked.mesh,
        "unknowns": histories[0].unknowns,
        "pressures": len(pressures),
        "designs": len(done),
        "complete": sum(history.complete for history in histories),
        "lanes": histories[0].batch,
        "seconds": round(seconds, 2),
        "ms_per_design": round(1e3 * seconds / len(done), 2),
        "first_pass_with_compiling_s": round(first_s, 2),
        "mean_solves": round(float(np.mean([history.solves for history in histories])), 1),
        "most_solves": max(history.solves for history in histories),
        "peak_gb": round(stats.get("peak_bytes_in_use", 0) / 1e9, 1),
    }
    write_table(asked.results / "thousand.csv", [row], PACKAGES)
    for name, value in row.items():
        print(f"{name:>28}  {value}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())

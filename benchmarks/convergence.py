"""How far the presets are from the converged answer: bending angle and 95th-percentile strain.

    python -m benchmarks.convergence                   demo finger and random ones of three bellows

The reference extrapolates standard and fine (every element cut in two along each edge) as an error
that falls with the square of the element size (Richardson; Roache
1994, J. Fluids Eng. 116, 405-413).
"""

from __future__ import annotations

import argparse
import dataclasses
from collections.abc import Sequence
from pathlib import Path

import jax

from benchmarks.designs import (
    BULK_MPA,
    DEMO,
    LAW,
    WORKING_PRESSURE_MPA,
    around_demo,
)
from benchmarks.record import RESULTS, write_table
from fiddlehead.mesh.settings import mesh_settings
from fiddlehead.trials.bend_many import bend_many

MESHES = ("preview", "standard", "fine")

PACKAGES = ("jax", "jaxlib", "numpy")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run, write ``results/convergence.csv``, and print it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--designs", type=int, default=8)
    parser.add_argument("--bellows", type=int, default=3)
    parser.add_argument("--demo-only", action="store_true")
    parser.add_argument("--results", type=Path, default=RESULTS)
    asked = parser.parse_args(arguments)
    fingers = {"demo": DEMO}
    if not asked.demo_only:
        fingers = {
            f"random {k}": dataclasses.replace(finger, bellows_count=asked.bellows)
            for k, finger in enumerate(around_demo(asked.designs, share=0.3, seed=7))
        }
    pressures = [WORKING_PRESSURE_MPA / 3, WORKING_PRESSURE_MPA * 2 / 3, WORKING_PRESSURE_MPA]
    found = {
        name: dict(
            bend_many(fingers.values(), LAW, BULK_MPA, pressures, mesh_settings=mesh_settings(name))
        )
        for name in MESHES
    }
    rows = []
    for place, label in enumerate(fingers):
        ends = {name: found[name][place] for name in MESHES}
        for quantity, read in (
            ("tip_angle_deg", lambda one: float(one.tip_angle_deg[-1])),
            ("strain_p95", lambda one: float(one.strain.p95[-1])),
            ("strain_peak", lambda one: float(one.strain.peak[-1])),
        ):
            values = {name: read(one) for name, one in ends.items()}
            converged = values["fine"] + (values["fine"] - values["standard"]) / 3.0
            rows.append(
                {"finger": label, "quantity": quantity, "converged": round(converged, 5)}
                | {name: round(v, 5) for name, v in values.items()}
                | {f"{name}_off_percent": round(100 * (v / converged - 1), 2)
                   for name, v in values.items()}
                | {"unknowns_standard": ends["standard"].history.unknowns,
                   "device": jax.devices()[0].device_kind}
            )  # fmt: skip
    name = "convergence_demo.csv" if asked.demo_only else "convergence.csv"
    write_table(asked.results / name, rows, PACKAGES)
    for row in rows:
        print(row)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())

"""Does every design get an answer? Random fingers from all usual ranges, to 1.5 x pressure.

    python -m benchmarks.certainty                     1,000 designs, 50 of them again in tiny steps

Writes one line a design to ``results/certainty.csv`` and tells the outcomes. Designs that end
without a physical reason are meant to become named test cases.
"""

from __future__ import annotations

import argparse
import collections
import dataclasses
import time
from collections.abc import Sequence
from pathlib import Path

import jax
import numpy as np

from benchmarks.designs import BOX, BULK_MPA, LAW, WORKING_PRESSURE_MPA, in_the_box
from benchmarks.record import RESULTS, write_table
from fiddlehead.mechanics.path import PathSettings
from fiddlehead.mesh.settings import mesh_settings
from fiddlehead.trials.bend_many import bend_many

BELLOWS = (3, 5, 7, 9)
SMALL_STEPS = 60

PACKAGES = ("jax", "jaxlib", "numpy")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run, write the table, and print what was found."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--designs", type=int, default=1000)
    parser.add_argument("--again", type=int, default=50)
    parser.add_argument("--mesh", default="preview")
    parser.add_argument("--lanes", type=int)
    parser.add_argument("--bellows", default=",".join(map(str, BELLOWS)))
    parser.add_argument("--results", type=Path, default=RESULTS)
    asked = parser.parse_args(arguments)
    mesh = mesh_settings(asked.mesh)
    top = 1.5 * WORKING_PRESSURE_MPA
    coarse = np.linspace(0.1, 1.0, 10) * top
    tiny = np.linspace(1 / SMALL_STEPS, 1.0, SMALL_STEPS) * top
    kinds = [int(n) for n in asked.bellows.split(",")]
    rows, astray = [], []
    for bellows in kinds:
        fingers = in_the_box(asked.designs // len(kinds), bellows)
        began = time.perf_counter()
        found = dict(
            bend_many(fingers, LAW, BULK_MPA, coarse, mesh_settings=mesh, lanes=asked.lanes)
        )
        print(f"{bellows} bellows: {len(found)} of {len(fingers)} returned, "
              f"{time.perf_counter() - began:.0f} s", flush=True)  # fmt: skip
        chosen = range(0, len(fingers), max(1, len(fingers) * len(kinds) // max(1, asked.again)))
        chosen = list(chosen) if asked.again else []
        again = dict(
            bend_many([fingers[i] for i in chosen], LAW, BULK_MPA, tiny, mesh_settings=mesh,
                      lanes=asked.lanes, settings=PathSettings(first_step=1 / SMALL_STEPS))
        )  # fmt: skip
        for place, i in enumerate(chosen):
            fine, quick = again[place], found[i]
            shared = min(len(quick.tip_angle_deg), (len(fine.tip_angle_deg) - 1) // 6 + 1)
            gap = np.abs(fine.tip_angle_deg[::6][:shared] - quick.tip_angle_deg[:shared]).max()
            if (
                gap > 1e-3
                or abs(fine.history.pressure_reached_mpa - quick.history.pressure_reached_mpa)
                > 0.1 * top
            ):
                astray.append((bellows, i, float(gap), fine.history.outcome))
        for i, result in sorted(found.items()):
            history = result.history
            rows.append(
                {"bellows": bellows, "design": i, "outcome": history.outcome,
                 "pressure_reached_kpa": round(1e3 * history.pressure_reached_mpa, 2),
                 "tip_angle_deg": round(float(result.tip_angle_deg[-1]), 3),
                 "strain_p95": round(float(result.strain.p95[-1]), 4),
                 "strain_peak": round(float(result.strain.peak[-1]), 4),
                 "solves": history.solves, "cuts": history.cuts}
                | {name: round(v, 4) for name, v in dataclasses.asdict(fingers[i]).items()
                   if name in BOX}
            )  # fmt: skip
        # the whole table so far, so that a run cut short keeps what it has
        write_table(asked.results / "certainty.csv", rows, PACKAGES)
    print(jax.devices()[0].device_kind, "jax", jax.__version__)
    print(dict(collections.Counter(row["outcome"] for row in rows)))
    print("solves: mean", np.mean([row["solves"] for row in rows]),
          "most", max(row["solves"] for row in rows))  # fmt: skip
    print("on another path when solved again in tiny steps:", astray or "none")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())

"""Does every design get an answer? Random fingers from all usual ranges, to 1.5 x pressure.

    python -m benchmarks.certainty                        1,000 designs, 50 of them in tiny steps
    python -m benchmarks.certainty --bellows 7            those of one topology; other rows are kept
    python -m benchmarks.certainty --parts tiny_steps     the 50 alone, against tall steps

Writes one line a design to ``results/certainty.csv``, one for each taken up again in tiny steps to
``results/certainty_tiny_steps.csv``, and tells the outcomes. Designs that end without a physical
reason are meant to become named test cases.
"""

from __future__ import annotations

import argparse
import collections
import dataclasses
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import jax
import numpy as np

from benchmarks.designs import BOX, BULK_MPA, LAW, WORKING_PRESSURE_MPA, in_the_box
from benchmarks.record import RESULTS, kept, write_table
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.mechanics.path import PathSettings
from fiddlehead.mesh.settings import MeshSettings, mesh_settings
from fiddlehead.trials.bend_many import bend_many
from fiddlehead.trials.records import BendResult

BELLOWS = (3, 5, 7)
TOP_MPA = 1.5 * WORKING_PRESSURE_MPA
TALL_STEPS, TINY_STEPS = 10, 60
SAME_PATH_DEG = 1e-3
"""Tip angles of two runs of one path; both balance to 1e-8 of the forces."""

PACKAGES = ("jax", "jaxlib", "numpy")
PARTS = ["answers", "tiny_steps"]


@dataclasses.dataclass(frozen=True)
class Solver:
    """How the designs are solved."""

    mesh: MeshSettings
    lanes: int | None

    def bend(self, fingers: Sequence[FingerParameters], steps: int) -> dict[int, BendResult]:
        """Results by place; the pressure rises in equal steps, each begun as a whole."""
        pressures = np.linspace(1 / steps, 1.0, steps) * TOP_MPA
        settings = PathSettings(first_step=1 / steps) if steps > TALL_STEPS else PathSettings()
        return dict(
            bend_many(
                fingers, LAW, BULK_MPA, pressures, mesh_settings=self.mesh, lanes=self.lanes,
                settings=settings,
            )
        )  # fmt: skip


def answer(bellows: int, place: int, finger: FingerParameters, found: BendResult) -> dict[str, Any]:
    """One line of the table: how far the design came, and its sizes."""
    run = found.history
    sizes = {n: round(v, 4) for n, v in dataclasses.asdict(finger).items() if n in BOX}
    return {
        "bellows": bellows, "design": place, "outcome": run.outcome,
        "pressure_reached_kpa": round(1e3 * run.pressure_reached_mpa, 2),
        "tip_angle_deg": round(float(found.tip_angle_deg[-1]), 3),
        "strain_p95": round(float(found.strain.p95[-1]), 4),
        "strain_peak": round(float(found.strain.peak[-1]), 4),
        "solves": run.solves, "cuts": run.cuts,
    } | sizes  # fmt: skip


def same_path(bellows: int, place: int, tall: BendResult, tiny: BendResult) -> dict[str, Any]:
    """One line of the other table: do the tall steps lie on the path of the tiny ones?"""
    every = TINY_STEPS // TALL_STEPS
    shared = min(len(tall.tip_angle_deg), (len(tiny.tip_angle_deg) - 1) // every + 1)
    gap = np.abs(tiny.tip_angle_deg[::every][:shared] - tall.tip_angle_deg[:shared]).max()
    ends = [1e3 * one.history.pressure_reached_mpa for one in (tall, tiny)]
    outcomes = (tall.history.outcome, tiny.history.outcome)
    # walls that have slid too far are seen at a step only
    apart = 1 / TALL_STEPS if outcomes == ("walls_meet", "walls_meet") else 0.02
    return {
        "bellows": bellows, "design": place,
        "outcome_tall": outcomes[0], "outcome_tiny": outcomes[1],
        "reached_tall_kpa": round(ends[0], 2), "reached_tiny_kpa": round(ends[1], 2),
        "shared_steps": shared, "largest_gap_deg": float(f"{gap:.2g}"),
        "solves_tall": tall.history.solves, "solves_tiny": tiny.history.solves,
        "same_path": bool(gap < SAME_PATH_DEG and abs(ends[0] - ends[1]) < apart * 1e3 * TOP_MPA),
    }  # fmt: skip


def main(arguments: Sequence[str] | None = None) -> int:
    """Run, write the tables, and print what was found."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--parts", nargs="+", default=PARTS, choices=PARTS)
    parser.add_argument("--bellows", nargs="+", type=int, default=BELLOWS)
    parser.add_argument("--each", type=int, default=334, help="designs of each topology")
    parser.add_argument("--again", type=int, default=17, help="of those, again in tiny steps")
    parser.add_argument("--mesh", default="preview")
    parser.add_argument("--lanes", type=int)
    parser.add_argument("--results", type=Path, default=RESULTS)
    asked = parser.parse_args(arguments)
    solver = Solver(mesh_settings(asked.mesh), asked.lanes)
    print(jax.devices()[0].device_kind, "jax", jax.__version__)
    for part in asked.parts:
        place = asked.results / {"answers": "certainty.csv"}.get(part, f"certainty_{part}.csv")
        rows = [row for row in kept(place) if int(row["bellows"]) not in asked.bellows]
        for bellows in asked.bellows:
            fingers = in_the_box(asked.each, bellows)
            began = time.perf_counter()
            if part == "answers":
                found = solver.bend(fingers, TALL_STEPS)
                rows += [answer(bellows, k, fingers[k], found[k]) for k in sorted(found)]
            else:
                chosen = np.unique(np.linspace(0, asked.each - 1, asked.again).astype(int))
                some = [fingers[k] for k in chosen]
                tall, tiny = solver.bend(some, TALL_STEPS), solver.bend(some, TINY_STEPS)
                rows += [same_path(bellows, int(k), tall[n], tiny[n])
                         for n, k in enumerate(chosen)]  # fmt: skip
            print(f"{part}, {bellows} bellows: {time.perf_counter() - began:.0f} s", flush=True)
            # the whole table so far, so that a run cut short keeps what it has
            write_table(place, rows, PACKAGES)
        if part == "answers":
            print(len(rows), dict(collections.Counter(row["outcome"] for row in rows)))
            solves = [int(row["solves"]) for row in rows]
            print("solves: mean", round(np.mean(solves), 1), "most", max(solves))
        else:
            astray = [row for row in rows if str(row["same_path"]) != "True"]
            print(len(rows), "again in tiny steps; on another path:", astray or "none")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())

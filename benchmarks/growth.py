"""How the cost grows: with the number of bellows, with the mesh, with the batch.

    python -m benchmarks.growth                  all three, one after the other
    python -m benchmarks.growth --parts mesh     one of them; the others' rows are kept

Every case is the demo finger, varied in one thing, bent to 150 kPa in ten steps in a process that
has compiled its programs on a first run to a hundredth of the pressures. The exponent is the slope
of a straight line through the logarithms.
"""

from __future__ import annotations

import argparse
import dataclasses
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import jax
import numpy as np

from benchmarks.demo import demo_finger, first, with_bellows
from benchmarks.designs import around_demo
from benchmarks.record import RESULTS, kept, load_average, write_table
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.mesh.settings import MeshSettings, mesh_settings

BETWEEN = MeshSettings(
    columns_root=3, columns_land=3, columns_valley=2, columns_tip=3, rows_flank=4,
    layers_chamber=3, layers_channel=2,
)  # fmt: skip
"""Finer than the standard mesh along and across the finger, with walls of one brick still."""


BATCHES = {"cpu": (1, 2, 4, 8), "gpu": (1, 8, 64, 128)}
"""Designs in work at once, by the kind of device."""


@dataclasses.dataclass(frozen=True)
class Case:
    """One thing varied."""

    part: str
    size: str
    fingers: list[FingerParameters]
    settings: MeshSettings


def bellows_cases(counts: Sequence[int], settings: MeshSettings) -> list[Case]:
    """Longer and longer fingers."""
    return [Case("bellows", str(n), [with_bellows(n)], settings) for n in counts]


def mesh_cases(meshes: dict[str, MeshSettings], finger: FingerParameters) -> list[Case]:
    """Finer and finer bricks."""
    return [Case("mesh", name, [finger], settings) for name, settings in meshes.items()]


def batch_cases(sizes: Sequence[int], settings: MeshSettings) -> list[Case]:
    """More and more different fingers at once, drawn around the demo's."""
    return [Case("batch", str(n), around_demo(n), settings) for n in sizes]


def measure(case: Case, pressures_mpa: Any) -> dict[str, Any]:
    """Compile, then time one whole curve of the case's fingers."""
    from fiddlehead.mechanics.outcome import Outcome
    from fiddlehead.mechanics.path import PathSettings
    from fiddlehead.trials.bend import inflate
    from fiddlehead.trials.rig import rising, set_up

    _, card = demo_finger()
    ticks: list[tuple[float, float]] = []

    def run(pressures: Any, progress: Callable[[Any], None] | None = None) -> tuple[Any, Any]:
        rig = set_up(case.fingers, card.law(), card.bulk_modulus_mpa, case.settings)
        return rig, inflate(rig, rising(pressures), PathSettings(), progress)

    began = time.perf_counter()
    run(pressures_mpa / 100)
    cold = time.perf_counter() - began
    load, began = load_average(), time.perf_counter()
    rig, path = run(
        pressures_mpa, lambda _: ticks.append((time.perf_counter(), time.process_time()))
    )
    curve = time.perf_counter() - began
    step, work = np.median(np.diff(ticks, axis=0), axis=0)
    row = {
        "part": case.part,
        "size": case.size,
        "designs": len(case.fingers),
        "bricks": len(rig.body.elements),
        "unknowns": int(np.asarray(rig.body.unknown).sum()),
        "pressures": len(pressures_mpa),
        "newton_steps": len(ticks),
        "s_per_step": round(step, 4),
        "s_per_step_and_design": round(step / len(case.fingers), 4),
        "cpu_s_per_step": round(work, 4),
        "s_per_curve": round(curve, 2),
        "s_per_curve_and_design": round(curve / len(case.fingers), 2),
        "first_run_s": round(cold, 2),
        "device": jax.devices()[0].device_kind,
        "all_complete": all(outcome is Outcome.complete for outcome in path.outcome),
        "load_average": load,
    }
    print(*(f"{key} {value}" for key, value in row.items()), sep="  ", flush=True)
    return row


ACROSS = {"bellows": "unknowns", "mesh": "unknowns", "batch": "designs"}


def exponent(x: Sequence[float], y: Sequence[float]) -> tuple[float, float]:
    """``k`` and ``c`` of ``y = c x^k``, least squares in the logarithms."""
    slope, level = np.polyfit(np.log(x), np.log(y), 1)
    return float(slope), float(np.exp(level))


def exponents(rows: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """Exponent of the cost of a Newton step and of a curve, by part."""
    found = []
    for part, across in ACROSS.items():
        mine = [row for row in rows if row["part"] == part]
        if len(mine) < 2:
            continue
        x = [float(row[across]) for row in mine]
        for cost in ("s_per_step", "s_per_curve"):
            k, c = exponent(x, [float(row[cost]) for row in mine])
            found.append(
                {"part": part, "cost": cost, "across": across, "exponent": round(k, 2), "factor": c}
            )
    return found


def draw(rows: Sequence[dict[str, Any]], place: Path) -> Path:
    """One picture, one panel for each part, with the fitted lines."""
    import matplotlib

    matplotlib.use("Agg")
    from matplotlib import pyplot as plt

    titles = {
        "bellows": "Longer fingers", "mesh": "Finer meshes (7 bellows)", "batch": "Bigger batches",
    }  # fmt: skip
    labels = {"unknowns": "unknowns", "designs": "designs in the batch"}
    words = {"s_per_step": "one Newton step", "s_per_curve": "curve"}
    fits = exponents(rows)
    parts = [part for part in ACROSS if any(fit["part"] == part for fit in fits)]
    figure, axes = plt.subplots(
        1, len(parts), figsize=(4.3 * len(parts), 4.2), squeeze=False, layout="constrained"
    )
    for axis, part in zip(axes[0], parts, strict=True):
        mine = [row for row in rows if row["part"] == part]
        across = ACROSS[part]
        x = np.array([float(row[across]) for row in mine])
        for cost, colour, mark in (("s_per_curve", "#1f5a8a", "o"), ("s_per_step", "#b3541e", "s")):
            y = [float(row[cost]) for row in mine]
            (fit,) = [f for f in fits if f["part"] == part and f["cost"] == cost]
            label = f"{words[cost]}: exponent {fit['exponent']:.2f}"
            axis.loglog(x, y, mark, color=colour, label=label)
            axis.loglog(x, fit["factor"] * x ** fit["exponent"], "-", color=colour, lw=1)
        for value, row in zip(x, mine, strict=True):
            name = {"bellows": f"{row['size']} bellows"}.get(part, row["size"])
            axis.annotate(
                name, (value, float(row["s_per_curve"])), textcoords="offset points",
                xytext=(0, 8), ha="center", fontsize=7, color="#555555",
            )  # fmt: skip
        axis.set_xticks(x, [f"{value:,.0f}" for value in x], rotation=30, fontsize=8)
        axis.minorticks_off()
        axis.set(xlabel=labels[across], title=titles[part])
        axis.margins(x=0.12, y=0.12)
        axis.grid(alpha=0.3)
        axis.legend(fontsize=8, loc="lower right")
    axes[0][0].set_ylabel("seconds")
    place.parent.mkdir(parents=True, exist_ok=True)
    figure.savefig(place, dpi=130)
    plt.close(figure)
    return place


def main(arguments: list[str] | None = None) -> int:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="a tiny finger, two pressures")
    parser.add_argument("--parts", nargs="+", default=list(ACROSS), choices=list(ACROSS))
    parser.add_argument("--pressures", type=int, default=10, help="the first so many of the ten")
    parser.add_argument("--results", type=Path, default=None)
    asked = parser.parse_args(arguments)
    standard = mesh_settings("standard")
    if asked.quick:
        cases = bellows_cases((2,), mesh_settings("preview"))
        pressures = first(2)
    else:
        finger, _ = demo_finger()
        meshes = {"preview": mesh_settings("preview"), "standard": standard, "between": BETWEEN}
        cases = [
            *bellows_cases((3, 5, 7, 9, 12), standard),
            *mesh_cases(meshes, finger),
            *batch_cases(BATCHES[jax.default_backend()], standard),
        ]
        cases = [case for case in cases if case.part in asked.parts]
        pressures = first(asked.pressures)
    folder = asked.results or (None if asked.quick else RESULTS)
    before = [] if folder is None or asked.quick else kept(folder / "growth.csv")
    rows = [row for row in before if row["part"] not in asked.parts]
    rows += [measure(case, pressures) for case in cases]
    rows.sort(key=lambda row: list(ACROSS).index(row["part"]))
    fits = exponents(rows)
    for fit in fits:
        print(f"{fit['part']}: {fit['cost']} grows with {fit['across']}^{fit['exponent']}")
    if folder is not None:
        print(write_table(folder / "growth.csv", rows, ("jax", "jaxlib", "numpy")))
        if fits:
            print(write_table(folder / "growth_exponents.csv", fits, ("jax", "jaxlib", "numpy")))
            print(draw(rows, folder / "growth.png"))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())

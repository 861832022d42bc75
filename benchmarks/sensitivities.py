"""What all derivatives of a bending curve cost beside the curve alone.

    python -m benchmarks.sensitivities

The demo finger in ten steps to 150 kPa: the curve, and the curve with the derivatives of every
result by every size, constant and the pressure, in turns; both have compiled before.
"""

from __future__ import annotations

import argparse
import statistics
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import jax

from benchmarks.demo import PRESSURES_MPA, demo_finger, first, with_bellows
from benchmarks.record import RESULTS, load_average, write_table
from fiddlehead.mesh.settings import mesh_settings
from fiddlehead.trials.bend import bend
from fiddlehead.trials.sensitivity import bend_sensitivity


def clocked(work: Callable[[], Any]) -> tuple[float, Any]:
    """Seconds by the clock, and what came of it."""
    began = time.perf_counter()
    found = work()
    return time.perf_counter() - began, found


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument(
        "--quick", action="store_true", help="two bellows, two pressures, one round"
    )
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--results", type=Path, default=None)
    asked = parser.parse_args(arguments)
    finger, card = demo_finger()
    mesh, pressures, rounds = mesh_settings("standard"), PRESSURES_MPA, asked.rounds
    if asked.quick:
        finger, mesh, pressures, rounds = with_bellows(2), mesh_settings("preview"), first(2), 1
    given = (finger, card.law(), card.bulk_modulus_mpa, pressures)

    def curve() -> Any:
        return bend(*given, mesh_settings=mesh)

    def slopes() -> Any:
        return bend_sensitivity(*given, mesh_settings=mesh)

    curve(), slopes()
    rows = []
    for number in range(rounds):
        alone, bent = clocked(curve)
        both, found = clocked(slopes)
        rows.append(
            {
                "round": number + 1,
                "pressures": len(pressures),
                "linear_solves": bent.history.solves,
                "results": len(found.results),
                "parameters": len(found.parameters),
                "s_curve": round(alone, 3),
                "s_curve_and_derivatives": round(both, 3),
                "ratio": round(both / alone, 3),
                "device": jax.devices()[0].device_kind,
                "load_average": load_average(),
            }
        )
    middle = statistics.median(row["ratio"] for row in rows)
    print(*rows, f"median ratio {middle}", sep="\n")
    folder = asked.results or (None if asked.quick else RESULTS)
    if folder is not None:
        print(write_table(folder / "sensitivities.csv", rows, ("jax", "jaxlib", "numpy")))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())

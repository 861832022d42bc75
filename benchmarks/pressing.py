"""Does every finger that presses on something get an answer? Random fingers, objects and places.

    python -m benchmarks.pressing                      300 cases: bare fingers and fingers with pads

Writes one line a case to ``results/pressing.csv`` and tells the outcomes, the linear solves beside
those of the free bend on the same mesh, and the time.
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
import jax.numpy as jnp
import numpy as np

from benchmarks.designs import BULK_MPA, LAW, WORKING_PRESSURE_MPA, around_demo
from benchmarks.record import RESULTS, write_table
from fiddlehead.errors import FiddleheadError
from fiddlehead.finger.pad.parameters import PadParameters
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.mesh.build import build_mesh
from fiddlehead.mesh.settings import MeshSettings, mesh_settings
from fiddlehead.objects.shapes.ellipsoid import Ellipsoid
from fiddlehead.objects.shapes.simple import Capsule, Cylinder, RoundedBox, Sphere
from fiddlehead.trials.bend_many import bend_many
from fiddlehead.trials.placing import ORIENTATIONS, stand
from fiddlehead.trials.press_many import Meeting, press_many

PACKAGES = ("jax", "jaxlib", "numpy")
PADS = {
    "none": None,
    "re-entrant": PadParameters(cells="re-entrant", cell_count=10, cell_depth_mm=6.4),
    "ribs": PadParameters(rib_count=8, rib_angle_deg=60.0),
}
KINDS = ("sphere", "cylinder", "capsule", "rounded box", "ellipsoid")


def shape(kind: str, rng: np.random.Generator) -> Any:
    """An object of 20 to 120 mm."""
    a, b, c = (jnp.asarray(size) for size in rng.uniform(20.0, 120.0, 3))
    edge = jnp.asarray(rng.uniform(2.0, 8.0))
    made = {
        "sphere": lambda: Sphere(a),
        "cylinder": lambda: Cylinder(a, b, edge),
        "capsule": lambda: Capsule(a, a + b),
        "rounded box": lambda: RoundedBox(a, b, c, edge),
        "ellipsoid": lambda: Ellipsoid(a, b, c),
    }
    return made[kind]()


def meetings(
    fingers: Sequence[FingerParameters], kind: str, seed: int
) -> list[tuple[Meeting, dict[str, Any]]]:
    """A random object of one kind before each finger, half of them smooth."""
    rng = np.random.default_rng(seed)
    found = []
    for number, finger in enumerate(fingers):
        orientation = ORIENTATIONS[int(rng.integers(len(ORIENTATIONS)))]
        share, friction = rng.uniform(0.4, 0.95), float(number % 2) * rng.uniform(0.2, 0.8)
        standing = stand(
            finger, shape(kind, rng), orientation=orientation,
            touch_at_mm=float(share * finger.length_mm), clearance_mm=float(rng.uniform(0, 4)),
        )  # fmt: skip
        meeting = Meeting(
            finger=finger, standing=standing, friction_coefficient=friction, object_name=kind
        )
        told = {"orientation": orientation, "touch_at_share": round(share, 3),
                "friction": round(friction, 3)}  # fmt: skip
        found.append((meeting, told))
    return found


def _of_one_topology(
    fingers: Sequence[FingerParameters], mesh: MeshSettings
) -> list[FingerParameters]:
    """Those whose meshes share the most frequent template: a pad's cells are divided by size."""
    templates = [id(build_mesh(finger, mesh).template) for finger in fingers]
    (most, _), *_ = collections.Counter(templates).most_common(1)
    return [f for f, template in zip(fingers, templates, strict=True) if template == most]


def main(arguments: Sequence[str] | None = None) -> int:
    """Run, write the table, and print what was found."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cases", type=int, default=300)
    parser.add_argument("--mesh", default="preview")
    parser.add_argument("--lanes", type=int)
    parser.add_argument("--pads", default=",".join(PADS))
    parser.add_argument("--kinds", default=",".join(KINDS))
    parser.add_argument("--steps", type=int, default=10)
    parser.add_argument("--results", type=Path, default=RESULTS)
    asked = parser.parse_args(arguments)
    mesh, pads, kinds = mesh_settings(asked.mesh), asked.pads.split(","), asked.kinds.split(",")
    pressures = np.linspace(0.0, WORKING_PRESSURE_MPA, asked.steps + 1)[1:]
    each = -(-asked.cases // (len(pads) * len(kinds)))
    rows: list[dict[str, Any]] = []
    for pad in pads:
        fingers = [dataclasses.replace(f, pad=PADS[pad]) for f in around_demo(8 * each)]
        fingers = _of_one_topology([f for f in fingers if not f.problems()], mesh)[:each]
        free = dict(
            bend_many(fingers, LAW, BULK_MPA, pressures, mesh_settings=mesh, lanes=asked.lanes)
        )
        for kind in kinds:
            drawn = meetings(fingers, kind, seed=KINDS.index(kind))
            began = time.perf_counter()
            try:
                found = dict(
                    press_many(
                        [meeting for meeting, _ in drawn], LAW, BULK_MPA, pressures,
                        mesh_settings=mesh, lanes=asked.lanes,
                    )
                )  # fmt: skip
            except FiddleheadError as error:
                print(f"{pad}, {kind}: {error}")
                continue
            took = time.perf_counter() - began
            for i, result in sorted(found.items()):
                rows.append(
                    {"pad": pad, "object": kind, "case": i, **drawn[i][1],
                     "outcome": result.history.outcome,
                     "pressure_reached_kpa": round(1e3 * result.history.pressure_reached_mpa, 2),
                     "grip_force_n": round(float(result.grip_force_n[-1]), 4),
                     "p95_kpa": round(1e3 * float(result.p95_mpa[-1]), 2),
                     "tangential_over_normal": round(
                         float(result.tangential_force_n[-1])
                         / max(float(result.normal_force_n[-1]), 1e-12), 4),
                     "solves": result.history.solves, "cuts": result.history.cuts,
                     "free_bend_solves": free[i].history.solves,
                     "seconds_a_case": round(took / len(found), 3)}
                )  # fmt: skip
            print(f"{pad}, {kind}: {len(found)} of {len(drawn)} returned, {took:.0f} s", flush=True)
            # the whole table so far, so that a run cut short keeps what it has
            write_table(asked.results / "pressing.csv", rows, PACKAGES)
    print(jax.devices()[0].device_kind, "jax", jax.__version__)
    print(dict(collections.Counter(row["outcome"] for row in rows)))
    for name, chosen in (
        ("smooth", [row for row in rows if row["friction"] == 0]),
        ("with friction", [row for row in rows if row["friction"] > 0]),
    ):
        if chosen:
            share = np.mean([row["solves"] / row["free_bend_solves"] for row in chosen])
            print(f"{name}: {share:.1f} times the solves of the free bend on average")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())

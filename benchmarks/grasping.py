"""How long a grasp takes, and whether every grasp ends with a verdict and a reason.

    python -m benchmarks.grasping                      a sphere in three fingers, timed
    python -m benchmarks.grasping --grasps 200         random grasps as well
    python -m benchmarks.grasping --table              six fingers by four objects, with pad and
                                                       without, full runs

Writes ``results/grasping.csv`` (times) and ``results/grasping_random.csv`` (one line a grasp).
"""

from __future__ import annotations

import argparse
import collections
import dataclasses
import itertools
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import jax
import numpy as np

from benchmarks.designs import BULK_MPA, LAW
from benchmarks.record import RESULTS, load_average, write_table
from fiddlehead.finger.pad.parameters import PadParameters
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.grasp.approach import fitted
from fiddlehead.grasp.estimate import estimate
from fiddlehead.grasp.gripper import Gripper, even_directions
from fiddlehead.grasp.records import REASONS, GraspRun
from fiddlehead.grasp.sequence import grasp
from fiddlehead.grasp.task import Held, Task, ready
from fiddlehead.grasp.touch import finger_motion
from fiddlehead.mesh.settings import mesh_settings
from fiddlehead.objects.records import ObjectRecord

FINGER = FingerParameters(
    bellows_count=5, flank_angle_deg=70, pitch_mm=11, valley_gap_mm=1.6, height_mm=18,
    valley_height_mm=8, wall_thickness_mm=1.2, roof_thickness_mm=1.2, base_thickness_mm=2,
    side_wall_thickness_mm=1.2, width_mm=20, channel_width_mm=8, root_length_mm=8,
    tip_length_mm=5,
)  # fmt: skip
PAD = PadParameters(rib_count=6, rib_depth_mm=4.0)
PRESSURE_MPA = 0.12
PACKAGES = ("jax", "jaxlib", "numpy", "scipy")
OBJECTS = (
    ("ball", "sphere", {"diameter_mm": 50.0}),
    ("bar", "cylinder", {"diameter_mm": 40.0, "length_mm": 60.0, "edge_radius_mm": 2.0}),
    ("egg", "egg", {"length_mm": 57.0, "width_mm": 44.0, "taper_mm": 3.0}),
    (
        "block",
        "rounded box",
        {"length_mm": 40.0, "width_mm": 40.0, "height_mm": 40.0, "edge_radius_mm": 3.0},
    ),
)


def record(name: str, shape: str, sizes: dict[str, float], **more: Any) -> ObjectRecord:
    """An object with a mass and friction that are made up."""
    values = {"mass_g": 60.0, "friction_coefficient": 0.5, "contact_pressure_limit_kpa": 60.0}
    return ObjectRecord(name=name, shape=shape, sizes=sizes, **{**values, **more})


def gripper(fingers: int, held: Held, task: Task, *, pad: bool = False) -> Gripper:
    """Evenly spread fingers on a pitch radius that suits the object."""
    finger = dataclasses.replace(FINGER, pad=PAD if pad else None)
    one = Gripper(finger=finger, directions_deg=even_directions(fingers), pitch_radius_mm=40.0)
    return fitted(one, held, task)


def one_line(found: GraspRun, seconds: float, **more: Any) -> dict[str, Any]:
    """A grasp as a row of the table."""
    return {
        **more,
        "outcome": found.verdict.outcome,
        "reason": found.verdict.reason,
        "partial": found.partial,
        "half_fingers": found.half_fingers,
        "groups": len(set(found.group.tolist())),
        "steps": len(found.phase),
        "corrections": found.solves,
        "payload_kg": "" if found.payload_kg is None else round(found.payload_kg, 4),
        "seconds": round(seconds, 2),
        "load_average": load_average(),
    }


def timed(fingers: int, held: Held, task: Task, mesh: str, *, pad: bool) -> dict[str, Any]:
    """One grasp, timed."""
    began = time.perf_counter()
    found = grasp(
        gripper(fingers, held, task, pad=pad), held, task, LAW, BULK_MPA,
        mesh_settings=mesh_settings(mesh),
    )  # fmt: skip
    return one_line(
        found, time.perf_counter() - began, object=held.record.name, fingers=fingers, pad=pad,
        mesh=mesh,
    )  # fmt: skip


def drawn(count: int, seed: int) -> Iterator[tuple[int, Held, Task, dict[str, Any]]]:
    """Random objects, places, pressures and finger counts; the last part goes into the table."""
    random = np.random.default_rng(seed)
    for number in range(count):
        name, shape, sizes = OBJECTS[random.integers(len(OBJECTS))]
        scale = random.uniform(0.6, 1.4)
        sizes = {k: v * scale for k, v in sizes.items()}
        held = ready(
            record(
                name, shape, sizes,
                mass_g=float(10 ** random.uniform(1.0, 3.0)),
                friction_coefficient=float(random.uniform(0.1, 0.9)),
            )
        )  # fmt: skip
        centred = random.random() < 0.6
        task = Task(
            pressure_mpa=float(random.uniform(0.04, 0.18)),
            offset_mm=(0.0, 0.0) if centred else tuple(random.uniform(-3, 3, 2)),
            turn_deg=0.0 if centred else float(random.uniform(0, 90)),
            tips_below_middle_mm=float(random.uniform(-5, 20)),
            shake_m_per_s2=float(random.uniform(0, 15)),
        )
        told = {"grasp": number, "centred": centred, "scale": round(scale, 3)}
        yield int(random.integers(2, 7)), held, task, told


def random_grasps(count: int, skip: int, mesh: str, seed: int) -> Iterator[dict[str, Any]]:
    """The drawn grasps after the first ``skip``, each with its estimate and its full run."""
    settings = mesh_settings(mesh)
    motion = finger_motion(FINGER, LAW, BULK_MPA, np.linspace(0.02, 0.18, 9), settings)
    for fingers, held, task, told in itertools.islice(drawn(count, seed), skip, None):
        one = gripper(fingers, held, task)
        began = time.perf_counter()
        guess = estimate(motion, one, held, task)
        found = grasp(one, held, task, LAW, BULK_MPA, mesh_settings=settings)
        row = one_line(
            found, time.perf_counter() - began, **told, object=held.record.name, fingers=fingers,
            pressure_kpa=round(1e3 * task.pressure_mpa, 1), mass_g=round(held.record.mass_g, 1),
            friction=round(held.record.friction_coefficient, 3),
            estimate_outcome=guess.verdict.outcome, estimate_reason=guess.verdict.reason,
            estimate_payload_kg=round(guess.payload_kg, 4),
        )  # fmt: skip
        yield row
        print(told["grasp"], row["object"], fingers, row["outcome"], row["reason"],
              row["partial"], row["seconds"], flush=True)  # fmt: skip
        if found.verdict.reason not in REASONS:
            raise SystemExit(f"grasp {told['grasp']} ended without a known reason")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run what was asked for, and write it down."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--mesh", default="preview", help="preview, standard or fine")
    parser.add_argument("--grasps", type=int, default=0)
    parser.add_argument("--skip", type=int, default=0, help="random grasps already known")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--table", action="store_true")
    parser.add_argument("--results", type=Path, default=RESULTS)
    asked = parser.parse_args(arguments)
    task = Task(pressure_mpa=PRESSURE_MPA)
    ball = ready(record(*OBJECTS[0]))
    rows = []
    for turn in ("first, compiling", "again"):
        row = timed(3, ball, task, asked.mesh, pad=False)
        rows.append({"what": f"three fingers, ball, {turn}", **row})
        print(rows[-1], flush=True)
        write_table(asked.results / "grasping.csv", rows, PACKAGES)
    if asked.table:
        began = time.perf_counter()
        for name, shape, sizes in OBJECTS:
            held = ready(record(name, shape, sizes))
            for fingers in range(2, 7):
                for pad in (False, True):
                    row = timed(fingers, held, task, asked.mesh, pad=pad)
                    rows.append({"what": "table", **row})
                    print(rows[-1], flush=True)
                    write_table(asked.results / "grasping.csv", rows, PACKAGES)
        print(f"table: {time.perf_counter() - began:.0f} s")
    if asked.grasps:
        lines: list[dict[str, Any]] = []
        for row in random_grasps(asked.grasps, asked.skip, asked.mesh, asked.seed):
            lines.append(row)
            write_table(asked.results / "grasping_random.csv", lines, PACKAGES)
        print(collections.Counter((r["outcome"], r["reason"]) for r in lines))
        right = [r["outcome"] == r["estimate_outcome"] for r in lines]
        print(f"the estimate has the outcome right in {sum(right)} of {len(right)}")
    print(jax.devices()[0].device_kind, "jax", jax.__version__)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())

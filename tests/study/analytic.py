"""Stand-in trials: closed forms of a design's sizes, so that a study runs in milliseconds."""

from __future__ import annotations

import math
import os
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

from fiddlehead.fabricate.process import Process
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.mesh.settings import MeshSettings, mesh_settings
from fiddlehead.study.catalogue import Found, TrialKind
from fiddlehead.study.pattern import Design, Pattern
from fiddlehead.study.running import Task
from fiddlehead.study.space import Choice, Range, Space

FINGER = FingerParameters(
    bellows_count=2, flank_angle_deg=90.0, pitch_mm=8.0, valley_gap_mm=2.0, height_mm=12.0,
    valley_height_mm=5.0, wall_thickness_mm=1.2, roof_thickness_mm=1.2, base_thickness_mm=2.0,
    side_wall_thickness_mm=1.2, width_mm=12.0, channel_width_mm=4.0, root_length_mm=5.0,
    tip_length_mm=4.0, inlet_bore_mm=2.0,
)  # fmt: skip
PATTERN = Pattern(
    finger=FINGER,
    law_name="yeoh",
    constants={"c10_mpa": 1.9, "c20_mpa": -0.11, "c30_mpa": 0.01},
    bulk_modulus_mpa=1000.0,
    density_g_per_cm3=1.2,
    working_pressure_kpa=100.0,
    process=Process(),
)
SPACE = Space(
    (
        Range("wall_thickness_mm", 0.8, 1.6),
        Range("base_thickness_mm", 1.2, 3.0),
        Choice("bellows_count", (2, 3)),
    )
)
KIND = TrialKind(
    "analytic",
    {"softness": "Falls with the walls.", "stress": "Rises as the base grows."},
    "tests.study.analytic",
    with_slopes=(),
)
MESH = mesh_settings("preview")


def softness(wall: float, base: float, bellows: int) -> float:
    """Smooth and curved in all three."""
    return bellows * math.exp(-wall) / (1.0 + 0.3 * base**2)


def measure(designs: Sequence[Design], mesh: MeshSettings) -> Iterator[tuple[int, Found]]:
    """Both numbers; the environment may ask for a pause, or for the process to die once."""
    pause = float(os.environ.get("ANALYTIC_PAUSE_S", "0"))
    flag = os.environ.get("ANALYTIC_DIE_ONCE")
    for place, design in enumerate(designs):
        if pause:
            time.sleep(pause)
        if flag and place == 1:
            try:
                Path(flag).unlink()
            except FileNotFoundError:
                pass
            else:
                os._exit(9)
        f = design.finger
        soft = softness(f.wall_thickness_mm, f.base_thickness_mm, f.bellows_count)
        stress = f.base_thickness_mm * (1.0 + 0.2 * math.sin(5.0 * f.wall_thickness_mm))
        if f.wall_thickness_mm > 1.55:
            yield place, Found({"softness": soft}, "analytic: too stiff to press")
        else:
            yield place, Found({"softness": soft, "stress": stress})


def task(name: str = "demo") -> Task:
    """A study of the stand-in."""
    return Task(name, PATTERN, (KIND,), "preview", MESH)

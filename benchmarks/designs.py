"""Random fingers for the benchmarks: seeded, so that a run can be repeated design by design."""

from __future__ import annotations

import dataclasses

import numpy as np
from scipy.stats import qmc

from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.material.laws import Yeoh

DEMO = FingerParameters(
    bellows_count=7, flank_angle_deg=70.0, pitch_mm=11.0, valley_gap_mm=1.6, height_mm=18.0,
    valley_height_mm=8.0, wall_thickness_mm=1.2, roof_thickness_mm=1.2, base_thickness_mm=2.0,
    side_wall_thickness_mm=1.2, width_mm=20.0, channel_width_mm=8.0, root_length_mm=10.0,
    tip_length_mm=5.0, inlet_bore_mm=4.0,
)  # fmt: skip
"""The finger of the demo project."""
LAW = Yeoh(1.9, -0.11, 0.01)
"""Close to the law the demo project fits, MPa."""
BULK_MPA = 1000.0
WORKING_PRESSURE_MPA = 0.15

BOX = {
    "flank_angle_deg": (40.0, 90.0),
    "pitch_mm": (4.0, 25.0),
    "valley_gap_mm": (0.6, 5.0),
    "height_mm": (8.0, 35.0),
    "valley_height_mm": (3.0, 20.0),
    "wall_thickness_mm": (0.8, 2.4),
    "roof_thickness_mm": (0.8, 3.0),
    "base_thickness_mm": (0.8, 6.0),
    "side_wall_thickness_mm": (0.8, 3.0),
    "width_mm": (10.0, 40.0),
    "channel_width_mm": (2.0, 38.0),
    "root_length_mm": (4.0, 40.0),
    "tip_length_mm": (1.0, 20.0),
}
"""The usual ranges of the project file."""


def around_demo(count: int, share: float = 0.15, seed: int = 0) -> list[FingerParameters]:
    """Fingers whose sizes lie within ``share`` of the demo's."""
    box = {
        name: (getattr(DEMO, name) * (1 - share), getattr(DEMO, name) * (1 + share)) for name in BOX
    }
    return _drawn(DEMO, box, count, seed)


def in_the_box(count: int, bellows: int, seed: int = 0) -> list[FingerParameters]:
    """Fingers from all of the project file's usual ranges."""
    return _drawn(dataclasses.replace(DEMO, bellows_count=bellows), BOX, count, seed)


def _drawn(
    pattern: FingerParameters, box: dict[str, tuple[float, float]], count: int, seed: int
) -> list[FingerParameters]:
    """Designs without contradictions, by a scrambled Sobol sequence over the box."""
    low, high = np.array(list(box.values())).T
    sampler = qmc.Sobol(len(box), seed=seed)
    found: list[FingerParameters] = []
    while len(found) < count:
        for row in low + sampler.random(1024) * (high - low):
            drawn = dataclasses.replace(
                pattern, **{name: float(v) for name, v in zip(box, row, strict=True)}
            )
            if not drawn.problems():
                found.append(drawn)
    return found[:count]

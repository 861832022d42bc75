"""Measurements made up by formula, so that every reduction has a known answer."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from fiddlehead.bench.records import BenchRecord

PEAK_KPA = 150.0


def bending(
    finger: str = "A",
    repeat: int = 1,
    *,
    gain: float = 0.6,
    hysteresis_deg: float = 4.0,
    set_deg: float = 0.0,
    cycles: int = 1,
    noise_deg: float = 0.0,
    seed: int = 0,
    definition: str = "tip tangent",
) -> BenchRecord:
    """Slow triangles of pressure at 1 kPa per sample; angle = gain * p, more on the way down.

    On the way down the angle lies higher by ``hysteresis_deg`` in the middle, and by ``set_deg``
    at the end of the first cycle.
    """
    up = np.arange(0.0, PEAK_KPA + 0.5)
    down = up[::-1][1:]
    arch = 4.0 * (down / PEAK_KPA) * (1.0 - down / PEAK_KPA)
    pressure, angle = [], []
    for number in range(cycles):
        start = set_deg if number else 0.0
        pressure += [up if number == 0 else up[1:], down]
        falling = gain * down + hysteresis_deg * arch + set_deg * (1.0 - down / PEAK_KPA)
        rising = gain * up + start * (1.0 - up / PEAK_KPA)
        angle += [rising if number == 0 else rising[1:], falling]
    p, a = np.concatenate(pressure), np.concatenate(angle)
    a = a + noise_deg * np.random.default_rng(seed).standard_normal(len(a))
    return BenchRecord(
        test="bend",
        finger=finger,
        repeat=repeat,
        values={"time_s": 0.5 * np.arange(len(p)), "pressure_kpa": p, "angle_deg": a},
        angle_definition=definition,
        source="made.csv",
    )


def write_csv(path: Path, header: str, *columns: object, mark: str = ",") -> Path:
    """A file of columns as a logger writes it."""
    rows = [header] + [mark.join(str(cell) for cell in row) for row in zip(*columns, strict=True)]
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return path

"""A pressure history cut into rising and falling branches, and curves put on common pressures."""

from __future__ import annotations

from itertools import pairwise
from typing import NamedTuple

import numpy as np
from jaxtyping import Float, Int

TURN = 0.15
"""A change of direction counts once the pressure has come back by this part of its range."""


class Branch(NamedTuple):
    """One way up or down: sample numbers from turning point to turning point."""

    direction: str
    cycle: int
    samples: Int[np.ndarray, " sample"]


def split_branches(pressure_kpa: Float[np.ndarray, " sample"]) -> list[Branch]:
    """Rising and falling stretches in order; cycle 1 starts with the first way up.

    Turning points are found with a dead band of 15 % of the range, so noise and dwells make none.
    """
    turns = turning_points(pressure_kpa, TURN * float(np.ptp(pressure_kpa)))
    branches: list[Branch] = []
    cycle = 0
    for start, end in pairwise(turns):
        up = pressure_kpa[end] > pressure_kpa[start]
        cycle += int(up)
        samples = np.arange(start, end + 1)
        branches.append(Branch("up" if up else "down", max(cycle, 1), samples))
    return branches


def turning_points(values: Float[np.ndarray, " sample"], dead_band: float) -> list[int]:
    """Sample numbers of first extreme, turning points and last extreme (a zig-zag filter)."""
    turns: list[int] = []
    high = low = direction = 0
    for at in range(1, len(values)):
        high = at if values[at] > values[high] else high
        low = at if values[at] < values[low] else low
        if direction >= 0 and values[high] - values[at] > dead_band:
            turns.append(high)
            direction, low = -1, at
        elif direction <= 0 and values[at] - values[low] > dead_band:
            turns.append(low)
            direction, high = 1, at
    if direction:
        turns.append(high if direction > 0 else low)
    return turns


def at_pressures(
    pressure_kpa: Float[np.ndarray, " sample"],
    values: Float[np.ndarray, " sample"],
    grid_kpa: Float[np.ndarray, " grid"],
) -> Float[np.ndarray, " grid"]:
    """``values`` at the pressures of ``grid_kpa``; NaN where nothing was measured near.

    Where samples are dense, a straight line through those within half a grid step (least
    squares) takes out noise; elsewhere neighbours are interpolated linearly. Never extrapolates
    by more than a quarter of a grid step.
    """
    step = float(np.median(np.diff(grid_kpa))) if len(grid_kpa) > 1 else 1.0
    order = np.argsort(pressure_kpa, kind="stable")
    p, v = pressure_kpa[order], values[order]
    result = np.full(len(grid_kpa), np.nan)
    for number, target in enumerate(grid_kpa):
        if not p[0] - 0.25 * step <= target <= p[-1] + 0.25 * step:
            continue
        near = np.abs(p - target) <= 0.5 * step
        if near.sum() >= 6 and np.ptp(p[near]) > 0.5 * step:
            _, level = np.polyfit(p[near] - target, v[near], 1)
            inside = p[near].min() <= target <= p[near].max()
            result[number] = level if inside else v[near][np.argmin(np.abs(p[near] - target))]
        elif near.sum() >= 3 and np.ptp(p[near]) < 0.2 * step:
            result[number] = float(v[near].mean())
        else:
            result[number] = float(np.interp(target, p, v))
    return result

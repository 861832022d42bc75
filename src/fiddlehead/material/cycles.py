"""Where a test turns round: cycles, loading branches, set and hysteresis of one specimen."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, Int

REVERSAL = 0.05
"""A way back of this share of the whole strain span counts as a reversal; less is noise."""

TOE_WINDOW = (0.01, 0.15)
"""Shares of the peak stress between which a branch is drawn back to zero stress."""


@dataclass(frozen=True)
class Branches:
    """Index of start, peak and end of one cycle (``end == peak`` if it was never unloaded)."""

    start: int
    peak: int
    end: int


def split_cycles(strain: Float[np.ndarray, " sample"]) -> list[Branches]:
    """Split a test into cycles at the turning points of its strain (loading is upward).

    A test that begins on the way down starts with its first valley.
    """
    turns = _turning_points(strain, REVERSAL * float(np.ptp(strain)))
    if len(turns) > 1 and strain[turns[1]] < strain[turns[0]]:
        turns = turns[1:]
    return [
        Branches(turns[i], turns[i + 1], turns[i + 2] if i + 2 < len(turns) else turns[i + 1])
        for i in range(0, len(turns) - 1, 2)
    ]


def _turning_points(strain: Float[np.ndarray, " sample"], threshold: float) -> list[int]:
    """First sample, every extreme left by more than ``threshold``, last extreme."""
    lowest = highest = 0
    direction = 0
    turns: list[int] = []
    for i, value in enumerate(strain):
        if value > strain[highest]:
            highest = i
        if value < strain[lowest]:
            lowest = i
        if direction >= 0 and value < strain[highest] - threshold:
            if direction == 0 and highest > 0:
                turns.append(0)
            turns.append(highest)
            direction, lowest = -1, i
        elif direction <= 0 and value > strain[lowest] + threshold:
            turns.append(lowest)
            direction, highest = 1, i
    turns.append(highest if direction >= 0 else lowest)
    return turns


def first_pull(
    strain: Float[np.ndarray, " sample"], cycles: list[Branches]
) -> Int[np.ndarray, " chosen"]:
    """Samples of the virgin curve: the first loading, and later ones beyond all strain so far."""
    chosen = [np.arange(cycles[0].start, cycles[0].peak + 1)]
    reached = float(strain[cycles[0].peak])
    margin = 0.5 * REVERSAL * float(np.ptp(strain))
    for cycle in cycles[1:]:
        rows = np.arange(cycle.start, cycle.peak + 1)
        beyond = rows[strain[rows] > reached + margin]
        if len(beyond):
            chosen.append(beyond)
            reached = float(strain[cycle.peak])
    return np.concatenate(chosen)


def toe_strain(strain: Float[np.ndarray, " sample"], stress: Float[np.ndarray, " sample"]) -> float:
    """Strain at which a loading branch begins to carry stress.

    The branch between 1 % and 15 % of its peak stress is drawn back to zero by a parabola, strain
    over stress (toe compensation as in ASTM D638 annex A1, bent because elastomers have no straight
    part; window and parabola are common practice, no source).
    """
    low, high = (share * float(stress.max()) for share in TOE_WINDOW)
    slack = np.flatnonzero(stress < low)
    first = int(slack[-1]) + 1 if len(slack) else 0
    rows = np.arange(first, len(stress))
    rows = rows[stress[rows] <= high]
    if len(rows) < 2:
        rows = np.arange(first, min(first + 2, len(stress)))
    if len(rows) < 2 or np.ptp(stress[rows]) == 0.0:
        return float(strain[0])
    degree = 2 if len(rows) >= 5 else 1
    return float(np.polyfit(stress[rows], strain[rows], degree)[-1])


def hysteresis_loss(
    strain: Float[np.ndarray, " sample"], stress: Float[np.ndarray, " sample"], cycle: Branches
) -> float:
    """Share of the work of loading that unloading does not give back; NaN if never unloaded."""
    up, down = slice(cycle.start, cycle.peak + 1), slice(cycle.peak, cycle.end + 1)
    work = float(np.trapezoid(stress[up], strain[up]))
    if cycle.end == cycle.peak or work <= 0.0:
        return float("nan")
    return 1.0 + float(np.trapezoid(stress[down], strain[down])) / work

"""Bending and blocked-force records to curves: branches, hysteresis, set, and scatter."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import numpy as np
from jaxtyping import Float

from fiddlehead.bench.branches import at_pressures, split_branches
from fiddlehead.bench.records import BenchRecord, Spread
from fiddlehead.errors import CurveError


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class Cycle:
    """One way up and the way down after it, on common pressures."""

    finger: str
    repeat: int
    pressure_kpa: Float[np.ndarray, " grid"]
    up: Float[np.ndarray, " grid"]
    down: Float[np.ndarray, " grid"]
    """NaN throughout when the pressure was not lowered again in the record."""
    hysteresis_percent: float
    """Largest distance of the branches over the range of the values; NaN without a way down."""
    set_after: float
    """Value at the end of the way down less that at the start; NaN unless both are near rest."""


def cycles_of(
    record: BenchRecord, quantity: str, grid_kpa: Float[np.ndarray, " grid"]
) -> list[Cycle]:
    """The cycles of one record.

    Parameters
    ----------
    quantity : ``angle_deg``, ``force_n`` ...

    Raises
    ------
    CurveError : the pressure never rises
    """
    pressure, values = record.values["pressure_kpa"], record.values[quantity]
    branches = split_branches(pressure)
    found = []
    for number, branch in enumerate(branches):
        if branch.direction != "up":
            continue
        after = branches[number + 1] if number + 1 < len(branches) else None
        up = at_pressures(pressure[branch.samples], values[branch.samples], grid_kpa)
        down = np.full(len(grid_kpa), np.nan)
        set_after = np.nan
        if after is not None:
            down = at_pressures(pressure[after.samples], values[after.samples], grid_kpa)
            rest = 0.05 * float(pressure.max())
            first, last = branch.samples[0], after.samples[-1]
            if pressure[first] <= rest and pressure[last] <= rest:
                set_after = float(values[last] - values[first])
        apart = np.abs(up - down)
        reach = float(np.nanmax(up) - np.nanmin(up)) if np.isfinite(up).any() else np.nan
        found.append(
            Cycle(
                finger=record.finger,
                repeat=record.repeat,
                pressure_kpa=grid_kpa,
                up=up,
                down=down,
                hysteresis_percent=100.0 * float(np.nanmax(apart)) / reach
                if np.isfinite(apart).any() and reach > 0
                else np.nan,
                set_after=set_after,
            )
        )
    if not found:
        raise CurveError(
            "the pressure never rises in this record",
            where=f"{record.source}, finger {record.finger}",
            remedy="Record from zero pressure upwards.",
        )
    return found


def tared(record: BenchRecord, quantity: str) -> BenchRecord:
    """The record with the mean of ``quantity`` at rest (below 2 % of the top pressure) taken off.

    Unchanged, with a remark, where nothing was recorded at rest before the pressure rose.
    """
    pressure = record.values["pressure_kpa"]
    above = np.flatnonzero(pressure > 0.02 * pressure.max())
    start = int(above[0]) if len(above) else 0
    if start == 0:
        return dataclasses.replace(
            record, remarks=(*record.remarks, f"{quantity} could not be zeroed: no sample at rest")
        )
    zero = float(record.values[quantity][:start].mean())
    values = {**record.values, quantity: record.values[quantity] - zero}
    return dataclasses.replace(record, values=values)


def spread_of(
    cycles: Sequence[Cycle], quantity: str, *, branch: str = "up", definition: str = ""
) -> Spread:
    """Mean and scatter, n fingers and n repeats kept apart.

    Every cycle counts as a repeat of its finger. Fingers weigh the same however often each was
    measured.
    """
    grid = cycles[0].pressure_kpa
    fingers = tuple(dict.fromkeys(cycle.finger for cycle in cycles))
    by_finger = [
        np.array([_branch(cycle, branch) for cycle in cycles if cycle.finger == finger])
        for finger in fingers
    ]
    each = np.array([_mean(curves) for curves in by_finger])
    residual = sum((np.nan_to_num(curves - _mean(curves)) ** 2).sum(0) for curves in by_finger)
    freedom = sum(np.maximum(np.isfinite(curves).sum(0) - 1, 0) for curves in by_finger)
    counted = np.isfinite(each).sum(0)
    middle = _mean(each)
    between = np.nansum((each - middle) ** 2, axis=0)
    with np.errstate(invalid="ignore", divide="ignore"):
        sd_repeats = np.where(freedom > 0, np.sqrt(residual / freedom), np.nan)
        sd_fingers = np.where(counted > 1, np.sqrt(between / (counted - 1)), np.nan)
    return Spread(
        quantity=quantity,
        branch=branch,
        definition=definition,
        pressure_kpa=grid,
        mean=middle,
        sd_fingers=sd_fingers,
        sd_repeats=sd_repeats,
        fingers=fingers,
        repeats=tuple(len(curves) for curves in by_finger),
        each=each,
    )


def _branch(cycle: Cycle, branch: str) -> Float[np.ndarray, " grid"]:
    if branch != "both":
        return cycle.up if branch == "up" else cycle.down
    return _mean(np.array([cycle.up, cycle.down]))


def _mean(curves: Float[np.ndarray, "curve grid"]) -> Float[np.ndarray, " grid"]:
    """Mean of what is finite; NaN where nothing is."""
    good = np.isfinite(curves)
    count = good.sum(0)
    total = np.where(good, curves, 0.0).sum(0)
    return np.where(count > 0, total / np.maximum(count, 1), np.nan)


def grid_to(pressure_kpa: float, steps: int = 10) -> Float[np.ndarray, " grid"]:
    """Equally spaced pressures from zero, kPa."""
    return np.linspace(0.0, pressure_kpa, steps + 1)

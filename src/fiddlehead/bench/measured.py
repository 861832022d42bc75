"""All measurements of a project reduced at once: one look at what the bench says."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from typing import TypeVar

import numpy as np
from jaxtyping import Float

from fiddlehead.air.cavity import Cavity
from fiddlehead.bench.counts import (
    MeanForce,
    SuccessRate,
    WeibullLife,
    pick_rates,
    pull_off,
    weibull_life,
)
from fiddlehead.bench.forces import HeldForce, LateralStiffness, held_force, lateral_stiffness
from fiddlehead.bench.leaks import LeakVerdict, TightnessLimits, judge_leak
from fiddlehead.bench.records import BenchRecord, Spread
from fiddlehead.bench.reduce import Cycle, cycles_of, spread_of, tared
from fiddlehead.bench.response import Creep, StepResponse, creep, step_response
from fiddlehead.errors import FiddleheadError


@dataclasses.dataclass(frozen=True, kw_only=True)
class Reduction:
    """How records are reduced.

    grid_kpa : gauge pressures the curves are put on
    conditioning_cycles : left out at the start of each record, as long as one is left
    """

    grid_kpa: Float[np.ndarray, " grid"]
    conditioning_cycles: int = 0
    hold_s: float = 10.0
    settle_s: float = 30.0
    cavity: Cavity | None = None
    supply_l_per_min: float | None = None
    limits: TightnessLimits = dataclasses.field(default_factory=TightnessLimits)


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class Measured:
    """Everything the records give. Empty where a test was not made."""

    records: tuple[BenchRecord, ...]
    cycles: dict[str, tuple[Cycle, ...]]
    """By name of the spread they belong to."""
    spreads: dict[str, Spread]
    """``bend_tip_tangent_up``, ``bend_chord_down``, ``block_0_deg_up`` ..."""
    held: tuple[HeldForce, ...]
    lateral: tuple[LateralStiffness, ...]
    steps: tuple[StepResponse, ...]
    creeps: tuple[Creep, ...]
    leaks: tuple[LeakVerdict, ...]
    life: WeibullLife | None
    picks: tuple[SuccessRate, ...]
    damage: tuple[SuccessRate, ...]
    pulls: tuple[MeanForce, ...]
    troubles: tuple[str, ...]
    """Records that could not be reduced, and why; the others are kept."""


def reduce_all(records: Sequence[BenchRecord], how: Reduction) -> Measured:
    """Reduce every record by its test; one that cannot be reduced costs only itself."""
    troubles: list[str] = []
    by_test: dict[str, list[BenchRecord]] = {}
    for record in records:
        by_test.setdefault(record.test, []).append(record)

    blocked = [tared(record, "force_n") for record in by_test.get("block", [])]
    cycles = _curves(by_test.get("bend", []), blocked, how, troubles)
    spreads: dict[str, Spread] = {}
    for name, members in cycles.items():
        quantity, definition = _parts(name)
        for branch in ("up", "down"):
            spread = spread_of(members, quantity, branch=branch, definition=definition)
            if np.isfinite(spread.mean).any():
                spreads[f"{name}_{branch}"] = spread
    slope = _slope(spreads)
    life = None
    if by_test.get("life"):
        try:
            life = _life(by_test["life"])
        except FiddleheadError as error:
            troubles.append(str(error))
    return Measured(
        records=tuple(records),
        cycles={name: tuple(members) for name, members in cycles.items()},
        spreads=spreads,
        held=_each(blocked, lambda r: [held_force(r, hold_s=how.hold_s)], troubles),
        lateral=_each(by_test.get("lateral", []), lateral_stiffness, troubles),
        steps=_each(by_test.get("step", []), lambda r: [step_response(r)], troubles),
        creeps=_each(by_test.get("creep", []), lambda r: [creep(r)], troubles),
        leaks=_each(by_test.get("leak", []), lambda r: [_leak(r, how, slope)], troubles),
        life=life,
        picks=tuple(pick_rates(by_test.get("picks", []))),
        damage=tuple(pick_rates(by_test.get("picks", []), "damaged")),
        pulls=tuple(pull_off(by_test.get("pull_off", []))),
        troubles=tuple(troubles),
    )


T = TypeVar("T")


def _each(
    records: Sequence[BenchRecord], reduce: Callable[[BenchRecord], list[T]], troubles: list[str]
) -> tuple[T, ...]:
    """Reductions of all records; one that fails is told in ``troubles``."""
    found: list[T] = []
    for record in records:
        try:
            found.extend(reduce(record))
        except FiddleheadError as error:
            troubles.append(str(error))
    return tuple(found)


def _curves(
    bends: Sequence[BenchRecord],
    blocks: Sequence[BenchRecord],
    how: Reduction,
    troubles: list[str],
) -> dict[str, list[Cycle]]:
    """Cycles by curve name."""
    cycles: dict[str, list[Cycle]] = {}
    for record in (*bends, *blocks):
        quantity = "angle_deg" if record.test == "bend" else "force_n"
        name = curve_name(record)
        try:
            found = cycles_of(record, quantity, how.grid_kpa)
            found = found[min(how.conditioning_cycles, len(found) - 1) :]
        except FiddleheadError as error:
            troubles.append(str(error))
            continue
        cycles.setdefault(name, []).extend(found)
    return cycles


def curve_name(record: BenchRecord) -> str:
    """``bend_tip_tangent``, ``bend_chord``, ``block_30_deg``: what may be averaged together."""
    if record.test == "bend":
        return f"bend_{record.angle_definition.replace(' ', '_')}"
    return f"block_{record.preset_angle_deg:g}_deg"


def curve_words(name: str) -> str:
    """A curve or branch name for readers: ``blocked force at 30°, rising``."""
    bare = name.removesuffix("_up").removesuffix("_down")
    branch = {"_up": ", rising", "_down": ", falling"}.get(name[len(bare) :], "")
    test, _, rest = bare.partition("_")
    if test == "block":
        return f"blocked force at {rest.removesuffix('_deg')}°{branch}"
    return f"bending angle, {rest.replace('_', ' ')}{branch}"


def _parts(name: str) -> tuple[str, str]:
    """Quantity and angle definition of a curve name."""
    test, _, definition = name.partition("_")
    if test == "block":
        return "force_n", ""
    return "angle_deg", definition.replace("_", " ")


def _slope(spreads: dict[str, Spread]) -> float | None:
    """Slope of the measured bending curve at its end, degrees per kPa."""
    for name, spread in spreads.items():
        if name.startswith("bend_tip") and name.endswith("_up"):
            good = np.isfinite(spread.mean)
            if good.sum() > 2:
                return float(np.gradient(spread.mean[good], spread.pressure_kpa[good])[-1])
    return None


def _leak(record: BenchRecord, how: Reduction, slope: float | None) -> LeakVerdict:
    pressure = float(record.values["pressure_kpa"].max())
    cavity = how.cavity or Cavity.rigid(1.0)
    if pressure > cavity.highest_kpa:
        cavity = extended(cavity, pressure)
    return judge_leak(
        record,
        cavity,
        settle_s=how.settle_s,
        supply_l_per_min=how.supply_l_per_min,
        angle_slope_deg_per_kpa=slope,
        limits=how.limits,
    )


def extended(cavity: Cavity, to_kpa: float) -> Cavity:
    """The cavity known to a little higher pressure, along its last slope."""
    p, v = cavity.pressure_kpa, cavity.volume_cm3
    slope = (v[-1] - v[-2]) / (p[-1] - p[-2])
    return Cavity(np.append(p, to_kpa), np.append(v, v[-1] + slope * (to_kpa - p[-1])))


def _life(records: Sequence[BenchRecord]) -> WeibullLife:
    """Each finger's last count; a finger that has not failed by then is a survivor."""
    cycles, failed = [], []
    for finger in dict.fromkeys(record.finger for record in records):
        counts = np.concatenate([r.values["cycles"] for r in records if r.finger == finger])
        flags = np.concatenate([r.values["failed"] for r in records if r.finger == finger])
        ended = flags > 0
        cycles.append(float(counts[ended].min() if ended.any() else counts.max()))
        failed.append(bool(ended.any()))
    return weibull_life(np.array(cycles), np.array(failed))

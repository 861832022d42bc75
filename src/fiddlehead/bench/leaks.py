"""The verdict on tightness: leak class and proof pressure, from records by the air room's rates.

The limits are our proposal (no published acceptance limit for soft grippers was found); they are
settings, and every verdict repeats them.
"""

from __future__ import annotations

import dataclasses
from typing import Literal

import numpy as np

from fiddlehead.air.cavity import Cavity
from fiddlehead.air.leak import SETTLE_S, Decay, LeakRate, in_leak_units, reduce_decay
from fiddlehead.air.reference import ROOM_K
from fiddlehead.bench.records import BenchRecord
from fiddlehead.errors import ParameterError
from fiddlehead.units import say

DROOP_S = 30.0
"""Time over which the droop of the angle counts."""


@dataclasses.dataclass(frozen=True, kw_only=True)
class TightnessLimits:
    """When a finger holds, when it serves with a live supply, what a proof test must show.

    All of it our proposal.
    """

    holds_percent_per_min: float = 1.0
    """Class A: fall of the gauge pressure per minute, valve shut."""
    supply_share_percent: float = 10.0
    """Class B: leak as a share of the supply's flow."""
    droop_deg: float = 2.0
    """Class B: fall of the angle in 30 s, valve shut."""
    proof_factor: float = 1.5
    """Proof pressure over working pressure."""
    proof_hold_s: float = 60.0
    proof_angle_change_deg: float = 2.0


LeakClass = Literal["A", "B", "C", "undecided"]


@dataclasses.dataclass(frozen=True, kw_only=True)
class LeakVerdict:
    """One decay record judged."""

    finger: str
    repeat: int
    rate: LeakRate
    units: dict[str, float]
    """The same leak in the units of other trades."""
    leak_class: LeakClass
    reason: str
    warnings: tuple[str, ...]


def judge_leak(
    record: BenchRecord,
    cavity: Cavity,
    *,
    settle_s: float = SETTLE_S,
    supply_l_per_min: float | None = None,
    angle_slope_deg_per_kpa: float | None = None,
    limits: TightnessLimits = TightnessLimits(),
) -> LeakVerdict:
    """Leak rate and class of one pressure decay.

    Parameters
    ----------
    record : with ``time_s``, ``pressure_kpa`` and, better, ``temperature_c``
    cavity : volume over pressure of finger and closed tubes
    supply_l_per_min : flow of pump or valve at the working pressure (ANR), for class B
    angle_slope_deg_per_kpa : slope of the bending curve there, for the droop

    Raises
    ------
    ParameterError : too few readings after settling, pressures beyond the known volumes
    """
    kelvin = record.values.get("temperature_c", np.full(len(record), np.nan)) + 273.15
    known = bool(np.isfinite(kelvin).all())
    if not known:
        kelvin = np.full(len(record), ROOM_K)
    decay = Decay(record.values["time_s"], record.values["pressure_kpa"], kelvin)
    try:
        rate = reduce_decay(decay, cavity, settle_s=settle_s)
    except ParameterError as error:
        raise ParameterError(
            error.message,
            where=f"{record.source}, finger {record.finger}",
            found=error.found,
            allowed=error.allowed,
            remedy=error.remedy,
        ) from error
    leak_class, reason = _class_of(rate, supply_l_per_min, angle_slope_deg_per_kpa, limits)
    return LeakVerdict(
        finger=record.finger,
        repeat=record.repeat,
        rate=rate,
        units=in_leak_units(rate.leak_cm3_per_min, rate.reference),
        leak_class=leak_class,
        reason=reason,
        warnings=tuple(_warnings(rate, known, cavity)),
    )


def _class_of(
    rate: LeakRate, supply: float | None, slope: float | None, limits: TightnessLimits
) -> tuple[LeakClass, str]:
    fall = f"{rate.percent_per_min:.2g} % of the gauge pressure per minute"
    if rate.percent_per_min <= limits.holds_percent_per_min:
        return "A", f"{fall}, {limits.holds_percent_per_min:g} % allowed"
    if supply is None or slope is None:
        return "undecided", (
            f"{fall}, above {limits.holds_percent_per_min:g} %: whether it is usable depends on "
            "the flow of the supply and the slope of the bending curve; give both"
        )
    share = 100.0 * rate.leak_cm3_per_min / (1e3 * supply)
    droop = abs(slope) * rate.decay_kpa_per_min * DROOP_S / 60.0
    told = (
        f"{fall}; {share:.2g} % of the supply ({limits.supply_share_percent:g} % allowed), angle "
        f"droops {droop:.2g}° in 30 s ({limits.droop_deg:g}° allowed)"
    )
    usable = share <= limits.supply_share_percent and droop <= limits.droop_deg
    return ("B" if usable else "C"), told


def _warnings(rate: LeakRate, temperature_known: bool, cavity: Cavity) -> list[str]:
    found = []
    if not rate.steady:
        found.append(
            f"early and late half differ ({say(rate.early_cm3_per_min, 'cm3')}/min and "
            f"{say(rate.late_cm3_per_min, 'cm3')}/min): the walls still settle; wait longer"
        )
    if not temperature_known:
        one_degree = (rate.mean_gauge_kpa + 101.325) / ROOM_K
        found.append(
            f"no temperature was recorded: a drift of 1 °C would look like {one_degree:.2g} kPa"
        )
    if len(cavity.volume_cm3) == 1:
        found.append("the volume was taken as rigid: a soft finger leaks more than this says")
    return found


@dataclasses.dataclass(frozen=True, kw_only=True)
class ProofTest:
    """One proof test as it was seen."""

    finger: str
    pressure_kpa: float
    hold_s: float
    ruptured: bool = False
    new_leak: bool = False
    angle_change_deg: float = 0.0
    """Angle at zero pressure afterwards less before."""


def judge_proof(
    proof: ProofTest, working_pressure_kpa: float, limits: TightnessLimits = TightnessLimits()
) -> tuple[bool, str]:
    """Whether the proof test allows ``working_pressure_kpa``, and why (not)."""
    wanted = limits.proof_factor * working_pressure_kpa
    faults = []
    if proof.ruptured:
        faults.append("it ruptured")
    if proof.new_leak:
        faults.append("a new leak showed")
    if proof.pressure_kpa < wanted * (1 - 1e-9):
        faults.append(f"{proof.pressure_kpa:g} kPa is below {wanted:g} kPa")
    if proof.hold_s < limits.proof_hold_s:
        faults.append(f"held {proof.hold_s:g} s instead of {limits.proof_hold_s:g} s")
    if abs(proof.angle_change_deg) > limits.proof_angle_change_deg:
        faults.append(
            f"the angle at rest changed by {proof.angle_change_deg:g}° "
            f"({limits.proof_angle_change_deg:g}° allowed)"
        )
    held = f"held {proof.pressure_kpa:g} kPa for {proof.hold_s:g} s"
    return not faults, "; ".join(faults) if faults else held

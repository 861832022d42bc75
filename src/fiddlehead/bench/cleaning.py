"""Faults of recording taken out of a record: the good part is kept, and every loss is told."""

from __future__ import annotations

import numpy as np
from jaxtyping import Bool, Float

from fiddlehead.bench.records import BenchRecord
from fiddlehead.errors import CurveError
from fiddlehead.units import counted

FEWEST_SAMPLES = 3
GAP = 20.0
"""A pause this many times longer than the usual sampling interval is told (our choice)."""
SPIKE_NOISE, SPIKE_RANGE = 8.0, 0.03
"""A lone sample this many times outside the noise, and this part of the range, is a dropout
(median filter after Hampel 1974, J. Am. Stat. Assoc. 69, 383; the two limits are our choice)."""
FROZEN_SAMPLES, FROZEN_MOVE = 8, 0.2
"""A value unchanged over so many samples while the pressure moves by this part of its range."""


def clean(record: BenchRecord, needed: tuple[str, ...]) -> BenchRecord:
    """Leave out empty cells, spikes, frozen stretches and what a jumping clock spoilt.

    Parameters
    ----------
    needed : names in ``values`` without which a sample is worth nothing

    Raises
    ------
    CurveError : fewer than three samples are left
    """
    for step in (_without_gaps, _rising_clock, _without_spikes, _without_frozen):
        record = step(record, needed)
        if len(record) < (1 if record.test in COUNTED else FEWEST_SAMPLES):
            raise CurveError(
                "too few good samples are left",
                where=f"{record.source}, finger {record.finger}, repeat {record.repeat}",
                found=f"{len(record)} ({'; '.join(record.remarks) or 'nothing left out'})",
                allowed=f"{FEWEST_SAMPLES} or more",
                remedy="Look at the raw file: sensor, wiring, declared columns.",
            )
    return record


COUNTED = ("life", "picks", "pull_off")
"""Tests whose rows are outcomes, not a course in time."""


def _without_gaps(record: BenchRecord, needed: tuple[str, ...]) -> BenchRecord:
    good = np.all([np.isfinite(record.values[name]) for name in needed], axis=0)
    lost = int((~good).sum())
    if not lost:
        return record
    missing = {n: int((~np.isfinite(record.values[n])).sum()) for n in needed}
    lacking = {name: count for name, count in missing.items() if count}
    worst = " or ".join(
        name if len(lacking) == 1 else f"{name} ({count})" for name, count in lacking.items()
    )
    return record.kept(np.flatnonzero(good), f"{lost} of {len(good)} samples without {worst}")


def _rising_clock(record: BenchRecord, needed: tuple[str, ...]) -> BenchRecord:
    time = record.values.get("time_s")
    if time is None or record.test in COUNTED or len(time) < FEWEST_SAMPLES:
        return record
    before, here, after = time[:-2], time[1:-1], time[2:]
    lone = (after > before) & ((here <= before) | (here >= after))
    keep = np.ones(len(time), bool)
    keep[1:-1] = ~lone
    if lone.any():
        record = record.kept(
            np.flatnonzero(keep), f"{int(lone.sum())} samples with a time stamp out of order"
        )
        time = record.values["time_s"]
    breaks = np.flatnonzero(np.diff(time) < 0)
    if len(breaks):
        edges = np.concatenate([[0], breaks + 1, [len(time)]])
        longest = int(np.argmax(np.diff(edges)))
        start, end = edges[longest], edges[longest + 1]
        back = float(time[breaks[0]] - time[breaks[0] + 1])
        record = record.kept(
            np.arange(start, end),
            f"the clock jumps back by {back:.4g} s; the longest run of {end - start} samples is "
            f"kept, {len(time) - (end - start)} are left out",
        )
        time = record.values["time_s"]
    steps = np.diff(time)
    usual = float(np.median(steps[steps > 0])) if (steps > 0).any() else 0.0
    if record.test == "bend" and usual:  # dwells between photos are no pauses
        usual = float(np.percentile(steps[steps > 0], 90))
    pauses = int((steps > GAP * usual).sum()) if usual else 0
    if pauses:
        worst = float(steps.max())
        return record.kept(
            np.arange(len(time)),
            f"{counted(pauses, 'pause')} in the record, the longest {worst:.4g} s where "
            f"{usual:.3g} s is usual: a clock that jumped ahead, or samples that were lost",
        )
    return record


def _without_spikes(record: BenchRecord, needed: tuple[str, ...]) -> BenchRecord:
    if record.test in COUNTED or record.test == "step":
        return record
    bad = np.zeros(len(record), bool)
    told = []
    for name in needed:
        if name in ("time_s", "deflection_mm"):
            continue
        found = spikes(record.values[name])
        if found.any():
            told.append(
                f"{counted(int(found.sum()), 'lone value')} of {name} far from the neighbours"
            )
        bad |= found
    return record.kept(np.flatnonzero(~bad), *told) if told else record


def spikes(values: Float[np.ndarray, " sample"]) -> Bool[np.ndarray, " sample"]:
    """Single samples far off neighbours that agree with each other (sensor dropouts)."""
    flagged = np.zeros(len(values), bool)
    if len(values) < 7:
        return flagged
    before, here, after = values[:-2], values[1:-1], values[2:]
    off = here - 0.5 * (before + after)
    noise = 1.4826 * float(np.median(np.abs(off - np.median(off))))
    reach = float(np.percentile(values, 95) - np.percentile(values, 5))
    limit = max(SPIKE_NOISE * noise, SPIKE_RANGE * reach)
    flagged[1:-1] = (np.abs(off) > limit) & (np.abs(after - before) < 0.5 * np.abs(off))
    return flagged


def _without_frozen(record: BenchRecord, needed: tuple[str, ...]) -> BenchRecord:
    pressure = record.values.get("pressure_kpa")
    if pressure is None or record.test not in ("bend", "block"):
        return record
    reach = float(np.ptp(pressure))
    keep = np.ones(len(record), bool)
    told = []
    for name in needed:
        if name in ("time_s", "pressure_kpa"):
            continue
        values = record.values[name]
        edges = np.flatnonzero(np.diff(values) != 0.0) + 1
        for run in np.split(np.arange(len(values)), edges):
            moved = float(np.ptp(pressure[run]))
            if len(run) >= FROZEN_SAMPLES and moved > FROZEN_MOVE * reach:
                keep[run[1:]] = False
                told.append(
                    f"{name} stands still over {len(run)} samples while the pressure moves by "
                    f"{moved:.4g} kPa: frozen sensor"
                )
    return record.kept(np.flatnonzero(keep), *told) if told else record

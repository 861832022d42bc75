"""Courses in time: step response of a valve that opens and shuts, and creep under held pressure."""

from __future__ import annotations

import dataclasses

import numpy as np
from jaxtyping import Float

from fiddlehead.bench.records import BenchRecord
from fiddlehead.errors import CurveError

SETTLED = 0.05
"""Settled means staying within 5 % of the change."""


@dataclasses.dataclass(frozen=True, kw_only=True)
class StepResponse:
    """How fast the finger follows. Times in s; NaN where the record does not show it."""

    finger: str
    repeat: int
    rise_s: float
    """From 10 to 90 % of the change of the angle."""
    pressure_rise_s: float
    """The same of the pressure at the finger."""
    delay_s: float
    """From 10 % of the pressure to 10 % of the angle."""
    overshoot_percent: float
    settling_s: float
    """From 10 % of the angle until it stays within 5 % of the change."""
    vent_s: float
    """From the fall of the pressure until 10 % of the angle is left."""
    sampling_hz: float
    remark: str = ""
    """Set when the sampling is too slow for the times above."""


def step_response(record: BenchRecord) -> StepResponse:
    """Reduce one valve-on, valve-off record with ``time_s``, ``pressure_kpa``, ``angle_deg``.

    Raises
    ------
    CurveError : there is no step in the pressure, or no plateau to measure against
    """
    time, pressure, angle = (
        record.values[name] for name in ("time_s", "pressure_kpa", "angle_deg")
    )
    where = f"{record.source}, finger {record.finger}, repeat {record.repeat}"
    start, end = _held(pressure, where)
    rest, plateau = _level(angle[: max(start, 1)]), _level(angle[start:end][-_tenth(end - start) :])
    p_rest = _level(pressure[: max(start, 1)])
    p_top = _level(pressure[start:end][-_tenth(end - start) :])
    if plateau == rest:
        raise CurveError("the angle does not move in this step", where=where)
    moved = (angle - rest) / (plateau - rest)
    pressed = (pressure - p_rest) / (p_top - p_rest)
    on = slice(max(start - 1, 0), end)
    t10, t90 = (crossing(time[on], moved[on], level) for level in (0.1, 0.9))
    p10, p90 = (crossing(time[on], pressed[on], level) for level in (0.1, 0.9))
    outside = np.flatnonzero(np.abs(moved[on] - 1.0) > SETTLED)
    settled = time[on][min(outside[-1] + 1, len(time[on]) - 1)] if len(outside) else time[on][0]
    vent = np.nan
    if end < len(time) - 2:
        vent = crossing(time[end - 1 :], -moved[end - 1 :], -0.1) - float(time[end - 1])
    sampling = 1.0 / float(np.median(np.diff(time)))
    rise = t90 - t10
    return StepResponse(
        finger=record.finger,
        repeat=record.repeat,
        rise_s=rise,
        pressure_rise_s=p90 - p10,
        delay_s=t10 - p10,
        overshoot_percent=100.0 * max(float(moved[on].max()) - 1.0, 0.0),
        settling_s=float(settled) - t10,
        vent_s=vent,
        sampling_hz=sampling,
        remark=f"only {rise * sampling:.1f} samples within the rise: film or log faster"
        if rise * sampling < 5.0
        else "",
    )


def _held(pressure: Float[np.ndarray, " sample"], where: str) -> tuple[int, int]:
    """First sample of the rise, and first sample of the fall (or the length)."""
    low, high = float(np.percentile(pressure, 2)), float(np.percentile(pressure, 98))
    above = np.flatnonzero(pressure > low + 0.05 * (high - low))
    if high <= low or not len(above) or above[0] == 0:
        raise CurveError(
            "no step in this record: it must begin at rest and then rise",
            where=where,
            found=f"{low:.4g} to {high:.4g} kPa",
            remedy="Start the record a moment before the valve opens.",
        )
    start = int(above[0])
    reached = start + int(np.argmax(pressure[start:] > low + 0.9 * (high - low)))
    fallen = np.flatnonzero(pressure[reached:] < low + 0.85 * (high - low))
    end = reached + int(fallen[0]) if len(fallen) else len(pressure)
    if end - start < 5:
        raise CurveError("the pressure is not held long enough to measure", where=where)
    return start, end


def crossing(
    time_s: Float[np.ndarray, " sample"], values: Float[np.ndarray, " sample"], level: float
) -> float:
    """First time ``values`` rises through ``level``, linearly interpolated; NaN if never."""
    above = np.flatnonzero(values >= level)
    if not len(above):
        return float("nan")
    at = int(above[0])
    if at == 0:
        return float(time_s[0])
    part = (level - values[at - 1]) / (values[at] - values[at - 1])
    return float(time_s[at - 1] + part * (time_s[at] - time_s[at - 1]))


def _level(values: Float[np.ndarray, " sample"]) -> float:
    return float(np.median(values))


def _tenth(count: int) -> int:
    return max(count // 5, 1)


@dataclasses.dataclass(frozen=True, kw_only=True)
class Creep:
    """Growth of the angle while the pressure is held."""

    finger: str
    repeat: int
    held_s: float
    from_s: float
    """Time after the start at which the first value was taken."""
    creep_percent: float
    """Growth from then to the end, of the first value."""
    per_decade_percent: float
    """Growth for each tenfold time, from a straight line over log time (least squares)."""


def creep(record: BenchRecord, *, from_s: float = 1.0) -> Creep:
    """Reduce one hold with ``time_s`` and ``angle_deg``; time counts from the first sample.

    Raises
    ------
    CurveError : the record ends before ``from_s``, or the angle starts at zero
    """
    time = record.values["time_s"] - record.values["time_s"][0]
    late = time >= from_s
    if late.sum() < 3:
        raise CurveError(
            "this hold is too short",
            where=f"{record.source}, finger {record.finger}",
            found=f"{time[-1]:.4g} s",
            allowed=f"more than {from_s:g} s",
        )
    t, angle = time[late], record.values["angle_deg"][late]
    slope, level = np.polyfit(np.log10(t / from_s), angle, 1)
    if abs(level) < 1e-9:
        raise CurveError("the angle starts at zero: nothing is held", where=record.source)
    return Creep(
        finger=record.finger,
        repeat=record.repeat,
        held_s=float(t[-1]),
        from_s=from_s,
        creep_percent=100.0 * float(slope * np.log10(t[-1] / from_s) / level),
        per_decade_percent=100.0 * float(slope / level),
    )

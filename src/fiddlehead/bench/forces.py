"""Blocked force (peak and after a hold) and out-of-plane stiffness."""

from __future__ import annotations

import dataclasses

import numpy as np

from fiddlehead.bench.records import BenchRecord
from fiddlehead.errors import CurveError

HOLD_S = 10.0
"""Time after reaching the pressure at which the held force is read; common practice, no source."""


@dataclasses.dataclass(frozen=True, kw_only=True)
class HeldForce:
    """Blocked force of one run at its highest pressure, N."""

    finger: str
    repeat: int
    pressure_kpa: float
    peak_n: float
    held_n: float
    """After the hold; NaN where the record has no clock or ends before."""
    relaxation_percent: float
    """Loss from peak to held, of the peak."""


def held_force(record: BenchRecord, *, hold_s: float = HOLD_S) -> HeldForce:
    """Peak and held force of one zeroed record with ``pressure_kpa`` and ``force_n``."""
    pressure, force = record.values["pressure_kpa"], record.values["force_n"]
    time = record.values.get("time_s")
    peak = float(force.max())
    held = np.nan
    if time is not None:
        reached = int(np.argmax(pressure >= 0.98 * pressure.max()))
        falls = np.flatnonzero(pressure[reached:] < 0.9 * pressure.max())
        end = reached + int(falls[0]) if len(falls) else len(pressure)
        moment = time[reached] + hold_s
        if end > reached + 1 and time[end - 1] >= moment:
            held = float(np.interp(moment, time[reached:end], force[reached:end]))
    return HeldForce(
        finger=record.finger,
        repeat=record.repeat,
        pressure_kpa=float(pressure.max()),
        peak_n=peak,
        held_n=held,
        relaxation_percent=100.0 * (peak - held) / peak if peak > 0 else np.nan,
    )


@dataclasses.dataclass(frozen=True, kw_only=True)
class LateralStiffness:
    """Sideways stiffness at the tip at one pressure."""

    finger: str
    repeat: int
    pressure_kpa: float
    stiffness_n_per_mm: float
    standard_error_n_per_mm: float
    """Of the slope (least squares, readings independent)."""
    twist_deg_per_n: float
    """NaN where no twist was read."""
    readings: int


def lateral_stiffness(record: BenchRecord) -> list[LateralStiffness]:
    """Slope of force over deflection at each pressure of one record.

    Without pressures all readings belong to 0 kPa. Pressures within 2 kPa count as one.

    Raises
    ------
    CurveError : no pressure has three readings of different deflection
    """
    from scipy.stats import linregress

    deflection, force = record.values["deflection_mm"], record.values["force_n"]
    pressure = record.values.get("pressure_kpa", np.zeros(len(force)))
    level = np.round(pressure / 2.0) * 2.0
    found = []
    for value in np.unique(level):
        here = level == value
        if here.sum() < 3 or np.ptp(deflection[here]) == 0.0:
            continue
        line = linregress(deflection[here], force[here])
        twist = record.values.get("twist_deg")
        turn = np.nan if twist is None else float(linregress(force[here], twist[here]).slope)
        found.append(
            LateralStiffness(
                finger=record.finger,
                repeat=record.repeat,
                pressure_kpa=float(pressure[here].mean()),
                stiffness_n_per_mm=float(line.slope),
                standard_error_n_per_mm=float(line.stderr),
                twist_deg_per_n=turn,
                readings=int(here.sum()),
            )
        )
    if not found:
        raise CurveError(
            "a stiffness needs three readings of different deflection at one pressure",
            where=f"{record.source}, finger {record.finger}",
            found=f"{len(force)} readings at {len(np.unique(level))} pressures",
        )
    return found

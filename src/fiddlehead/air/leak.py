"""Leak rate from pressure decay, with the two corrections a soft finger needs.

A finger is no rigid tank: while the pressure falls the cavity shrinks, which hides part of the
leak. And a degree of temperature moves the pressure as much as a small leak does. Both are gone
when the amount of air itself is followed: ``p V(p) / T``. Its slope is the leak.

Sources: mass balance ``n = p V / (R T)`` as in 40 CFR 1065.644; ideal gas.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float

from fiddlehead.air.catalogue import pinhole_mm
from fiddlehead.air.cavity import Cavity
from fiddlehead.air.reference import (
    ANR,
    ATMOSPHERE_KPA,
    GAS_CONSTANT,
    ROOM_K,
    STANDARD_0C,
    Reference,
    free_volume_cm3,
    restated,
)
from fiddlehead.errors import ParameterError

SETTLE_S = 30.0
"""Time to let temperature and elastomer settle first; common practice, no source."""
LEAST_CM3_PER_MIN = 1e-6
"""Leaks that differ by less are the same: rounding of numbers, far below what a gauge shows."""
STEADY_RATIO = 1.5
"""Early leak over late leak above which the record still settles; our proposal."""


def leak_from_drop(
    volume_cm3: float,
    drop_kpa: float,
    duration_s: float,
    *,
    temperature_k: float = ROOM_K,
    reference: Reference = ANR,
) -> float:
    """Leak of a rigid vessel from one pressure drop, cm³/min at ``reference``: ``V dp/dt``."""
    return (
        60.0 / duration_s * float(free_volume_cm3(drop_kpa, volume_cm3, temperature_k, reference))
    )


def temperature_corrected_kpa(
    absolute_kpa: Float[np.ndarray, " time"],
    temperature_k: Float[np.ndarray, " time"],
    base_k: float,
) -> Float[np.ndarray, " time"]:
    """Absolute pressures as they would read at ``base_k``: ``p T0 / T``, kPa."""
    return absolute_kpa * base_k / temperature_k


def compliance_factor(
    absolute_kpa: float, volume_cm3: float, compliance_cm3_per_kpa: float
) -> float:
    """True leak over the leak a rigid tank of the same volume would show: ``1 + (p/V) dV/dp``."""
    return 1.0 + absolute_kpa * compliance_cm3_per_kpa / volume_cm3


@dataclass(frozen=True, eq=False)
class Decay:
    """A pressure decay record, valve shut.

    Raises
    ------
    ParameterError : fewer than 3 readings, times that do not rise, a temperature in degrees
        Celsius, an absolute pressure that is not positive
    """

    time_s: Float[np.ndarray, " time"]
    gauge_kpa: Float[np.ndarray, " time"]
    temperature_k: Float[np.ndarray, " time"]
    """Of the air; that of the room if only this was read."""
    atmosphere_kpa: float = ATMOSPHERE_KPA

    def __post_init__(self) -> None:
        if len(self.time_s) < 3:
            _refuse("a slope needs 3 readings or more", f"{len(self.time_s)} readings")
        values = (self.time_s, self.gauge_kpa, self.temperature_k)
        if not all(np.isfinite(value).all() for value in values):
            _refuse("a reading is missing or no number", "nan")
        if not (np.diff(self.time_s) > 0).all():
            _refuse("times must rise", "a time that repeats or falls back")
        if float(self.temperature_k.min()) < 200.0:
            _refuse("temperatures are in kelvin", f"{self.temperature_k.min():g} K")
        if float(self.gauge_kpa.min()) + self.atmosphere_kpa <= 0:
            _refuse("a pressure below vacuum", f"{self.gauge_kpa.min():g} kPa gauge")

    @classmethod
    def at_room_temperature(
        cls, time_s: Float[np.ndarray, " time"], gauge_kpa: Float[np.ndarray, " time"]
    ) -> Decay:
        """A record without temperatures: 20 °C throughout."""
        return cls(time_s, gauge_kpa, np.full(len(time_s), ROOM_K))

    def after(self, start_s: float, end_s: float = float("inf")) -> Decay:
        """The part between two times counted from the first reading.

        Raises
        ------
        ParameterError : fewer than 3 readings are left
        """
        since = self.time_s - self.time_s[0]
        kept = (since >= start_s) & (since <= end_s)
        if np.count_nonzero(kept) < 3:
            _refuse(
                f"fewer than 3 readings between {start_s:g} and {end_s:g} s",
                f"{since[-1]:g} s recorded",
            )
        return Decay(
            self.time_s[kept], self.gauge_kpa[kept], self.temperature_k[kept], self.atmosphere_kpa
        )


@dataclass(frozen=True)
class LeakRate:
    """What a decay record says. Leaks in cm³/min at ``reference``, positive when air goes out."""

    leak_cm3_per_min: float
    standard_error_cm3_per_min: float
    """Of the fitted slope alone, readings taken as independent; sensors add theirs."""
    early_cm3_per_min: float
    late_cm3_per_min: float
    """First and second half of the record: equal for a leak, falling while the walls creep."""
    rigid_cm3_per_min: float
    """What ignoring the compliance of the walls would give."""
    decay_kpa_per_min: float
    """Fall of the gauge pressure, corrected to the first temperature."""
    percent_per_min: float
    """The same, of the mean gauge pressure."""
    mean_gauge_kpa: float
    duration_s: float
    pinhole_mm: float
    """One round hole that would leak as much, discharge coefficient 0.8."""
    reference: Reference

    @property
    def steady(self) -> bool:
        """Whether both halves agree, so that it is a leak and not settling."""
        gap = abs(self.early_cm3_per_min - self.late_cm3_per_min)
        allowed = max(
            (STEADY_RATIO - 1.0) * abs(self.late_cm3_per_min),
            6.0 * self.standard_error_cm3_per_min,
            LEAST_CM3_PER_MIN,
        )
        return gap <= allowed


def reduce_decay(
    decay: Decay, cavity: Cavity, *, settle_s: float = SETTLE_S, reference: Reference = ANR
) -> LeakRate:
    """Leak rate from a decay record, corrected for temperature and compliance.

    Parameters
    ----------
    cavity : volume over gauge pressure, tubes included; ``Cavity.rigid`` for a tank
    settle_s : readings before this time are left out

    Raises
    ------
    ParameterError : too few readings are left, or a pressure above those the cavity knows
    """
    used = decay.after(settle_s)
    minutes = (used.time_s - used.time_s[0]) / 60.0
    absolute = used.gauge_kpa + used.atmosphere_kpa
    volume = cavity.volume_at(used.gauge_kpa)
    amount = free_volume_cm3(absolute, volume, used.temperature_k, reference)
    rigid = free_volume_cm3(absolute, float(volume.mean()), used.temperature_k, reference)
    corrected = temperature_corrected_kpa(absolute, used.temperature_k, used.temperature_k[0])
    slope, error = _slope(minutes, amount)
    half = max(3, (len(minutes) + 1) // 2)
    fall = -_slope(minutes, corrected)[0]
    mean = float(used.gauge_kpa.mean())
    at_anr = float(restated(-slope, reference, ANR))
    return LeakRate(
        leak_cm3_per_min=-slope,
        standard_error_cm3_per_min=error,
        early_cm3_per_min=-_slope(minutes[:half], amount[:half])[0],
        late_cm3_per_min=-_slope(minutes[-half:], amount[-half:])[0],
        rigid_cm3_per_min=-_slope(minutes, rigid)[0],
        decay_kpa_per_min=fall,
        percent_per_min=100.0 * fall / mean if mean > 0 else 0.0,
        mean_gauge_kpa=mean,
        duration_s=float(used.time_s[-1] - used.time_s[0]),
        pinhole_mm=pinhole_mm(at_anr, mean, atmosphere_kpa=used.atmosphere_kpa),
        reference=reference,
    )


def in_leak_units(leak_cm3_per_min: float, reference: Reference = ANR) -> dict[str, float]:
    """The same leak in the units of other trades, by their written names."""
    power = leak_cm3_per_min / 60.0 * reference.pressure_kpa * 1e-3  # Pa m³/s at the reference
    return {
        "cm³/min ANR": restated(leak_cm3_per_min, reference, ANR),
        "std cm³/min (0 °C)": restated(leak_cm3_per_min, reference, STANDARD_0C),
        "Pa m³/s": power,
        "mbar L/s": 10.0 * power,
        "µmol/s": 1e6 * power / (GAS_CONSTANT * reference.temperature_k),
    }


def _slope(x: np.ndarray, y: np.ndarray) -> tuple[float, float]:
    """Least-squares slope and its standard error (two readings have none)."""
    from scipy.stats import linregress

    found = linregress(x, y)
    return float(found.slope), float(found.stderr)


def _refuse(message: str, found: str) -> None:
    raise ParameterError(
        message,
        where="decay record",
        found=found,
        remedy="Give time (s), gauge pressure (kPa) and temperature (K) of each reading, in order.",
    )

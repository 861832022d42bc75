"""Slips that numbers betray: swapped columns, mixed units, gauge and absolute confused."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from fiddlehead.bench.quantities import QUANTITIES
from fiddlehead.bench.records import BenchRecord
from fiddlehead.errors import CurveError
from fiddlehead.units import convert

FAR = 4.0
"""Beyond this factor from the working pressure another unit is looked for (our choice)."""
SMALLEST_JUMP = 1.7
"""Natural logarithm of the smallest ratio looked at below (psi to kPa is 1.93)."""
STARTS_AT_REST = ("bend", "block")
UNIT_CHANGES = (("bar", "kPa"), ("psi", "kPa"), ("bar", "psi"), ("MPa", "bar"))
OTHER_PRESSURE_UNITS = ("bar", "psi", "MPa", "mbar", "Pa", "kgf/cm2", "kPa")


def refuse_swapped_headers(columns: Mapping[str, str], where: str) -> None:
    """Two declared columns whose headers name each other's quantity.

    Parameters
    ----------
    columns : quantity to header, as declared

    Raises
    ------
    CurveError : the headers say they are swapped
    """
    for one, header in columns.items():
        for other, its_header in columns.items():
            if one >= other:
                continue
            mixed = _names(header, other) and _names(its_header, one)
            if mixed and not _names(header, one) and not _names(its_header, other):
                raise CurveError(
                    f"{one} and {other} look swapped",
                    where=where,
                    found=f"{one}_column = {header!r}, {other}_column = {its_header!r}",
                    remedy=f"Declare {one}_column = {its_header!r}, {other}_column = {header!r}.",
                )


def _names(header: str, quantity: str) -> bool:
    return any(word in header.lower() for word in QUANTITIES[quantity].words)


def refuse_swapped_time(record: BenchRecord) -> None:
    """A time that keeps falling while another column rises throughout.

    Raises
    ------
    CurveError : time and that column are swapped
    """
    time = record.values.get("time_s")
    if time is None or len(time) < 5:
        return
    falls = float((np.diff(time) < 0).mean())
    if falls < 0.2:
        return
    for name, values in record.values.items():
        good = values[np.isfinite(values)]
        if name != "time_s" and len(good) > 4 and (np.diff(good) > 0).all():
            raise CurveError(
                f"time goes up and down while {name} only rises: are the two columns swapped?",
                where=record.source,
                found=f"time falls in {100 * falls:.0f} % of the samples",
                remedy="Exchange the two column names in the declaration.",
            )


def refuse_odd_pressure(
    record: BenchRecord, *, kind: str, ambient_kpa: float, unit: str, expected_kpa: float | None
) -> None:
    """Pressures that only make sense as absolute ones, or in another unit.

    Parameters
    ----------
    record : with gauge pressures, after conversion
    kind, unit : as declared: ``gauge`` or ``absolute``, and the unit
    expected_kpa : the highest gauge pressure the test should reach, where known

    Raises
    ------
    CurveError : with the declaration that would make sense
    """
    pressure = record.values["pressure_kpa"]
    pressure = pressure[np.isfinite(pressure)]
    if not len(pressure):
        return
    low, high = float(np.percentile(pressure, 1)), float(np.percentile(pressure, 99))
    where = f"{record.source}, finger {record.finger}"
    if kind == "absolute" and low < -0.5 * ambient_kpa:
        raise CurveError(
            "too low for absolute pressures: these are gauge pressures",
            where=where,
            found=f"{low + ambient_kpa:.4g} kPa absolute",
            allowed=f"{ambient_kpa:.4g} kPa or a little less when the finger is open to the air",
            remedy='Declare pressure_kind = "gauge".',
        )
    starts_at_air = record.test in STARTS_AT_REST and abs(low - ambient_kpa) < 6.0
    wished = high - ambient_kpa if expected_kpa is None else expected_kpa
    fits_better = abs(high - ambient_kpa - wished) < abs(high - wished)
    if kind == "gauge" and starts_at_air and fits_better:
        raise CurveError(
            "the lowest pressure is that of the open air: these are absolute pressures",
            where=where,
            found=f"{low:.4g} to {high:.4g} kPa",
            remedy='Declare pressure_kind = "absolute".',
        )
    if expected_kpa and high > 0 and not 1 / FAR <= high / expected_kpa <= FAR:
        raw = high + (ambient_kpa if kind == "absolute" else 0.0)
        for other in OTHER_PRESSURE_UNITS:
            turned = convert(convert(raw, "kPa", unit), other, "kPa")
            turned -= ambient_kpa if kind == "absolute" else 0.0
            if other != unit and 0.5 <= turned / expected_kpa <= 2.0:
                raise CurveError(
                    "the pressures do not fit the test in this unit",
                    where=where,
                    found=f"up to {high:.4g} kPa where about {expected_kpa:.4g} kPa is expected",
                    remedy=f'If the instrument shows {other}, declare pressure_unit = "{other}".',
                )


def one_unit_throughout(record: BenchRecord) -> BenchRecord:
    """Keep the longer part of a record whose pressure jumps by just the ratio of two units, and
    leave out cycles that are lower than the others by such a ratio."""
    if record.test not in STARTS_AT_REST:
        return record
    record = _cycles_of_one_unit(record)
    good = np.flatnonzero(np.isfinite(record.values["pressure_kpa"]))
    pressure = record.values["pressure_kpa"][good]
    floor = max(0.005 * float(pressure.max(initial=0.0)), 1e-9)
    steps = np.abs(np.diff(np.log(np.maximum(pressure, floor))))
    for at in np.flatnonzero(steps > SMALLEST_JUMP) + 1:
        if not 3 <= at < len(pressure) - 3:
            continue
        before, after = np.median(pressure[at - 3 : at]), np.median(pressure[at : at + 3])
        if min(before, after) <= floor:
            continue
        ratio = max(after / before, before / after)
        near = (pressure[at - 1], pressure[at])
        sharp = max(near) / max(min(near), floor)
        for one, other in UNIT_CHANGES:
            size = abs(np.log(convert(1.0, one, other)))
            if abs(np.log(ratio) - size) < 0.35 and abs(np.log(sharp) - size) < 0.12:
                first = at >= len(pressure) - at
                kept = good[:at] if first else good[at:]
                return record.kept(
                    kept,
                    f"the pressure jumps by a factor {sharp:.3g} after sample {at}, as from {one} "
                    f"to {other}: only the {'first' if first else 'last'} {len(kept)} samples are "
                    "kept",
                )
    return record


def _cycles_of_one_unit(record: BenchRecord) -> BenchRecord:
    """A unit that changes while the finger rests shows in the height of whole cycles only."""
    pressure = np.nan_to_num(record.values["pressure_kpa"])
    top = float(pressure.max(initial=0.0))
    edges = np.flatnonzero(np.diff(np.r_[False, pressure > 0.005 * top, False].astype(int)))
    stretches = [slice(*pair) for pair in edges.reshape(-1, 2)]
    longest = max((s.stop - s.start for s in stretches), default=0)
    keep, told = np.ones(len(pressure), bool), []
    for stretch in stretches:
        high = float(pressure[stretch].max())
        for one, other in UNIT_CHANGES:
            ratio = abs(np.log(convert(1.0, one, other)))
            if (
                stretch.stop - stretch.start > 0.3 * longest
                and abs(np.log(top / high) - ratio) < 0.12
            ):
                keep[_rest_to_rest(pressure, stretch)] = False
                told.append(
                    f"samples {stretch.start + 1} to {stretch.stop} reach only {high:.3g} kPa, a "
                    f"factor {top / high:.3g} below the others, as from {one} to {other}: left out"
                )
                break
    return record.kept(np.flatnonzero(keep), *told) if told else record


def _rest_to_rest(pressure: np.ndarray, stretch: slice) -> slice:
    """The stretch with its own low pressures at both ends."""
    rest = pressure <= 0.005 * float(pressure[stretch].max())
    before, after = np.flatnonzero(rest[: stretch.start]), np.flatnonzero(rest[stretch.stop :])
    start = before[-1] + 1 if len(before) else 0
    return slice(start, stretch.stop + (after[0] if len(after) else len(rest)))


def odd_angles(record: BenchRecord, expected_kpa: float | None) -> BenchRecord:
    """Told: an angle that reaches just the working pressure's number while the pressure does not,
    as when the two columns are swapped."""
    angle, pressure = record.values.get("angle_deg"), record.values.get("pressure_kpa")
    if angle is None or pressure is None or not expected_kpa:
        return record
    if not (np.isfinite(angle).any() and np.isfinite(pressure).any()):
        return record
    high, reached = float(np.nanmax(angle)), float(np.nanmax(pressure))
    if abs(high / expected_kpa - 1.0) < 0.03 and abs(reached / expected_kpa - 1.0) > 0.2:
        return record.kept(
            np.arange(len(angle)),
            f"the angle reaches {high:.4g}, the number of the working pressure, and the pressure "
            f"only {reached:.4g} kPa: are the two columns swapped?",
        )
    return record

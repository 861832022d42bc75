"""Leak rate from pressure decay: corrections, units, refusals."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from fiddlehead.air.catalogue import hole
from fiddlehead.air.cavity import Cavity
from fiddlehead.air.leak import (
    Decay,
    compliance_factor,
    in_leak_units,
    leak_from_drop,
    reduce_decay,
    temperature_corrected_kpa,
)
from fiddlehead.air.reference import ANR, STANDARD_0C, free_volume_cm3
from fiddlehead.errors import ParameterError

SOFT = Cavity(np.array([0.0, 100.0, 200.0]), np.array([20.0, 23.0, 26.0]))
TIME = np.arange(0.0, 121.0, 1.0)


def leaking(cavity: Cavity, leak: float, temperature: np.ndarray, top: float = 150.0) -> Decay:
    """A made-up record: air leaves at a steady ``leak`` (cm³/min ANR) while the room drifts."""

    def amount(gauge: np.ndarray) -> np.ndarray:
        return np.asarray(free_volume_cm3(gauge + 101.325, cavity.volume_at(gauge), temperature))

    left = amount(np.full(len(TIME), top))[0] - leak * TIME / 60.0
    low, high = np.zeros(len(TIME)), np.full(len(TIME), 200.0)
    for _ in range(60):  # halvings: to the last digit
        middle = (low + high) / 2.0
        less = amount(middle) < left
        low, high = np.where(less, middle, low), np.where(less, high, middle)
    return Decay(TIME, high, temperature)


@settings(max_examples=20, deadline=None)  # imports scipy at the first call
@given(st.floats(0.0, 20.0), st.floats(-2.0, 2.0))
@example(0.0, 0.392578125)  # nothing leaks, and rounding alone must not look like settling
def test_leak_is_found_whatever_walls_and_room_do(leak: float, drift: float) -> None:
    record = leaking(SOFT, leak, 293.15 + drift * TIME / TIME[-1])
    found = reduce_decay(record, SOFT, settle_s=10.0)
    assert found.leak_cm3_per_min == pytest.approx(leak, abs=1e-6)
    assert found.early_cm3_per_min == pytest.approx(found.late_cm3_per_min, abs=1e-6)
    assert found.steady


def test_ignoring_the_walls_hides_leak_by_the_compliance_factor() -> None:
    record = leaking(SOFT, 1.0, np.full(len(TIME), 293.15))
    found = reduce_decay(record, SOFT, settle_s=0.0)
    factor = compliance_factor(250.0, 24.45, 0.03)
    assert factor == pytest.approx(1.31, abs=0.01)
    assert found.leak_cm3_per_min / found.rigid_cm3_per_min == pytest.approx(factor, rel=0.01)


def test_percent_and_decay_rate() -> None:
    record = Decay.at_room_temperature(TIME, 200.0 - 2.0 * TIME / 60.0)
    found = reduce_decay(record, Cavity.rigid(50.0), settle_s=0.0)
    assert found.decay_kpa_per_min == pytest.approx(2.0)
    assert found.percent_per_min == pytest.approx(100.0 * 2.0 / 198.0)
    assert found.leak_cm3_per_min == pytest.approx(1.0)  # 50 cm³ · 2 kPa / 100 kPa
    assert found.duration_s == 120.0
    back = 60.0 * float(hole("", found.pinhole_mm).flow_cm3_per_s(299.325, 101.325))
    assert back == pytest.approx(1.0, rel=1e-6)


def test_creep_shows_as_an_unsteady_record() -> None:
    gauge = 150.0 - 1.0 * (1.0 - np.exp(-TIME / 20.0)) - 0.2 * TIME / 60.0
    found = reduce_decay(Decay.at_room_temperature(TIME, gauge), Cavity.rigid(30.0), settle_s=0.0)
    assert not found.steady
    later = reduce_decay(Decay.at_room_temperature(TIME, gauge), Cavity.rigid(30.0), settle_s=90.0)
    assert later.leak_cm3_per_min < 0.5 * found.leak_cm3_per_min


def test_noise_widens_the_standard_error() -> None:
    noise = 0.05 * np.random.default_rng(1).standard_normal(len(TIME))
    quiet = Decay.at_room_temperature(TIME, 150.0 - TIME / 60.0)
    loud = Decay.at_room_temperature(TIME, 150.0 - TIME / 60.0 + noise)
    rigid = Cavity.rigid(30.0)
    error = reduce_decay(loud, rigid, settle_s=0.0).standard_error_cm3_per_min
    off = reduce_decay(loud, rigid, settle_s=0.0).leak_cm3_per_min - 0.3
    assert reduce_decay(quiet, rigid, settle_s=0.0).standard_error_cm3_per_min < 1e-10
    assert error == pytest.approx(0.3 * 0.05 / (11.0 * 2.0 / 12**0.5), rel=0.25)
    assert abs(off) < 3 * error


def test_the_reference_state_is_told_and_counts() -> None:
    record = Decay.at_room_temperature(TIME, 150.0 - TIME / 60.0)
    anr = reduce_decay(record, SOFT, reference=ANR)
    std = reduce_decay(record, SOFT, reference=STANDARD_0C)
    ratio = std.leak_cm3_per_min / anr.leak_cm3_per_min
    assert ratio == pytest.approx(100.0 / 101.325 * 273.15 / 293.15)
    assert std.pinhole_mm == pytest.approx(anr.pinhole_mm)
    assert std.reference.name.startswith("standard")


def test_leak_units_agree_with_each_other() -> None:
    told = in_leak_units(60.0)
    assert told["Pa m³/s"] == pytest.approx(0.1)
    assert told["mbar L/s"] == pytest.approx(1.0)
    assert told["µmol/s"] == pytest.approx(0.1 / (8.314462618 * 293.15) * 1e6)
    assert told["std cm³/min (0 °C)"] == pytest.approx(60.0 * 0.91959, rel=1e-4)


def test_single_drop_and_temperature() -> None:
    assert leak_from_drop(50.0, 2.0, 60.0) == pytest.approx(1.0)
    reading = temperature_corrected_kpa(np.array([150.0]), np.array([293.5]), 293.0)
    assert 150.0 - reading[0] == pytest.approx(0.2555, abs=1e-4)


BAD = {
    "too few": (TIME[:2], TIME[:2], TIME[:2] + 293.0),
    "back in time": (TIME[::-1], TIME, TIME + 293.0),
    "celsius": (TIME, TIME, np.full(len(TIME), 21.0)),
    "nan": (TIME, np.full(len(TIME), np.nan), TIME + 293.0),
    "below vacuum": (TIME, TIME - 200.0, TIME + 293.0),
}


@pytest.mark.parametrize("case", BAD)
def test_a_wrong_record_is_refused(case: str) -> None:
    with pytest.raises(ParameterError, match="decay record") as caught:
        Decay(*BAD[case])
    assert caught.value.remedy


def test_nothing_left_after_settling() -> None:
    record = Decay.at_room_temperature(TIME[:20], 150.0 - TIME[:20] / 60.0)
    with pytest.raises(ParameterError, match="fewer than 3 readings"):
        reduce_decay(record, SOFT)


def test_cavity_refuses_what_is_no_curve() -> None:
    with pytest.raises(ParameterError, match="rise from 0"):
        Cavity(np.array([10.0, 20.0]), np.array([1.0, 2.0]))
    with pytest.raises(ParameterError, match="no such volume"):
        Cavity.rigid(0.0)
    with pytest.raises(ParameterError, match="pairs"):
        Cavity(np.zeros(0), np.zeros(0))
    with pytest.raises(ParameterError, match="not known at this pressure"):
        SOFT.volume_at(np.array([250.0]))


def test_cavity_between_its_points() -> None:
    assert SOFT.volume_at(np.array([50.0, 200.0])) == pytest.approx([21.5, 26.0])
    assert SOFT.compliance_at(np.array([50.0])) == pytest.approx([0.03])
    three = SOFT.together(3, dead_volume_cm3=5.0)
    assert three.volume_at(np.array([0.0])) == pytest.approx([65.0])
    assert Cavity.rigid(7.0).compliance_at(np.array([900.0])) == pytest.approx([0.0])

"""Leak class, its two corrections, and proof tests."""

from __future__ import annotations

import numpy as np
import pytest

from fiddlehead.air.cavity import Cavity
from fiddlehead.bench.leaks import ProofTest, TightnessLimits, judge_leak, judge_proof
from fiddlehead.bench.records import BenchRecord
from fiddlehead.errors import ParameterError


def decay(leak_percent_per_min: float, *, drift_c: float = 0.0, cavity: Cavity) -> BenchRecord:
    """Air leaving at a steady rate from 150 kPa; ideal gas, volume after ``cavity``."""
    time = np.arange(0.0, 180.0, 2.0)
    kelvin = 295.0 + drift_c * time / 180.0
    start = float(251.325 * cavity.volume_at(np.array([150.0]))[0] / 295.0)
    lost = leak_percent_per_min / 100.0 * 150.0 / 251.325 / 60.0
    amount = start * (1.0 - lost * time)
    low, high = np.zeros(len(time)), np.full(len(time), 160.0)
    for _ in range(60):  # bisection of p V(p) / T = amount
        middle = 0.5 * (low + high)
        under = (middle + 101.325) * cavity.volume_at(middle) / kelvin < amount
        low, high = np.where(under, middle, low), np.where(under, high, middle)
    return BenchRecord(
        test="leak",
        finger="A",
        repeat=1,
        values={"time_s": time, "pressure_kpa": low, "temperature_c": kelvin - 273.15},
    )


SOFT = Cavity(np.array([0.0, 80.0, 200.0]), np.array([20.0, 22.4, 26.0]))


def test_a_soft_wall_hides_a_third_of_the_leak() -> None:
    record = decay(2.0, cavity=SOFT)
    right = judge_leak(record, SOFT).rate
    put_in = 2.0 / 100.0 * 150.0 / 251.325 * 251.325 * 24.5 / 295.0 * 293.15 / 100.0
    assert right.leak_cm3_per_min == pytest.approx(put_in, rel=2e-3)
    rigid = judge_leak(record, Cavity.rigid(24.5))
    assert rigid.rate.leak_cm3_per_min / right.leak_cm3_per_min == pytest.approx(0.76, abs=0.04)
    assert any("rigid" in warning for warning in rigid.warnings)


def test_a_warming_room_does_not_hide_the_leak() -> None:
    plain = judge_leak(decay(2.0, cavity=SOFT), SOFT).rate.leak_cm3_per_min
    warm = judge_leak(decay(2.0, drift_c=1.0, cavity=SOFT), SOFT).rate.leak_cm3_per_min
    assert warm == pytest.approx(plain, rel=1e-3)


def test_classes() -> None:
    tight = judge_leak(decay(0.5, cavity=SOFT), SOFT)
    assert tight.leak_class == "A"
    leaky = decay(8.0, cavity=SOFT)
    assert judge_leak(leaky, SOFT).leak_class == "undecided"
    fed = judge_leak(leaky, SOFT, supply_l_per_min=2.0, angle_slope_deg_per_kpa=0.3)
    assert fed.leak_class == "B"
    assert "droops" in fed.reason
    poor = judge_leak(leaky, SOFT, supply_l_per_min=0.02, angle_slope_deg_per_kpa=0.3)
    assert poor.leak_class == "C"
    strict = TightnessLimits(holds_percent_per_min=0.1)
    assert judge_leak(decay(0.5, cavity=SOFT), SOFT, limits=strict).leak_class != "A"


def test_short_records_are_told_with_their_finger() -> None:
    record = decay(1.0, cavity=SOFT)
    short = record.kept(np.arange(10))
    with pytest.raises(ParameterError, match="finger A"):
        judge_leak(short, SOFT)


def test_proof() -> None:
    good = ProofTest(finger="A", pressure_kpa=225.0, hold_s=60.0, angle_change_deg=1.0)
    assert judge_proof(good, 150.0) == (True, "held 225 kPa for 60 s")
    bad = ProofTest(
        finger="A", pressure_kpa=200.0, hold_s=20.0, new_leak=True, angle_change_deg=-3.0
    )
    passed, why = judge_proof(bad, 150.0)
    assert not passed
    for word in ("below 225 kPa", "instead of 60 s", "new leak", "changed by -3"):
        assert word in why

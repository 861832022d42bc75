"""Step response, creep, held force, sideways stiffness, pull-off: against closed forms."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from fiddlehead.bench.counts import pick_rates, pull_off
from fiddlehead.bench.forces import held_force, lateral_stiffness
from fiddlehead.bench.records import BenchRecord
from fiddlehead.bench.response import creep, step_response
from fiddlehead.errors import CurveError


def record(test: str, **values: np.ndarray) -> BenchRecord:
    """A record of finger A."""
    return BenchRecord(test=test, finger="A", repeat=1, values=values, source="made.csv")


def step(tau_s: float = 0.1, rate_hz: float = 500.0) -> BenchRecord:
    """Valve on at 1 s, off at 3 s; the angle follows with one time constant both ways."""
    time = np.arange(0.0, 5.0, 1.0 / rate_hz)
    on, off = np.maximum(time - 1.0, 0.0), np.maximum(time - 3.0, 0.0)
    angle = 60.0 * (1.0 - np.exp(-on / tau_s)) * np.exp(-off / tau_s)
    pressure = 150.0 * ((time >= 1.0) & (time < 3.0))
    return record("step", time_s=time, pressure_kpa=pressure, angle_deg=angle + 2.0)


def test_first_order_lag() -> None:
    found = step_response(step(0.1))
    assert found.rise_s == pytest.approx(0.1 * np.log(9.0), abs=1e-3)
    assert found.settling_s == pytest.approx(0.1 * (np.log(20.0) - np.log(1 / 0.9)), abs=4e-3)
    assert found.vent_s == pytest.approx(0.1 * np.log(10.0), abs=5e-3)
    assert found.overshoot_percent < 0.1
    assert found.remark == ""


def test_second_order_overshoot() -> None:
    """Damping 0.5: overshoot exp(-pi d / sqrt(1 - d^2)) = 16.3 %."""
    time = np.arange(0.0, 6.0, 0.002)
    t = np.maximum(time - 1.0, 0.0)
    d, w = 0.5, 20.0
    wd = w * np.sqrt(1.0 - d * d)
    y = 1.0 - np.exp(-d * w * t) * (np.cos(wd * t) + d * w / wd * np.sin(wd * t))
    found = step_response(
        record("step", time_s=time, pressure_kpa=100.0 * (time >= 1.0), angle_deg=45.0 * y)
    )
    assert found.overshoot_percent == pytest.approx(16.303, abs=0.05)
    assert np.isnan(found.vent_s)


def test_slow_sampling_and_no_step_are_told() -> None:
    assert "film or log faster" in step_response(step(0.02, rate_hz=60.0)).remark
    flat = step()
    values = {**flat.values, "pressure_kpa": np.full(len(flat), 3.0)}
    with pytest.raises(CurveError, match="no step"):
        step_response(dataclasses.replace(flat, values=values))


def test_creep_over_log_time() -> None:
    time = np.linspace(0.0, 600.0, 601)
    angle = 50.0 * (1.0 + 0.02 * np.log10(np.maximum(time, 1.0)))
    found = creep(record("creep", time_s=time, angle_deg=angle))
    assert found.per_decade_percent == pytest.approx(2.0)
    assert found.creep_percent == pytest.approx(2.0 * np.log10(600.0))
    with pytest.raises(CurveError, match="too short"):
        creep(record("creep", time_s=time[:2], angle_deg=angle[:2]))


def test_peak_and_held_force() -> None:
    time = np.arange(0.0, 40.0, 0.1)
    pressure = np.minimum(10.0 * time, 150.0)
    force = 0.02 * pressure - 0.3 * (1.0 - np.exp(-np.maximum(time - 15.0, 0.0) / 5.0))
    found = held_force(record("block", time_s=time, pressure_kpa=pressure, force_n=force))
    assert found.peak_n == pytest.approx(3.0)
    assert found.held_n == pytest.approx(3.0 - 0.3 * (1.0 - np.exp(-9.7 / 5.0)), abs=2e-3)
    brief = record("block", time_s=time[:160], pressure_kpa=pressure[:160], force_n=force[:160])
    assert np.isnan(held_force(brief).held_n)


def test_sideways_stiffness_at_each_pressure() -> None:
    deflection = np.tile([0.0, 1.0, 2.0, 3.0], 2)
    pressure = np.repeat([0.0, 150.0], 4)
    force = deflection * np.where(pressure > 0, 0.5, 0.2) + 0.05
    weak, stiff = lateral_stiffness(
        record(
            "lateral",
            deflection_mm=deflection,
            pressure_kpa=pressure,
            force_n=force,
            twist_deg=4.0 * force,
        )
    )
    assert (weak.stiffness_n_per_mm, stiff.stiffness_n_per_mm) == pytest.approx((0.2, 0.5))
    assert stiff.twist_deg_per_n == pytest.approx(4.0)
    with pytest.raises(CurveError, match="three readings"):
        lateral_stiffness(record("lateral", deflection_mm=np.ones(4), force_n=np.arange(4.0)))


def test_picks_by_object_and_pull_off() -> None:
    bowl = record("picks", picked=np.array([1.0] * 9 + [0.0]), damaged=np.zeros(10))
    bowl = dataclasses.replace(bowl, object_name="bowl")
    (rate,) = pick_rates([bowl])
    assert (rate.name, rate.successes, rate.trials) == ("bowl", 9, 10)
    assert (rate.low, rate.high) == pytest.approx((0.5550, 0.9975), abs=1e-4)
    (damage,) = pick_rates([bowl], "damaged")
    assert damage.high == pytest.approx(0.3085, abs=1e-4)
    (force,) = pull_off([record("pull_off", force_n=np.array([4.0, 5.0, 6.0]))])
    assert (force.mean_n, force.sd_n, force.n) == pytest.approx((5.0, 1.0, 3))
    assert force.high_n == pytest.approx(5.0 + 4.302653 / 3**0.5, rel=1e-6)

"""Branches, hysteresis, set, and two kinds of scatter that never mix."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fiddlehead.bench.branches import at_pressures, split_branches
from fiddlehead.bench.measured import Reduction, curve_words, reduce_all
from fiddlehead.bench.reduce import cycles_of, grid_to, spread_of, tared
from fiddlehead.errors import CurveError
from tests.bench.made import PEAK_KPA, bending

GRID = grid_to(PEAK_KPA, 10)


def test_branches_of_three_cycles() -> None:
    branches = split_branches(bending(cycles=3).values["pressure_kpa"])
    assert [b.direction for b in branches] == ["up", "down"] * 3
    assert [b.cycle for b in branches] == [1, 1, 2, 2, 3, 3]


@settings(deadline=None)
@given(st.integers(0, 2**32 - 1), st.integers(1, 4))
def test_noise_and_dwells_make_no_branches(seed: int, cycles: int) -> None:
    steps = np.repeat(np.concatenate([np.arange(0, 151, 15), np.arange(135, -1, -15)]), 8)
    pressure = np.tile(steps, cycles) + np.random.default_rng(seed).normal(0, 1.0, 8 * 21 * cycles)
    branches = split_branches(pressure)
    assert [b.direction for b in branches] == ["up", "down"] * cycles


def test_hysteresis_and_set_are_those_put_in() -> None:
    record = bending(gain=0.6, hysteresis_deg=4.5, set_deg=1.5)
    (cycle,) = cycles_of(record, "angle_deg", GRID)
    reach = 0.6 * PEAK_KPA
    down = 4.5 * 4.0 * (GRID / PEAK_KPA) * (1 - GRID / PEAK_KPA) + 1.5 * (1 - GRID / PEAK_KPA)
    assert cycle.up == pytest.approx(0.6 * GRID, abs=1e-9)
    assert cycle.hysteresis_percent == pytest.approx(100.0 * down.max() / reach, rel=0.02)
    assert cycle.set_after == pytest.approx(1.5)


def test_conditioning_cycles_are_left_out_as_long_as_one_is_left() -> None:
    record = bending(cycles=3, set_deg=2.0)
    assert len(cycles_of(record, "angle_deg", GRID)) == 3
    for skip, left in ((0, 3), (1, 2), (3, 1)):
        measured = reduce_all([record], Reduction(grid_kpa=GRID, conditioning_cycles=skip))
        assert measured.spreads["bend_tip_tangent_up"].repeats == (left,)
    flat = {**record.values, "pressure_kpa": np.zeros(len(record))}
    with pytest.raises(CurveError, match="never rises"):
        cycles_of(dataclasses.replace(record, values=flat), "angle_deg", GRID)


def test_noise_is_averaged_not_followed() -> None:
    clean = cycles_of(bending(), "angle_deg", GRID)[0].up
    noisy = cycles_of(bending(noise_deg=1.0, seed=3), "angle_deg", GRID)[0].up
    # 15 samples around each pressure: a quarter of the noise, at the ends two thirds of it
    assert np.abs(noisy - clean)[1:-1].max() < 0.9


def test_nothing_is_extrapolated() -> None:
    pressure = np.array([30.0, 60.0, 90.0])
    values = at_pressures(pressure, pressure, np.array([0.0, 30.0, 45.0, 90.0, 120.0]))
    assert np.isnan(values[[0, 4]]).all()
    assert values[[1, 2, 3]] == pytest.approx([30.0, 45.0, 90.0])


def test_fingers_and_repeats_are_kept_apart() -> None:
    """Three fingers with gains 0.5, 0.6, 0.7, two repeats of each 0.01 apart."""
    cycles = [
        cycle
        for number, gain in enumerate((0.5, 0.6, 0.7))
        for repeat in (-1, 1)
        for cycle in cycles_of(
            bending(finger="ABC"[number], repeat=repeat, gain=gain + 0.005 * repeat),
            "angle_deg",
            GRID,
        )
    ]
    spread = spread_of(cycles, "angle_deg", definition="tip tangent")
    assert spread.said == "n = 3 fingers, 2 repeats each"
    assert spread.mean == pytest.approx(0.6 * GRID, abs=1e-9)
    assert spread.sd_fingers[1:] == pytest.approx(0.1 * GRID[1:])
    assert spread.sd_repeats[1:] == pytest.approx(0.01 / np.sqrt(2.0) * GRID[1:])


def test_one_finger_has_no_scatter_between_fingers() -> None:
    spread = spread_of(cycles_of(bending(cycles=3), "angle_deg", GRID), "angle_deg")
    assert np.isnan(spread.sd_fingers).all()
    assert np.isfinite(spread.sd_repeats).all()
    assert spread.said == "n = 1 finger, 3 repeats each"


@settings(deadline=None)
@given(st.floats(-5.0, 5.0), st.floats(0.1, 2.0))
def test_the_mean_follows_shift_and_scale(shift: float, scale: float) -> None:
    record = bending(noise_deg=0.3)
    plain = spread_of(cycles_of(record, "angle_deg", GRID), "angle_deg")
    values = {**record.values, "angle_deg": scale * record.values["angle_deg"] + shift}
    changed = dataclasses.replace(record, values=values)
    moved = spread_of(cycles_of(changed, "angle_deg", GRID), "angle_deg")
    assert moved.mean == pytest.approx(scale * plain.mean + shift, abs=1e-9)


def test_zeroing_needs_samples_at_rest() -> None:
    record = bending()
    rest = np.zeros(5)
    values = {
        "pressure_kpa": np.concatenate([rest, record.values["pressure_kpa"]]),
        "angle_deg": np.concatenate([rest, record.values["angle_deg"]]) + 3.0,
    }
    zeroed = tared(dataclasses.replace(record, values=values), "angle_deg")
    assert zeroed.values["angle_deg"][0] == pytest.approx(0.0, abs=0.5)
    late = dataclasses.replace(record, values={n: v[20:] for n, v in record.values.items()})
    assert "no sample at rest" in tared(late, "angle_deg").remarks[-1]


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("bend_tip_tangent_up", "bending angle, tip tangent, rising"),
        ("bend_chord", "bending angle, chord"),
        ("block_30_deg_down", "blocked force at 30°, falling"),
    ],
)
def test_curve_names_are_told_in_words(name: str, words: str) -> None:
    assert curve_words(name) == words

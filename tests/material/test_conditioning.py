"""Cycles, zero, set and mean curve, on tests whose answer is known."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fiddlehead.errors import CurveError
from fiddlehead.material.conditioning import CUT_FACTOR, reduce_curves
from fiddlehead.material.cycles import first_pull, hysteresis_loss, split_cycles, toe_strain
from fiddlehead.material.records import TensileCurve


def triangle(peaks, steps=60, low=0.0):
    """Strain up and down to each peak."""
    pieces = [np.array([low])]
    for peak in peaks:
        pieces += [np.linspace(low, peak, steps)[1:], np.linspace(peak, low, steps)[1:]]
    return np.concatenate(pieces)


def neo_hookean(stretch, mu=2.0):
    return mu * (stretch - stretch**-2)


def curve(strain, stress, **more):
    fields = {
        "mode": "uniaxial",
        "specimen": "1",
        "stretch": 1.0 + np.asarray(strain, dtype=float),
        "nominal_stress_mpa": np.asarray(stress, dtype=float),
        "zeroed": False,
        "conditioned": False,
        "file": "one.csv",
        "sha256": "0" * 64,
        **more,
    }
    return TensileCurve(**fields)


@given(
    count=st.integers(1, 6),
    noise=st.floats(0.0, 0.01),
    seed=st.integers(0, 99),
    last_down=st.booleans(),
)
@settings(max_examples=60, deadline=None)
def test_cycles_are_counted_through_noise(count, noise, seed, last_down):
    strain = triangle([1.0] * count)
    if not last_down:
        strain = strain[:-59]
    strain = strain + noise * np.random.default_rng(seed).uniform(-1, 1, len(strain))
    cycles = split_cycles(strain)
    assert len(cycles) == count
    for i, cycle in enumerate(cycles):
        assert abs(cycle.start - 118 * i) <= 2
        assert abs(cycle.peak - (118 * i + 59)) <= 2
    assert (cycles[-1].end > cycles[-1].peak) == last_down


def test_a_single_pull_is_one_cycle_without_a_way_back():
    strain = np.linspace(0, 1, 20)
    (cycle,) = split_cycles(strain)
    assert (cycle.start, cycle.peak, cycle.end) == (0, 19, 19)
    assert np.isnan(hysteresis_loss(strain, strain, cycle))


def test_a_test_that_begins_on_the_way_down_starts_at_its_valley():
    strain = np.concatenate([np.linspace(0.5, 0.0, 20), np.linspace(0.0, 1.0, 30)[1:]])
    (cycle,) = split_cycles(strain)
    assert (cycle.start, cycle.peak) == (19, 48)


def test_first_pull_of_rising_cycles_is_the_envelope():
    strain = triangle([0.2, 0.2, 0.5, 1.0])
    rows = first_pull(strain, split_cycles(strain))
    assert np.all(np.diff(strain[rows]) > 0)
    assert strain[rows].max() == 1.0
    second = (rows > 118) & (rows <= 236)
    assert not second.any()


def test_hysteresis_of_a_rectangle():
    strain = np.array([0.0, 0.0, 1.0, 1.0, 0.0])
    stress = np.array([0.0, 1.0, 1.0, 0.4, 0.4])
    cycle = split_cycles(strain)[0]
    assert hysteresis_loss(strain, stress, cycle) == pytest.approx(0.6, abs=0.01)


@given(slack=st.floats(0.0, 0.1), mu=st.floats(0.5, 10.0))
@settings(max_examples=30, deadline=None)
def test_toe_finds_the_slack(slack, mu):
    strain = np.linspace(0, 1, 300)
    stress = neo_hookean(np.maximum(1.0, (1 + strain) / (1 + slack)), mu)
    assert toe_strain(strain, stress) == pytest.approx(slack, abs=2e-4)


def test_set_is_taken_out_and_stress_moved_to_the_thinner_section():
    """A specimen of neo-Hookean rubber with 5 % set in the second cycle gives its law back."""
    way = triangle([0.8, 0.8], steps=200)
    unloaded = np.where(np.arange(len(way)) <= 199, 1.0, 1.05)
    stretch = np.maximum((1 + way) / unloaded, 1.0)
    stress = neo_hookean(stretch) / unloaded
    stress[:200] *= 1.4  # the first pull is stiffer
    (reduced,) = reduce_curves([curve(way, stress)], use_strain=0.5)
    assert reduced.cycle == "conditioned"
    assert reduced.cycles == 2
    assert reduced.residual_strain == pytest.approx(0.05, abs=5e-4)
    np.testing.assert_allclose(
        reduced.nominal_stress_mpa, neo_hookean(reduced.stretch), rtol=0.01, atol=2e-3
    )
    (virgin,) = reduce_curves([curve(way, stress)], use_strain=0.5, cycle="first pull")
    assert virgin.cycle == "first pull"
    assert virgin.residual_strain == 0.0
    np.testing.assert_allclose(
        virgin.nominal_stress_mpa, 1.4 * neo_hookean(virgin.stretch), rtol=0.01, atol=2e-3
    )
    assert reduced.softening == virgin.softening > 0.25


@given(offset=st.floats(-0.5, 0.5), slack=st.floats(0.0, 0.05))
@settings(max_examples=20, deadline=None)
def test_load_cell_offset_and_grip_slack_leave_the_curve_as_it_is(offset, slack):
    strain = np.linspace(0, 1, 400)
    stress = neo_hookean(np.maximum(1.0, 1 + strain - slack)) + offset
    (reduced,) = reduce_curves([curve(strain, stress)], cycle="first pull", use_strain=0.5)
    np.testing.assert_allclose(
        reduced.nominal_stress_mpa, neo_hookean(reduced.stretch), rtol=0.01, atol=4e-3
    )


def test_zeroed_data_are_left_alone():
    strain, stress = np.array([0.02, 0.1, 0.3, 0.6]), np.array([0.1, 0.5, 1.2, 2.0])
    (reduced,) = reduce_curves([curve(strain, stress, zeroed=True)], cycle="first pull")
    np.testing.assert_array_equal(reduced.stretch, 1 + strain)
    np.testing.assert_array_equal(reduced.nominal_stress_mpa, stress)
    np.testing.assert_array_equal(reduced.scatter_mpa, 0.0)
    assert any("1 specimen(s)" in text for text in reduced.warnings)


def test_mean_and_scatter_over_specimens():
    strain = np.linspace(0, 1, 500)
    tests = [
        curve(strain, k * neo_hookean(1 + strain), specimen=str(k), zeroed=True, file=f"{k}.csv")
        for k in (0.9, 1.0, 1.1)
    ]
    (reduced,) = reduce_curves(tests, cycle="first pull", use_strain=0.6)
    expected = neo_hookean(reduced.stretch)
    np.testing.assert_allclose(reduced.nominal_stress_mpa, expected, rtol=5e-3)  # bins are chords
    np.testing.assert_allclose(reduced.scatter_mpa, 0.1 * expected, rtol=0.01)
    assert reduced.specimens == 3
    assert [name for name, _ in reduced.files] == ["0.9.csv", "1.0.csv", "1.1.csv"]
    assert not reduced.warnings
    assert reduced.strain_range[1] <= CUT_FACTOR * 0.6


def test_noise_is_averaged_out():
    rng = np.random.default_rng(5)
    strain = np.linspace(0, 1, 2000)
    stress = neo_hookean(1 + strain) + 0.05 * rng.standard_normal(2000)
    (reduced,) = reduce_curves([curve(strain, stress)], cycle="first pull", use_strain=0.6)
    error = reduced.nominal_stress_mpa - neo_hookean(reduced.stretch)
    assert np.std(error) < 0.02


def test_compression_is_reduced_like_tension():
    strain = -triangle([0.5, 0.5], steps=200)
    stress = neo_hookean(1 + strain)
    (reduced,) = reduce_curves([curve(strain, stress, mode="compression")], use_strain=0.6)
    assert reduced.stretch.max() < 1.0
    assert reduced.stretch.min() >= 1 / (1 + CUT_FACTOR * 0.6)
    np.testing.assert_allclose(
        reduced.nominal_stress_mpa, neo_hookean(reduced.stretch), rtol=0.01, atol=6e-3
    )
    assert reduced.strain_range[1] == 0.0


def test_conditioned_asked_for_but_pulled_once():
    strain = np.linspace(0, 1, 50)
    test = curve(strain, neo_hookean(1 + strain))
    (reduced,) = reduce_curves([test])
    assert reduced.cycle == "first pull"
    assert any("pulled only once" in text for text in reduced.warnings)
    (declared,) = reduce_curves([replace(test, conditioned=True)])
    assert declared.cycle == "conditioned"
    assert not any("pulled only once" in text for text in declared.warnings)


def test_modes_stay_apart_and_in_order():
    strain = np.linspace(0, 1, 50)
    tests = [
        curve(strain, neo_hookean(1 + strain), mode=mode)
        for mode in ("planar", "uniaxial", "planar")
    ]
    reduced = reduce_curves(tests, cycle="first pull")
    assert [(c.mode, c.specimens) for c in reduced] == [("uniaxial", 1), ("planar", 2)]


def test_nothing_to_reduce():
    with pytest.raises(CurveError, match="no test curves"):
        reduce_curves([])


def test_use_strain_must_be_positive():
    with pytest.raises(CurveError, match="must be positive"):
        reduce_curves([curve([0, 0.1, 0.2], [0, 1, 2])], use_strain=0.0)


def test_data_beyond_the_use_range_only():
    test = curve([0.0, 2.0, 2.5, 3.0], [0, 3, 4, 5], zeroed=True)
    with pytest.raises(CurveError, match="range of use") as caught:
        reduce_curves([test], cycle="first pull", use_strain=0.3)
    assert "one.csv" in caught.value.where


def test_specimens_that_share_no_strain():
    low = curve(np.linspace(0, 0.1, 40), np.linspace(0, 1, 40), zeroed=True)
    high = curve(np.linspace(0.2, 0.5, 40), np.linspace(2, 3, 40), zeroed=True, specimen="2")
    with pytest.raises(CurveError, match="share no range"):
        reduce_curves([low, high], cycle="first pull")

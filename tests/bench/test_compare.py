"""Verdicts: errors by hand, definitions that never mix, and scatter that explains or does not."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fiddlehead.bench.compare import compare
from fiddlehead.bench.predicted import (
    Scatter,
    predicted_bend,
    predicted_block,
    stiffness_slope,
)
from fiddlehead.bench.records import Predicted, Spread
from fiddlehead.errors import ParameterError
from tests.report.made_up import made_up_bend, made_up_block

GRID = np.linspace(0.0, 150.0, 11)


def measured(gain: float = 0.6, sd: float = 0.0, fingers: int = 3) -> Spread:
    """A straight curve with a scatter that grows with it."""
    gains = gain + sd * np.linspace(-1.0, 1.0, fingers) if fingers > 1 else np.array([gain])
    return Spread(
        quantity="angle_deg",
        branch="up",
        definition="tip tangent",
        pressure_kpa=GRID,
        mean=gain * GRID,
        sd_fingers=sd * GRID if fingers > 1 else np.full(11, np.nan),
        sd_repeats=0.1 * sd * GRID,
        fingers=tuple("ABCDEF"[:fingers]),
        repeats=(3,) * fingers,
        each=gains[:, None] * GRID,
    )


def predicted(gain: float, sd: float = 0.0, **changes: str) -> Predicted:
    """A straight prediction."""
    plain = Predicted(
        quantity="angle_deg",
        definition="tip tangent",
        pressure_kpa=np.linspace(0.0, 150.0, 31),
        value=gain * np.linspace(0.0, 150.0, 31),
        sd=sd * np.linspace(0.0, 150.0, 31),
        scatter=("stiffness",) if sd else (),
    )
    return dataclasses.replace(plain, **changes)  # type: ignore[arg-type]


def test_errors_by_hand() -> None:
    """4 % too much everywhere: NRMSE is 4 % times the root mean square of 0, 0.1 ... 1."""
    found = compare(measured(), predicted(0.624), working_pressure_kpa=150.0)
    assert found.full_scale == pytest.approx(90.0)
    assert found.nrmse_percent == pytest.approx(4.0 * np.sqrt(np.mean(np.linspace(0, 1, 11) ** 2)))
    assert found.error_there_percent == pytest.approx(4.0)
    assert found.largest_error == pytest.approx(3.6)
    assert found.largest_at_kpa == 150.0
    assert found.within_limit
    assert found.scatter_explains is None
    assert "within 5 %" in found.said


def test_scatter_explains_a_gap_or_does_not() -> None:
    wide = compare(measured(sd=0.03), predicted(0.66, sd=0.03), working_pressure_kpa=150.0)
    assert not wide.within_limit
    assert wide.scatter_explains
    narrow = compare(measured(sd=0.005), predicted(0.66, sd=0.01), working_pressure_kpa=150.0)
    assert narrow.scatter_explains is False
    assert "model or a dimension is off" in narrow.said


def test_one_limit_for_the_user() -> None:
    found = compare(measured(), predicted(0.66), working_pressure_kpa=150.0, limit_percent=12.0)
    assert found.within_limit


def test_definitions_never_mix() -> None:
    with pytest.raises(ParameterError, match="measured angle_deg \\(tip tangent\\)"):
        compare(measured(), predicted(0.6, definition="chord"), working_pressure_kpa=150.0)
    with pytest.raises(ParameterError, match="force_n"):
        compare(
            measured(), predicted(0.6, quantity="force_n", definition=""), working_pressure_kpa=1.0
        )


def test_pressures_must_meet() -> None:
    far = dataclasses.replace(predicted(0.6), pressure_kpa=np.linspace(300.0, 400.0, 31))
    with pytest.raises(ParameterError, match="too few common pressures"):
        compare(measured(), far, working_pressure_kpa=150.0)


def test_what_is_doubtful_is_told() -> None:
    found = compare(measured(fingers=1), predicted(0.6), working_pressure_kpa=200.0)
    told = " ".join(found.warnings)
    assert "one finger only" in told
    assert "no band" in told
    assert "was not reached" in told


@settings(deadline=None)
@given(st.floats(0.5, 2.0), st.floats(0.1, 10.0))
def test_percentages_do_not_depend_on_the_unit(ratio: float, unit: float) -> None:
    one = compare(measured(), predicted(0.6 * ratio), working_pressure_kpa=150.0)
    other = compare(measured(0.6 * unit), predicted(0.6 * ratio * unit), working_pressure_kpa=150.0)
    assert one.nrmse_percent == pytest.approx(other.nrmse_percent, rel=1e-9, abs=1e-9)


def test_stiffness_slope_is_exact_for_scaling_curves() -> None:
    """angle = g(p / c) with g = p^2: c d/dc = -2 p^2; force = c f(p / c) with f = p^2: -p^2."""
    p = np.linspace(0.0, 3.0, 7)
    assert stiffness_slope(p, p**2, force=False) == pytest.approx(-2.0 * p**2, abs=1e-9)
    assert stiffness_slope(p, p**2, force=True) == pytest.approx(-(p**2), abs=1e-9)


def test_bands_of_saved_results() -> None:
    bent = made_up_bend()
    wall = Scatter("wall thickness", 0.05, np.full(6, -10.0))
    band = predicted_bend(bent, "chord", stiffness_sd=0.1, others={"wall": wall})
    assert band.value == pytest.approx(bent.chord_angle_deg)
    slope = stiffness_slope(1e3 * bent.pressure_mpa, bent.chord_angle_deg, force=False)
    assert band.sd == pytest.approx(np.hypot(0.1 * slope, 0.5))
    assert len(band.scatter) == 2
    force = predicted_block(made_up_block(), stiffness_sd=0.1)
    assert force.sd == pytest.approx(0.0, abs=1e-9)  # straight through zero: force ~ pressure only
    with pytest.raises(ParameterError, match="no such bending angle"):
        predicted_bend(bent, "mean")

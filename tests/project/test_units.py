"""Units: exact factors, round trips, refusals, and the way numbers are written."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fiddlehead import units
from fiddlehead.errors import ParameterError

# NIST Special Publication 811 (2008), Appendix B.8: 1 psi = 6.894 757 E+03 Pa (rounded there);
# the further digits follow from the exact pound, inch and standard gravity.
EXACT = [
    ("psi", "kPa", Fraction("0.45359237") * Fraction("9.80665") / Fraction("0.0254") ** 2 / 1000),
    ("bar", "kPa", Fraction(100)),
    ("kgf/cm2", "kPa", Fraction("98.0665")),
    ("in", "mm", Fraction("25.4")),
    ("lbf", "N", Fraction("4.4482216152605")),
    ("kgf", "N", Fraction("9.80665")),
    ("MPa", "N/mm2", Fraction(1)),
    ("%", "1", Fraction(1, 100)),
    ("L", "cm3", Fraction(1000)),
    ("kg/m3", "g/cm3", Fraction(1, 1000)),
]


@pytest.mark.parametrize(("unit", "to", "factor"), EXACT)
def test_factors_are_exact(unit: str, to: str, factor: Fraction) -> None:
    assert units.ratio(unit, to) == factor
    assert units.ratio(to, unit) == 1 / factor


def test_psi_to_thirteen_digits() -> None:
    assert units.convert(1.0, "psi", "kPa") == pytest.approx(6.894757293168, rel=1e-13)


def test_radian() -> None:
    assert units.convert(np.pi, "rad", "deg") == pytest.approx(180.0, rel=1e-15)


PAIRS = [
    (a, b)
    for a, first in units.UNITS.items()
    for b, second in units.UNITS.items()
    if first.quantity == second.quantity
]


@given(st.sampled_from(PAIRS), st.floats(-1e6, 1e6))
def test_round_trip(pair: tuple[str, str], value: float) -> None:
    there = units.convert(value, *pair)
    assert units.convert(there, pair[1], pair[0]) == pytest.approx(value, rel=1e-15, abs=1e-300)


def test_arrays_convert_elementwise() -> None:
    np.testing.assert_array_equal(units.convert(np.array([0.0, 1.5]), "bar", "kPa"), [0.0, 150.0])


def test_different_quantities_are_refused() -> None:
    with pytest.raises(ParameterError, match="N measures force, kPa measures pressure"):
        units.convert(1.0, "N", "kPa")


def test_unknown_unit_lists_the_known() -> None:
    with pytest.raises(ParameterError) as caught:
        units.convert(1.0, "kpa", "MPa")
    assert "kPa" in caught.value.allowed
    assert "case" in caught.value.remedy


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (0.2, "MPa", "0.2 MPa"),
        (200.0, "kPa", "200 kPa"),
        (87.46, "deg", "87.5°"),
        (12345.6, "mm3", "12346 mm³"),
        (0.0, "N", "0 N"),
        (0.30000000000000004, "1", "0.3"),
        (float("nan"), "N", "nan N"),
    ],
)
def test_numbers_are_written_with_their_unit(value: float, unit: str, text: str) -> None:
    assert units.say(value, unit) == text


@pytest.mark.parametrize(
    ("field", "unit"),
    [
        ("pitch_mm", "mm"),
        ("working_pressure_kpa", "kPa"),
        ("density_g_per_cm3", "g/cm3"),
        ("bellows_count", ""),
        ("force_n", "N"),
        ("c10_mpa", "MPa"),
        ("volume_mm3", "mm3"),
        ("leak_cm3_per_min", "cm3/min"),
        ("cycles_per_min", "1/min"),
        ("fill_valve_dm3_per_s_bar", "dm3/(s bar)"),
        ("tube_length_m", "m"),
        ("room_temperature_deg_c", "degC"),
    ],
)
def test_the_unit_is_read_from_the_field_name(field: str, unit: str) -> None:
    assert units.unit_of_field(field) == unit

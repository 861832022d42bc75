"""Flow through valves, tubes and rows of them."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fiddlehead.air.catalogue import from_cv, from_kv, from_nominal_flow, hole, pinhole_mm, tube
from fiddlehead.air.flow import Chain, Restriction, side_by_side
from fiddlehead.errors import ParameterError

conductances = st.floats(0.01, 20.0)
ratios = st.floats(0.0, 0.9)
parts = st.builds(Restriction, st.just("part"), conductances, ratios, st.floats(0.4, 0.7))
rows = st.lists(parts, min_size=1, max_size=4).map(tuple)


@given(parts, st.floats(110.0, 1000.0), st.floats(0.0, 1.2))
def test_a_chain_of_one_is_its_part(part: Restriction, inlet: float, ratio: float) -> None:
    one = float(part.flow_cm3_per_s(inlet, ratio * inlet))
    row = float(Chain((part,)).flow_cm3_per_s(inlet, ratio * inlet))
    largest = float(part.flow_cm3_per_s(inlet, 0.0))
    assert row == pytest.approx(one, rel=1e-9, abs=1e-6 * largest)


@given(rows, st.floats(0.01, 0.99))
def test_the_same_flow_passes_every_part(row: tuple[Restriction, ...], ratio: float) -> None:
    """March down the chain with the flow it found: each part takes its pressure drop."""
    chain, inlet = Chain(row), 700.0
    flow = float(chain.flow_cm3_per_s(inlet, ratio * inlet))
    pressure = inlet
    for part in row:
        load = min(1.0, flow / (10.0 * part.conductance_dm3_per_s_bar * pressure))
        assert flow <= 10.0 * part.conductance_dm3_per_s_bar * pressure * (1 + 1e-9)
        pressure *= float(part.ratio_left(load))
    assert pressure >= ratio * inlet * (1 - 1e-6)
    if ratio > chain.critical_ratio:
        assert pressure == pytest.approx(ratio * inlet, rel=1e-6)


@given(rows, parts, st.floats(0.05, 0.95))
def test_another_part_never_lets_more_through(
    row: tuple[Restriction, ...], more: Restriction, ratio: float
) -> None:
    with_it = float(Chain((*row, more)).flow_cm3_per_s(500.0, 500.0 * ratio))
    assert with_it <= float(Chain(row).flow_cm3_per_s(500.0, 500.0 * ratio)) * (1 + 1e-9)


@given(rows)
def test_flow_falls_as_the_outlet_pressure_rises(row: tuple[Restriction, ...]) -> None:
    flow = Chain(row).flow_cm3_per_s(600.0, np.linspace(0.0, 700.0, 71))
    assert (np.diff(flow) <= 1e-9 * flow[0]).all()
    assert (flow[60:] == 0).all()


def test_two_equal_parts_in_a_row() -> None:
    """Catalogues' rule 1/C³ = Σ 1/C_i³ (value from memory) lies near the exact row."""
    part = Restriction("valve", 1.0, 0.3)
    row = Chain((part, part))
    assert row.conductance_dm3_per_s_bar == pytest.approx(2 ** (-1 / 3), rel=0.06)
    assert row.conductance_dm3_per_s_bar > 2**-0.5  # the rule with squares errs to the safe side
    assert 0.1 < row.critical_ratio < 0.3


def test_two_equal_parts_side_by_side() -> None:
    part = Restriction("valve", 1.0, 0.3)
    both = side_by_side("both", [part, part])
    assert both.conductance_dm3_per_s_bar == pytest.approx(2.0)
    assert both.critical_ratio == pytest.approx(0.3)


def test_the_narrowest_part_is_named() -> None:
    row = Chain((Restriction("valve", 0.5, 0.3), tube("tube", 2.5, 1.0)))
    assert row.narrowest.name == "tube"


def test_us_valve_coefficient() -> None:
    """Cv 1 is 3.8 to 4.1 dm³/(s bar); the rule "Cv = 1.62 C" seen on web pages is wrong."""
    c = from_cv("valve", 1.0).conductance_dm3_per_s_bar
    assert 3.8 < c < 4.1
    assert from_kv("valve", 1.0).conductance_dm3_per_s_bar == pytest.approx(c / 0.865, rel=1e-12)
    assert 1.0 / c < 0.3


def test_kv_at_small_pressure_drop_is_water_through_the_valve() -> None:
    """1 Kv: 1 m³/h at 1 bar with 1000 kg/m³; thin air at line density follows the same law."""
    kv, drop = 1.0, 0.5  # kPa
    p1 = 700.0
    density = 1.185 * p1 / 100.0
    litres_per_s = kv / 3.6 * math.sqrt(drop / 100.0 * 1000.0 / density)
    anr = litres_per_s * 1000.0 * p1 / 100.0
    flow = float(from_kv("valve", kv).flow_cm3_per_s(p1, p1 - drop))
    assert flow == pytest.approx(anr, rel=0.10)  # the two families of curves differ by 6 %


def test_nominal_flow_comes_back() -> None:
    valve = from_nominal_flow("valve", 100.0)
    flow = float(valve.flow_cm3_per_s(701.325, 601.325)) * 60.0 / 1000.0
    assert flow == pytest.approx(100.0, rel=1e-12)


@pytest.mark.parametrize(("bore_mm", "length_m"), [(2.5, 0.3), (2.5, 1.0), (4.0, 2.0), (6.0, 1.0)])
def test_tube_against_friction_flow_in_a_pipe(bore_mm: float, length_m: float) -> None:
    """Adiabatic friction flow (Fanno; Shapiro 1953) with Blasius' smooth-pipe friction, 7 bar."""
    from scipy.optimize import brentq

    k, gas, t0, p0 = 1.4, 287.05, 293.15, 7e5
    bore = bore_mm / 1e3

    def friction_length(mach: float) -> float:
        m2 = mach**2
        term = (k + 1) / (2 * k) * math.log((k + 1) * m2 / (2 + (k - 1) * m2))
        return (1 - m2) / (k * m2) + term

    def surplus(mach: float) -> float:
        flow = p0 * mach * math.sqrt(k / (gas * t0)) * (1 + 0.2 * mach**2) ** -3.0
        reynolds = flow * bore / 1.8e-5
        friction = 0.316 / reynolds**0.25
        entry = 0.5 + 1.0  # velocity heads lost at inlet and outlet
        return friction_length(mach) - friction * length_m / bore - entry

    mach = brentq(surplus, 0.01, 0.99)
    flux = p0 * mach * math.sqrt(k / (gas * t0)) * (1 + 0.2 * mach**2) ** -3.0
    c = 1e8 * flux * math.pi / 4 * bore**2 / (1.185 * p0)
    assert tube("tube", bore_mm, length_m).conductance_dm3_per_s_bar == pytest.approx(c, rel=0.15)


@given(st.floats(0.005, 1.0), st.floats(1.0, 700.0))
def test_a_pinhole_is_found_again(diameter_mm: float, gauge_kpa: float) -> None:
    flow = 60.0 * float(hole("hole", diameter_mm).flow_cm3_per_s(gauge_kpa + 101.325, 101.325))
    assert pinhole_mm(flow, gauge_kpa) == pytest.approx(diameter_mm, rel=1e-9)


def test_no_leak_no_pinhole() -> None:
    assert pinhole_mm(0.0, 100.0) == 0.0
    assert pinhole_mm(-0.1, 100.0) == 0.0


@pytest.mark.parametrize(
    ("c", "b"), [(0.0, 0.3), (-1.0, 0.3), (math.nan, 0.3), (1.0, -0.1), (1.0, 1.0), (1.0, math.nan)]
)
def test_no_such_component(c: float, b: float) -> None:
    with pytest.raises(ParameterError, match="valve: no such"):
        Restriction("valve", c, b)


def test_no_such_tube_and_no_chain() -> None:
    with pytest.raises(ParameterError, match="no such tube bore"):
        tube("tube", 0.0, 1.0)
    with pytest.raises(ParameterError, match="nothing to flow through"):
        Chain(())
    with pytest.raises(ParameterError, match="nothing to flow through"):
        side_by_side("none", [])

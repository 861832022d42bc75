"""ISO 6358-1:2013, worked flow values.

Formula as in several public programs (read); values: C = 2 dm³/(s bar), b = 0.3 at 7 bar absolute
evaluated by hand from it, and one worked value found in public documentation of a component library
(C = 1e-8 m³/(s Pa), b = 0.35, 700 to 100 kPa: 0.008295 kg/s). Ideal nozzle and unit facts: any
textbook of gas dynamics. Leak facts: V dp/dt, both references.
"""

from __future__ import annotations

import pytest

from fiddlehead.air.catalogue import NOZZLE_RATIO, hole, nozzle_conductance_dm3_per_s_bar
from fiddlehead.air.flow import Restriction
from fiddlehead.air.leak import in_leak_units, leak_from_drop
from fiddlehead.air.reference import ANR_DENSITY_KG_M3, STANDARD_0C

# C, b, p1 bar, p2 bar, T1 K, dm³/s at ANR, g/s
WORKED = [
    (2.0, 0.3, 7.0, 1.0, 293.15, 14.0000000, 16.5900000),
    (2.0, 0.3, 7.0, 2.1, 293.15, 14.0000000, 16.5900000),
    (2.0, 0.3, 7.0, 4.0, 293.15, 12.9046740, 15.2920387),
    (2.0, 0.3, 7.0, 6.0, 293.15, 8.4756554, 10.0436517),
    (2.0, 0.3, 7.0, 6.9, 293.15, 2.8139594, 3.3345419),
    (2.0, 0.3, 7.0, 1.0, 313.15, 13.5455542, 16.0514817),
    (1.0, 0.35, 7.0, 1.0, 293.15, 7.0000000, 8.2950000),
    (0.1, 0.3, 2.0, 1.5, 293.15, 0.1531972, 0.1815387),
]
TOLERANCE = 1e-6
"""The values carry seven decimals."""


@pytest.mark.parametrize(("c", "b", "p1", "p2", "t1", "flow", "mass"), WORKED)
def test_worked_flow(
    c: float, b: float, p1: float, p2: float, t1: float, flow: float, mass: float
) -> None:
    found = float(Restriction("valve", c, b).flow_cm3_per_s(100 * p1, 100 * p2, t1)) / 1000.0
    assert found == pytest.approx(flow, rel=TOLERANCE)
    assert found * ANR_DENSITY_KG_M3 == pytest.approx(mass, rel=TOLERANCE)


def test_ideal_nozzle() -> None:
    assert pytest.approx(0.528282, abs=1e-6) == NOZZLE_RATIO
    per_mm2 = nozzle_conductance_dm3_per_s_bar(2.0 / 3.141592653589793**0.5)
    assert per_mm2 == pytest.approx(0.199192, rel=2e-5)  # gas constant of air to five digits


@pytest.mark.parametrize(
    ("diameter_mm", "cm3_per_min"), [(0.02, 9.0), (0.05, 56.0), (0.1, 223.0), (0.2, 891.0)]
)
def test_pinhole_scale(diameter_mm: float, cm3_per_min: float) -> None:
    """Choked flow at 2 bar gauge, discharge coefficient 0.8, at 20 °C and 101.325 kPa."""
    flow = 60.0 * float(hole("hole", diameter_mm).flow_cm3_per_s(301.325, 101.325))
    assert flow * 100.0 / 101.325 == pytest.approx(cm3_per_min, rel=0.01)


def test_leak_facts() -> None:
    """50 mL losing 2 kPa in 60 s."""
    assert leak_from_drop(50.0, 2.0, 60.0) == pytest.approx(1.0, rel=1e-9)
    at_zero = leak_from_drop(50.0, 2.0, 60.0, temperature_k=273.15, reference=STANDARD_0C)
    assert at_zero == pytest.approx(0.9869232667160128, rel=1e-9)
    told = in_leak_units(1.0)
    assert told["Pa m³/s"] == pytest.approx(1.6666666667e-3, rel=1e-9)
    assert told["mbar L/s"] == pytest.approx(0.016666666667, rel=1e-9)

"""Thick cylinder under internal pressure, plane strain, incompressible.

Source: Oden (1972), Finite Elements of Nonlinear Continua: inner and outer radius 7 and 18.625,
Mooney constants 80 and 20, internal pressure to 150; the same case in Bijelonja, Demirdzic &
Muzaferija (2005), IJNME 64, 1594. The digits are those of the exact solution (Rivlin (1949),
Phil. Trans. R. Soc. A 242, 173), evaluated here; literature quotes 7.18 at p = 150 from memory.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq

from fiddlehead.material.laws import MooneyRivlin2
from fiddlehead.testing.bodies import ring_quarter
from tests.published.rig import Solved, held, make_rig

INNER, OUTER, C10, C01 = 7.0, 18.625, 80.0, 20.0
PRESSURES = [50.0, 100.0, 125.0, 150.0]


def pressure_at(stretch: float) -> float:
    """``p = mu [ln(la/lb) + (lb⁻² - la⁻²)/2]`` with ``b² = B² + a² - A²``."""
    a2 = (stretch * INNER) ** 2
    lb = np.sqrt(OUTER**2 + a2 - INNER**2) / OUTER
    return float(2 * (C10 + C01) * (np.log(stretch / lb) + (lb**-2 - stretch**-2) / 2))


def inner_displacement(pressure: float) -> float:
    return INNER * (brentq(lambda s: pressure_at(s) - pressure, 1.0, 3.0) - 1.0)


@pytest.fixture(scope="module")
def solved() -> Solved:
    mesh = ring_quarter(INNER, OUTER, 2.0, (4, 6, 1))
    fixed = held(mesh, cut_y="y", cut_x="x", bottom="z", top="z")
    rig = make_rig(
        mesh, MooneyRivlin2(C10, C01), 1e6, fixed, pressed="inner", pressure=PRESSURES[-1]
    )
    return rig.follow([p / PRESSURES[-1] for p in PRESSURES])


def test_the_exact_solution_gives_the_known_digits() -> None:
    known = [1.2406128957, 3.2115017346, 4.7638045414, 7.1818714263]
    assert [inner_displacement(p) for p in PRESSURES] == pytest.approx(known, abs=1e-9)


@pytest.mark.slow
@pytest.mark.parametrize("k", range(4), ids=[f"p={p:g}" for p in PRESSURES])
def test_inner_radius_grows_as_published(solved: Solved, k: int) -> None:
    points = solved.rig.points
    on = np.isclose(np.hypot(points[:, 0], points[:, 1]), INNER)
    radius = np.linalg.norm((points + solved.u[k])[on, :2], axis=1)
    assert radius.mean() - INNER == pytest.approx(inner_displacement(PRESSURES[k]), rel=5e-3)
    assert np.ptp(radius) < 1e-3 * INNER


@pytest.mark.slow
def test_the_law_enters_only_by_the_sum_of_its_constants(solved: Solved) -> None:
    """In plane strain both invariants are equal, so swapping the constants changes nothing."""
    mesh = ring_quarter(INNER, OUTER, 2.0, (4, 6, 1))
    fixed = held(mesh, cut_y="y", cut_x="x", bottom="z", top="z")
    rig = make_rig(mesh, MooneyRivlin2(C01, C10), 1e6, fixed, pressed="inner", pressure=150.0)
    assert np.abs(rig.follow([1.0]).u[0] - solved.u[-1]).max() < 1e-3 * INNER

"""Tube with closed ends under internal pressure: hoop load, cap load and live stiffness at once.

Semi-exact solution by quadrature for an incompressible neo-Hookean tube far from its ends: the
radial balance gives the pressure, the axial force of the wall balances the pressure on the caps
(the universal solution is in Rivlin (1949), Phil. Trans. R. Soc. A 242, 173; the elimination of
the cap force is done here).

The tube also is the reason for bellows: to first order in pressure it does not lengthen at all.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import fsolve

from fiddlehead.material.laws import NeoHookean
from fiddlehead.testing.bodies import closed_tube_eighth
from tests.published.rig import Solved, held, make_rig

INNER, OUTER, MU, BULK = 5.0, 7.0, 1.0, 1000.0
HALF_LENGTH = 35.0
PRESSURES = [0.05, 0.10, 0.20]
KNOWN = {  # axial stretch, inner radius: evaluated with 30 digits, kept to 9
    0.05: (1.00104633, 5.27862107),
    0.10: (1.00509975, 5.61859179),
    0.20: (1.03715821, 6.70124219),
}


def closed_tube(pressure: float) -> tuple[float, float]:
    """Axial stretch and inner radius (mm)."""

    def unbalanced(unknown: np.ndarray) -> list[float]:
        axial, a = unknown
        b = np.sqrt(a**2 + (OUTER**2 - INNER**2) / axial)

        def stresses(r: float) -> tuple[float, float, float]:
            hoop = r / np.sqrt(INNER**2 + axial * (r**2 - a**2))
            return MU * (hoop * axial) ** -2, MU * hoop**2, MU * axial**2

        def radial(r: float) -> float:
            rr, tt, _ = stresses(r)
            return (tt - rr) / r

        def reduced_axial(r: float) -> float:
            rr, tt, zz = stresses(r)
            return (2 * zz - rr - tt) * r

        return [quad(radial, a, b)[0] - pressure, quad(reduced_axial, a, b)[0]]

    axial, a = fsolve(unbalanced, [1.0, INNER * (1 + pressure)], xtol=1e-12)
    return float(axial), float(a)


@pytest.fixture(scope="module")
def solved() -> Solved:
    mesh = closed_tube_eighth(INNER, OUTER, HALF_LENGTH, 3.0, (9, 1, 2, 2))
    fixed = held(mesh, middle="x", cut_y="y", cut_z="z")
    rig = make_rig(mesh, NeoHookean(MU), BULK, fixed, pressed="cavity", pressure=PRESSURES[-1])
    return rig.follow([p / PRESSURES[-1] for p in PRESSURES])


def measured(solved: Solved, k: int) -> tuple[float, float]:
    """Axial stretch over the two elements next to the middle, and inner radius in the middle."""
    points, u = solved.rig.points, solved.u[k]
    inner = np.isclose(np.hypot(points[:, 1], points[:, 2]), INNER) & (points[:, 0] < HALF_LENGTH)
    reach = np.unique(points[inner, 0].round(9))[4]
    at = inner & np.isclose(points[:, 0], reach)
    middle = inner & (points[:, 0] == 0.0)
    radius = np.linalg.norm((points + u)[middle, 1:], axis=1)
    return 1.0 + float(u[at, 0].mean()) / float(reach), float(radius.mean())


@pytest.mark.parametrize("pressure", PRESSURES)
def test_quadrature_gives_the_known_digits(pressure: float) -> None:
    assert closed_tube(pressure) == pytest.approx(KNOWN[pressure], abs=2e-8)


@pytest.mark.slow
@pytest.mark.parametrize("k", range(3), ids=[f"{p:g} MPa" for p in PRESSURES])
def test_stretch_and_radius(solved: Solved, k: int) -> None:
    axial, radius = measured(solved, k)
    exact_axial, exact_radius = KNOWN[PRESSURES[k]]
    assert axial == pytest.approx(exact_axial, rel=5e-3)
    assert radius == pytest.approx(exact_radius, rel=5e-3)


@pytest.mark.slow
def test_a_smooth_tube_hardly_lengthens(solved: Solved) -> None:
    """Axial strain is second order in pressure: a finger without bellows would hardly bend."""
    strains = [(a - 1.0, r / INNER - 1.0) for a, r in (measured(solved, k) for k in range(3))]
    assert abs(strains[0][0]) < 0.03 * strains[0][1]
    assert strains[1][0] / strains[0][0] > 3.0  # doubling the pressure more than triples it

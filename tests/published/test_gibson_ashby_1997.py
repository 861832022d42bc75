"""Moduli of honeycombs: Gibson, L. J. and Ashby, M. F. (1997), Cellular Solids, 2nd ed., Cambridge
University Press, ch. 4 (in-plane bending of cell walls, with shear and axial stretching; the
numbers of equations from memory). Re-entrant cells are honeycombs with a negative angle.

With slant angle a, slanted length l, upright length h, thickness t, r = h/l, x = (t/l)²:
E1/Es = (t/l)³ cos a / ((r + sin a) sin² a) / (1 + (k + cot² a) x),
E2/Es = (t/l)³ (r + sin a) / cos³ a / (1 + (k + tan² a + 2 r / cos² a) x), k = 2.4 + 1.5 nu,
nu12 = cos² a / ((r + sin a) sin a) (1 + (1.4 + 1.5 nu) x) / (1 + (k + cot² a) x),
G/Es = (t/l)³ (r + sin a) / (r² (1 + 2 r) cos a).

The formulas count struts from node to node; real joints stiffen the cell by a share that falls with
t/l. So moduli are compared at two slendernesses and extrapolated to none; ratios need no such care.
"""

from __future__ import annotations

import numpy as np
import pytest

from fiddlehead.finger.pad.parameters import PadParameters
from fiddlehead.finger.pad.unit_cell import unit_cell
from fiddlehead.mesh.periodic import periodic_grid
from fiddlehead.trials.cell import CellModuli, homogenise, plane_stiffness

NU = 0.3
CELLS = [(30.0, 1.0), (45.0, 1.0), (-10.0, 1.5), (-20.0, 1.5), (-30.0, 1.5), (-30.0, 2.0)]


def honeycomb(angle_deg: float, ratio: float, slender: float, columns: int = 2) -> CellModuli:
    """A honeycomb of l = 10 mm and Es = 1 MPa, solved as it is drawn."""
    strut, angle = 10.0, np.radians(angle_deg)
    pad = PadParameters(
        cells="re-entrant" if angle_deg < 0 else "hexagonal",
        cell_count=1,
        cell_angle_deg=abs(angle_deg),
        cell_depth_mm=strut * (ratio + np.sin(angle)),
        strut_thickness_mm=slender * strut,
        end_wall_thickness_mm=1.0,
    )
    grid = periodic_grid(unit_cell(pad, 2 * strut * np.cos(angle) + 1.0), columns, 16)
    solid = plane_stiffness(1.0, NU, "stress")
    return homogenise(grid, np.broadcast_to(solid, (len(grid.nodes), 3, 3)))


def formulas(angle_deg: float, ratio: float, slender: float) -> dict[str, float]:
    a, q, x, k = np.radians(angle_deg), slender**3, slender**2, 2.4 + 1.5 * NU
    s, c = np.sin(a), np.cos(a)
    along, through = 1 + (k + (c / s) ** 2) * x, 1 + (k + (s / c) ** 2 + 2 * ratio / c**2) * x
    return {
        "modulus_along_mpa": q * c / ((ratio + s) * s**2) / along,
        "modulus_through_mpa": q * (ratio + s) / c**3 / through,
        "shear_modulus_mpa": q * (ratio + s) / (ratio**2 * (1 + 2 * ratio) * c),
        "poisson_along": c**2 / ((ratio + s) * s) * (1 + (1.4 + 1.5 * NU) * x) / along,
        "relative_density": slender * (ratio + 2) / (2 * c * (ratio + s)),
    }


@pytest.mark.parametrize(("angle_deg", "ratio"), CELLS)
def test_moduli_meet_the_formulas_in_the_slender_limit(angle_deg: float, ratio: float) -> None:
    shares = []
    for slender in (0.0025, 0.005):
        found, told = honeycomb(angle_deg, ratio, slender), formulas(angle_deg, ratio, slender)
        shares.append({name: getattr(found, name) / value for name, value in told.items()})
        # shear in the uprights is not in the formula for G, joints not in the density
        assert shares[-1]["poisson_along"] == pytest.approx(1, abs=1e-3)
    half, whole = shares
    for name in half:
        assert whole[name] == pytest.approx(1, abs=0.016), name  # 3 t/l of joint
        assert 2 * half[name] - whole[name] == pytest.approx(1, abs=0.002), name


def test_the_reentrant_cell_of_30_degrees_and_double_upright_has_minus_one() -> None:
    found = honeycomb(-30.0, 2.0, 0.005)
    assert found.poisson_along == pytest.approx(-1, abs=0.0005)
    assert found.poisson_through == pytest.approx(-1, abs=0.001)


def test_a_regular_honeycomb_is_isotropic_in_its_plane() -> None:
    found = honeycomb(30.0, 1.0, 0.05, columns=3)
    assert found.modulus_along_mpa == pytest.approx(found.modulus_through_mpa, rel=1e-4)
    isotropic = found.modulus_along_mpa / (2 * (1 + found.poisson_along))
    assert found.shear_modulus_mpa == pytest.approx(isotropic, rel=2e-3)

"""Rotating squares: Grima, J. N. and Evans, K. E. (2000), Auxetic behavior from rotating squares,
J. Mater. Sci. Lett. 19, 1563-1565: rigid squares hinged at their corners have a Poisson's ratio of
-1 at every opening angle, and repeat every 2 l (cos o/2 + sin o/2).

Printed necks are no hinges: the ratio comes near -1 as they narrow, and the stiffness falls.
"""

from __future__ import annotations

import numpy as np
import pytest

from fiddlehead.finger.pad.parameters import PadParameters
from fiddlehead.finger.pad.unit_cell import unit_cell
from fiddlehead.mesh.periodic import periodic_grid
from fiddlehead.trials.cell import CellModuli, homogenise, plane_stiffness

SIDE = 10.0


def squares(opening_deg: float, neck_mm: float) -> CellModuli:
    half = np.radians(opening_deg / 2)
    repeat = SIDE * (np.cos(half) + np.sin(half))
    pad = PadParameters(
        cells="rotating squares",
        cell_count=2,
        cell_angle_deg=opening_deg,
        cell_depth_mm=repeat,
        strut_thickness_mm=neck_mm,
        end_wall_thickness_mm=1.0,
    )
    cell = unit_cell(pad, 2 * repeat + 2.0)
    assert cell.period == pytest.approx((2 * repeat, 2 * repeat))
    grid = periodic_grid(cell, 2, 16)
    solid = plane_stiffness(1.0, 0.3, "stress")
    return homogenise(grid, np.broadcast_to(solid, (len(grid.nodes), 3, 3)))


@pytest.mark.parametrize("opening_deg", [20.0, 30.0, 50.0])
def test_narrow_necks_come_near_minus_one_at_any_angle(opening_deg: float) -> None:
    wide, narrow = squares(opening_deg, 0.2), squares(opening_deg, 0.1)
    assert -1 < narrow.poisson_along < wide.poisson_along < -0.98
    assert narrow.poisson_along == pytest.approx(-1, abs=0.004)
    assert narrow.poisson_through == pytest.approx(narrow.poisson_along, rel=1e-6)
    assert narrow.modulus_along_mpa < wide.modulus_along_mpa / 3


def test_the_squares_fill_what_the_geometry_says() -> None:
    """Ideal squares cover 1 / (1 + sin o); necks add a little."""
    found = squares(50.0, 0.01)
    assert found.relative_density == pytest.approx(1 / (1 + np.sin(np.radians(50))), rel=2e-3)

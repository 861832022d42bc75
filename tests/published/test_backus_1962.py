"""Laminates: Backus, G. E. (1962), Long-wave elastic anisotropy produced by horizontal layering,
J. Geophys. Res. 67, 4427-4440: the exact moduli of a stack of isotropic layers. The bounds are
those of Voigt and Reuss (Hill, R. (1952), Proc. Phys. Soc. A 65, 349-354).
"""

from __future__ import annotations

import numpy as np
import pytest

from fiddlehead.finger.pad.parameters import PadParameters
from fiddlehead.finger.pad.unit_cell import UnitCell, unit_cell
from fiddlehead.mesh.periodic import PeriodicGrid, periodic_grid
from fiddlehead.trials.cell import Plane, homogenise, plane_stiffness

SHARE = 0.4


def layers() -> PeriodicGrid:
    """Two layers normal to x, skewed quadrilaterals in them so that the elements matter."""
    x, lean = (0.0, SHARE, 1.0, 1.0 + SHARE), 0.07
    corners, shifts = [], []
    for k in range(2):
        corners.append([(x[k], 0), (x[k + 1], lean), (x[k + 1], 1 + lean), (x[k], 1)])
        shifts.append([(0, 0), (k, 0), (k, 1), (0, 1)])
    corners[1] = [(x[1], lean), (x[2], 0), (x[2], 1), (x[1], 1 + lean)]
    vertices = [[0, 1, 1, 0], [1, 0, 0, 1]]
    edges = (("strut", "strut"), ("strut", "strut"))
    cell = UnitCell(np.array(corners, float), np.array(vertices), np.array(shifts), edges, (1, 1))
    return periodic_grid(cell, 1, 3)


def layered(plane: Plane) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    stiff, soft = plane_stiffness(10.0, 0.3, plane), plane_stiffness(1.0, 0.45, plane)
    grid = layers()
    half = len(grid.nodes) // 2
    found = homogenise(grid, np.concatenate([np.tile(s, (half, 1, 1)) for s in (stiff, soft)]))
    return found.stiffness_mpa, stiff, soft


@pytest.mark.parametrize("plane", ["strain", "stress"])
def test_a_laminate_is_exact(plane: Plane) -> None:
    found, stiff, soft = layered(plane)

    def mean(of: np.ndarray, other: np.ndarray) -> float:
        return SHARE * float(of) + (1 - SHARE) * float(other)

    c11 = 1 / mean(1 / stiff[0, 0], 1 / soft[0, 0])
    ratio = mean(stiff[0, 1] / stiff[0, 0], soft[0, 1] / soft[0, 0])
    inner = mean(
        stiff[1, 1] - stiff[0, 1] ** 2 / stiff[0, 0], soft[1, 1] - soft[0, 1] ** 2 / soft[0, 0]
    )
    exact = np.array(
        [
            [c11, c11 * ratio, 0],
            [c11 * ratio, inner + c11 * ratio**2, 0],
            [0, 0, 1 / mean(1 / stiff[2, 2], 1 / soft[2, 2])],
        ]
    )
    np.testing.assert_allclose(found, exact, rtol=1e-8, atol=1e-10)
    if plane == "strain":  # the numbers themselves, computed apart
        told = [found[0, 0], found[0, 1], found[1, 1], found[2, 2]]
        np.testing.assert_allclose(
            told, [5.32209013, 3.52502074, 7.48270949, 0.54229935], rtol=1e-8
        )


@pytest.mark.parametrize("plane", ["strain", "stress"])
def test_moduli_lie_between_the_bounds(plane: Plane) -> None:
    found, stiff, soft = layered(plane)
    voigt = SHARE * stiff + (1 - SHARE) * soft
    reuss = np.linalg.inv(SHARE * np.linalg.inv(stiff) + (1 - SHARE) * np.linalg.inv(soft))
    assert np.linalg.eigvalsh(voigt - found).min() > -1e-12
    assert np.linalg.eigvalsh(found - reuss).min() > -1e-12
    pad = PadParameters(cells="re-entrant", cell_count=3, cell_depth_mm=7)
    grid = periodic_grid(unit_cell(pad, 25.0))
    lattice = homogenise(grid, np.broadcast_to(stiff, (len(grid.nodes), 3, 3)))
    share = lattice.relative_density
    assert np.linalg.eigvalsh(share * stiff - lattice.stiffness_mpa).min() > 0
    assert np.linalg.eigvalsh(lattice.stiffness_mpa).min() > 0

"""Inextensible cantilever under a uniform pressure that stays normal to it.

Reference: the planar elastica with a follower load, own solution of the boundary value problem
``EI θ'' = -Q``, with the shear force Q of the pressure beyond each section, by collocation
(scipy ``solve_bvp``); small loads check against w = q L⁴/(8 EI), rotation q L³/(6 EI). The class
of problem is that of Argyris & Symeonidis (1981), CMAME 26, 75-123.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_bvp

from tests.published.rig import make_rig
from tests.published.strip import BULK, LENGTH, STIFFNESS, WIDTH, strip, strip_law, tip_motion

LOADS = [1.0, 4.0, 6.0, 10.0]
TABLE = {  # load q L³/EI: sideways, shortening over the length, rotation (rad)
    1.0: (0.1244437, 0.008896471, 0.1665428),
    4.0: (0.4660233, 0.1349868, 0.6588835),
    6.0: (0.6419861, 0.2837273, 0.9743468),
    10.0: (0.8301479, 0.6453325, 1.556046),
}


def pressed_cantilever(load: float) -> tuple[float, float, float]:
    """Sideways motion, shortening (over the length) and rotation of the tip."""

    def slopes(q: float, y: np.ndarray) -> np.ndarray:
        """Along the beam: place (x, w), angle, moment, and the force of all that lies beyond."""
        angle, moment, fx, fw = y[2:]
        along, across = np.cos(angle), np.sin(angle)
        return np.stack([along, across, moment, fx * across - fw * along, q * across, -q * along])

    def ends(root: np.ndarray, tip: np.ndarray) -> np.ndarray:
        return np.array([*root[:3], *tip[3:]])

    mesh = np.linspace(0, 1, 41)
    guess = np.zeros((6, len(mesh)))
    guess[0] = mesh
    for q in np.linspace(0, load, 6)[1:]:
        solution = solve_bvp(
            lambda _, y, q=q: slopes(q, y), ends, mesh, guess, tol=1e-8, max_nodes=20000
        )
        assert solution.success
        mesh, guess = solution.x, solution.y
    x, w, angle = solution.y[:3, -1]
    return float(w), float(1 - x), float(angle)


@pytest.mark.parametrize("load", TABLE)
def test_collocation_gives_the_table(load: float) -> None:
    assert pressed_cantilever(load) == pytest.approx(TABLE[load], rel=1e-6)


def test_small_loads_bend_as_linear_theory_says() -> None:
    sideways, _, angle = pressed_cantilever(1e-3)
    assert sideways == pytest.approx(1e-3 / 8, rel=1e-5)
    assert angle == pytest.approx(1e-3 / 6, rel=1e-5)


@pytest.mark.slow
def test_slender_strip_under_live_pressure() -> None:
    mesh, fixed = strip()
    pressure = LOADS[-1] * STIFFNESS / LENGTH**3 / WIDTH
    rig = make_rig(mesh, strip_law(), BULK, fixed, pressed="y0", pressure=pressure)
    solved = rig.follow([load / LOADS[-1] for load in LOADS])
    for load, u in zip(LOADS, solved.u, strict=True):
        assert tip_motion(mesh, u) == pytest.approx(TABLE[load][:2], rel=1e-2), load

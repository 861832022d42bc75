"""Thick spherical shell under internal pressure, incompressible.

Source: Green & Zerna (1968), Theoretical Elasticity, sec. 3.10 (section number from memory); the
same in Ogden (1984), Non-linear Elastic Deformations, ch. 5. ``p = ∫ W'(l)/(l³ - 1) dl`` from the
outer to the inner hoop stretch; evaluated here by quadrature and, for the neo-Hookean law, in
closed form.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy.integrate import quad

from fiddlehead.material.laws import MooneyRivlin2, NeoHookean
from fiddlehead.testing.bodies import sphere_octant
from tests.published.rig import held, make_rig

INNER, OUTER = 1.0, 2.0
STRETCHES = [1.1, 1.25, 1.5]


def outer_stretch(stretch: float) -> float:
    return float((OUTER**3 + INNER**3 * (stretch**3 - 1)) ** (1 / 3) / OUTER)


def neo_hooke_pressure(stretch: float, mu: float = 1.0) -> float:
    la, lb = stretch, outer_stretch(stretch)
    return mu / 2 * (4 / lb + lb**-4 - 4 / la - la**-4)


def mooney_pressure(stretch: float, c10: float = 0.4, c01: float = 0.1) -> float:
    """``W = c10 (2 l² + l⁻⁴ - 3) + c01 (l⁴ + 2 l⁻² - 3)`` in equal biaxial stretch."""

    def integrand(s: float) -> float:
        return (c10 * (4 * s - 4 * s**-5) + c01 * (4 * s**3 - 4 * s**-3)) / (s**3 - 1)

    return float(quad(integrand, outer_stretch(stretch), stretch, epsabs=1e-13)[0])


def test_exact_pressures_have_the_known_digits() -> None:
    neo_hooke = [0.287154845934, 0.551868541979, 0.755433118712]
    mooney = [0.293659139214, 0.583742718282, 0.847426757594]
    assert [neo_hooke_pressure(s) for s in STRETCHES] == pytest.approx(neo_hooke, abs=1e-11)
    assert [mooney_pressure(s) for s in STRETCHES] == pytest.approx(mooney, abs=1e-11)


def test_the_neo_hookean_shell_has_a_pressure_maximum_near_twice_its_radius() -> None:
    pressures = [neo_hooke_pressure(s) for s in (1.5, 1.9, 2.5, 3.0)]
    assert pressures[0] < pressures[1] > pressures[2] > pressures[3]


@pytest.mark.slow
@pytest.mark.parametrize(
    ("law", "exact"),
    [(NeoHookean(1.0), neo_hooke_pressure), (MooneyRivlin2(0.4, 0.1), mooney_pressure)],
    ids=["neo-Hooke", "Mooney"],
)
def test_inner_radius_at_three_pressures(law: Any, exact: Any) -> None:
    mesh = sphere_octant(INNER, OUTER, 3, 2)
    fixed = held(mesh, cut_x="x", cut_y="y", cut_z="z")
    pressures = [exact(s) for s in STRETCHES]
    rig = make_rig(mesh, law, 1e4, fixed, pressed="inner", pressure=pressures[-1])
    solved = rig.follow([p / pressures[-1] for p in pressures])
    for stretch, u in zip(STRETCHES, solved.u, strict=True):
        radius = np.linalg.norm((mesh.points + u)[mesh.on("inner")], axis=1)
        assert radius.mean() == pytest.approx(stretch, rel=5e-3)

"""Inextensible cantilever under a dead transverse load at its tip.

Source: Bisshopp & Drucker (1945), Q. Appl. Math. 3, 272-275, by elliptic integrals:
``sqrt(P L²/EI) = K(m) - F(phi|m)``, ``m = (1 + sin θ)/2``, ``sin phi = 1/sqrt(2 m)``. The rows
agree with the table of Mattiasson (1981), IJNME 17, 145-153.
"""

from __future__ import annotations

import mpmath as mp
import pytest

from tests.published.rig import make_rig, spread
from tests.published.strip import (
    BULK,
    HEIGHT,
    LENGTH,
    STIFFNESS,
    WIDTH,
    strip,
    strip_law,
    tip_motion,
)

LOADS = [1.0, 2.0, 3.0, 5.0, 7.0, 10.0]
MATTIASSON = {  # load: sideways, shortening, rotation (rad)
    1.0: (0.30172, 0.05643, 0.46135),
    2.0: (0.49346, 0.16064, 0.78175),
    5.0: (0.71379, 0.38763, 1.21537),
    10.0: (0.81061, 0.55500, 1.43029),
}


def elastica(load: float) -> tuple[float, float, float]:
    """Sideways motion and shortening over the length, and rotation of the tip."""

    def incomplete(theta: mp.mpf) -> tuple[mp.mpf, mp.mpf]:
        m = (1 + mp.sin(theta)) / 2
        return m, mp.asin(1 / mp.sqrt(2 * m))

    def mismatch(theta: mp.mpf) -> mp.mpf:
        m, phi = incomplete(theta)
        return mp.ellipk(m) - mp.ellipf(phi, m) - mp.sqrt(load)

    theta = mp.findroot(mismatch, (0.05, 1.55), solver="anderson")
    m, phi = incomplete(theta)
    sideways = 1 - 2 * (mp.ellipe(m) - mp.ellipe(phi, m)) / mp.sqrt(load)
    shortening = 1 - mp.sqrt(2 * mp.sin(theta) / load)
    return float(sideways), float(shortening), float(theta)


@pytest.mark.parametrize("load", MATTIASSON)
def test_elliptic_integrals_give_the_published_table(load: float) -> None:
    assert elastica(load) == pytest.approx(MATTIASSON[load], abs=6e-6)


@pytest.mark.slow
def test_slender_strip_follows_the_elastica() -> None:
    mesh, fixed = strip()
    shear = LOADS[-1] * STIFFNESS / LENGTH**2 / (HEIGHT * WIDTH)
    dead = spread(mesh, mesh.faces["x1"], (0.0, shear, 0.0))
    solved = make_rig(mesh, strip_law(), BULK, fixed, dead=dead).follow(
        [load / LOADS[-1] for load in LOADS]
    )
    for load, u in zip(LOADS, solved.u, strict=True):
        assert tip_motion(mesh, u) == pytest.approx(elastica(load)[:2], rel=1e-2), load

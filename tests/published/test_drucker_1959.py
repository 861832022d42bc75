"""Drucker (1959), A definition of stable inelastic material, J. Appl. Mech. 26, 101-106.

Stretch at which the incompressible plane-stress tangent loses positive definiteness. The table was
computed independently in steps of 5e-4 (hence the tolerance of 1e-3); each limit is judged a second
time here by the tangent in closed form.
"""

from __future__ import annotations

import numpy as np
import pytest

from fiddlehead.material.laws import Gent, MooneyRivlin2, Yeoh
from fiddlehead.material.stability import stability, stability_limit

ORDER = ("uniaxial", "compression", "equibiaxial", "planar")
SOFT = MooneyRivlin2(1.0, -0.2)
YEOH_UP = Yeoh(0.5, -0.05, 0.002)
YEOH_DOWN = Yeoh(0.5, -0.02, 0.0)
TABLE = [
    (SOFT, (2.2365, 0.3715, 1.640, 2.122)),
    (YEOH_UP, (2.241, 0.3845, 1.6125, 2.1045)),
    (YEOH_DOWN, (2.797, 0.251, 1.9955, 2.6745)),
]
IDS = ["mooney-rivlin", "yeoh with upturn", "yeoh without"]
# The planar limits of the table in compression (0.471, 0.475, 0.3735) and the equibiaxial ones
# (0.6685, 0.668, 0.5975) are tests nobody runs; the product does not report them.


@pytest.mark.parametrize(("law", "limits"), TABLE, ids=IDS)
def test_limits(law, limits):
    found = [stability_limit(law, mode) for mode in ORDER]
    np.testing.assert_allclose(found, limits, rtol=0, atol=1e-3)


def slopes(law, i1):
    """W1, W2, W11 of the laws above, in closed form."""
    if isinstance(law, MooneyRivlin2):
        return law.c10_mpa, law.c01_mpa, 0.0
    a = i1 - 3.0
    w1 = law.c10_mpa + 2 * law.c20_mpa * a + 3 * law.c30_mpa * a * a
    return w1, 0.0, 2 * law.c20_mpa + 6 * law.c30_mpa * a


def smallest(law, stretch, power):
    """Smallest eigenvalue of d tau_i/d ln l_j with tau_i = 2 (l_i² - l_3²) W1 - 2 (l_i^-2 -
    l_3^-2) W2, differentiated by hand."""
    l1, l2 = stretch, stretch**power
    squares = np.array([l1**2, l2**2])
    third = 1.0 / (squares[0] * squares[1])
    w1, w2, w11 = slopes(law, squares.sum() + third)
    first, second = squares - third, -(1 / squares - 1 / third)
    tangent = np.empty((2, 2))
    for i in range(2):
        for j in range(2):
            same = 1.0 if i == j else 0.0
            tangent[i, j] = (
                4 * w1 * (same * squares[i] + third)
                + 4 * w2 * (same / squares[i] + 1 / third)
                + 4 * w11 * first[i] * first[j]
            )
    assert second.shape == (2,)
    return np.linalg.eigvalsh(tangent)[0]


@pytest.mark.parametrize("mode", ORDER)
@pytest.mark.parametrize("law", [row[0] for row in TABLE], ids=IDS)
def test_closed_form_changes_sign_at_the_reported_limit(law, mode):
    power = {"uniaxial": -0.5, "compression": -0.5, "equibiaxial": 1.0, "planar": 0.0}[mode]
    limit = stability_limit(law, mode)
    towards_rest = -1e-4 if limit > 1 else 1e-4
    assert smallest(law, limit + towards_rest, power) > 0
    assert smallest(law, limit - towards_rest, power) < 0


def test_positive_mooney_rivlin_is_stable_everywhere():
    check = stability(MooneyRivlin2(0.4, 0.1), use_strain=2.0)
    assert set(check.limits.values()) == {None}
    assert check.stable


def test_fit_of_treloar_uniaxial_is_unstable_at_rest():
    check = stability(MooneyRivlin2(0.4088175, -0.7509699), use_strain=0.1)
    assert not check.positive_modulus
    assert set(check.limits.values()) == {1.0}
    assert not check.stable


def test_a_law_safe_in_the_tensile_test_can_fail_in_a_ballooning_wall():
    check = stability(YEOH_UP, use_strain=0.9)
    assert check.stable_in("uniaxial")
    assert not check.stable_in("equibiaxial")
    assert not check.stable
    assert "equibiaxial at stretch 1.61" in check.losses


def test_limit_of_extensibility_counts_as_lost():
    """Gent's energy ends where I1 - 3 = Jm: equibiaxial 2 l² + l^-4 = 3 + Jm."""
    limit = stability_limit(Gent(1.0, 20.0), "equibiaxial")
    assert 2 * limit**2 + limit**-4 == pytest.approx(23.0, rel=1e-4)

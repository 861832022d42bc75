"""Stress from the energy alone against the closed forms of the textbook.

Treloar (1975), The Physics of Rubber Elasticity, 3rd ed.; Holzapfel (2000), Nonlinear Solid
Mechanics, ch. 6: P = 2 (l - l^-2)(W1 + W2/l) uniaxial, 2 (l - l^-5)(W1 + W2 l²) equibiaxial,
2 (l - l^-3)(W1 + W2) planar; Ogden P = Σ mu (l^(a-1) - l^(-1-a/2)), l^(-2a-1), l^(-a-1).
"""

from __future__ import annotations

import jax
import jax.numpy as jnp
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fiddlehead.material.laws import ArrudaBoyce, Gent, MooneyRivlin5, Ogden2, Yeoh
from fiddlehead.material.response import nominal_stress_mpa, plane_tangent, response_curves

STRETCH = np.array([0.55, 0.8, 0.95, 1.0, 1.1, 1.5, 2.0, 3.0])
MODES = ("uniaxial", "planar", "equibiaxial")


def invariants(mode, stretch):
    second = {"uniaxial": stretch**-0.5, "planar": 1.0 + 0 * stretch, "equibiaxial": stretch}[mode]
    third = 1.0 / (stretch * second)
    i1 = stretch**2 + second**2 + third**2
    return i1, stretch**-2 + second**-2 + third**-2


def closed_form(law, mode, stretch):
    i1, i2 = invariants(mode, stretch)
    w1 = np.array([float(jax.grad(law.density, 0)(a, b)) for a, b in zip(i1, i2, strict=True)])
    w2 = np.array([float(jax.grad(law.density, 1)(a, b)) for a, b in zip(i1, i2, strict=True)])
    power, weight = {
        "uniaxial": (-2, 1 / stretch),
        "planar": (-3, 1.0),
        "equibiaxial": (-5, stretch**2),
    }[mode]
    return 2 * (stretch - stretch**power) * (w1 + w2 * weight)


@pytest.mark.parametrize("mode", MODES)
@pytest.mark.parametrize(
    "law",
    [
        MooneyRivlin5(1.6, 0.4, 0.02, -0.03, 0.05),
        Yeoh(2.0, -0.12, 0.012),
        Gent(4.0, 90.0),
        ArrudaBoyce(4.0, 2.5),
    ],
    ids=lambda law: law.name,
)
def test_invariant_laws(law, mode):
    expected = closed_form(law, mode, STRETCH)
    found = np.asarray(nominal_stress_mpa(law, mode, STRETCH))
    np.testing.assert_allclose(found, expected, rtol=1e-10, atol=1e-12)


@given(
    alpha=st.floats(0.2, 8.0) | st.floats(-8.0, -0.2),
    stretch=st.floats(0.4, 4.0),
    mode=st.sampled_from(MODES),
)
@settings(max_examples=60, deadline=None)
def test_ogden(alpha, stretch, mode):
    law = Ogden2(0.7, alpha, 0.2, 1.7)
    back = {"uniaxial": -0.5, "planar": -1.0, "equibiaxial": -2.0}[mode]
    expected = sum(
        mu * (stretch ** (a - 1) - stretch ** (back * a - 1))
        for mu, a in ((0.7, alpha), (0.2, 1.7))
    )
    found = float(nominal_stress_mpa(law, mode, np.array([stretch]))[0])
    size = abs(0.7) * (stretch ** (alpha - 1) + stretch ** (back * alpha - 1)) + 1
    assert found == pytest.approx(expected, abs=1e-10 * size)


def test_synthetic_yeoh_vector():
    """c10, c20, c30 = 2.0, -0.12, 0.012 MPa (no material), evaluated independently."""
    law = Yeoh(2.0, -0.12, 0.012)
    at = np.array([0.8, 1.1, 1.5, 2.0])
    expected = {
        "uniaxial": [-3.000, 1.091, 3.953, 5.824],
        "equibiaxial": [-8.312, 1.893, 4.642, 6.724],
        "planar": [-4.504, 1.389, 4.455, 6.158],
    }
    for mode, values in expected.items():
        np.testing.assert_allclose(nominal_stress_mpa(law, mode, at), values, atol=5.1e-4)


@given(stretch=st.floats(1.05, 3.0))
@settings(max_examples=30, deadline=None)
def test_uniaxial_compression_is_equibiaxial_tension(stretch):
    """Pressing to l is pulling both other ways to l^-1/2: same true stress up to a pressure."""
    law = Yeoh(2.0, -0.12, 0.012)
    pressed = stretch**-2
    true_pressed = pressed * float(nominal_stress_mpa(law, "compression", np.array([pressed]))[0])
    true_pulled = stretch * float(nominal_stress_mpa(law, "equibiaxial", np.array([stretch]))[0])
    assert true_pressed == pytest.approx(-true_pulled, rel=1e-10)


def test_tangent_is_symmetric():
    pairs = jnp.asarray(np.random.default_rng(3).uniform(-0.5, 0.5, (20, 2)))
    tangent = np.asarray(plane_tangent(Ogden2(3.0, 1.4, -0.5, -3.0), pairs))
    np.testing.assert_allclose(tangent, tangent.transpose(0, 2, 1), rtol=1e-12)


def test_response_curves_are_plain_numbers_per_mode():
    law = Yeoh(2.0, -0.12, 0.012)
    ranges = {"uniaxial": (1.0, 1.6), "compression": (0.6, 1.0)}
    curves = response_curves("Yeoh", law, ranges, points=11)
    assert [(c.label, c.mode) for c in curves] == [("Yeoh", "uniaxial"), ("Yeoh", "compression")]
    for curve in curves:
        assert type(curve.nominal_stress_mpa) is np.ndarray
        assert (curve.stretch[0], curve.stretch[-1]) == ranges[curve.mode]
        np.testing.assert_allclose(
            curve.nominal_stress_mpa, nominal_stress_mpa(law, curve.mode, curve.stretch)
        )

"""Fits give laws back that made the data, and say how well they are known."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fiddlehead.errors import CurveError, InputError, ParameterError
from fiddlehead.material.catalogue import CATALOGUE
from fiddlehead.material.fit import corrected_akaike, fit_law
from fiddlehead.material.laws import (
    LAWS,
    ArrudaBoyce,
    Gent,
    MooneyRivlin5,
    Ogden2,
    Yeoh,
    law_from_constants,
)
from fiddlehead.material.records import ReducedCurve
from fiddlehead.material.regression import Start, regress, regress_linear
from fiddlehead.material.response import nominal_stress_mpa


def reduced(mode, stretch, stress, scatter=0.0, specimens=5):
    stress = np.asarray(stress, dtype=float)
    return ReducedCurve(
        mode=mode,
        cycle="conditioned",
        stretch=np.asarray(stretch, dtype=float),
        nominal_stress_mpa=stress,
        scatter_mpa=np.full(len(stress), scatter),
        specimens=specimens,
        cycles=4,
        residual_strain=0.0,
        hysteresis_loss=0.1,
        softening=0.2,
        files=(),
    )


def made_by(law, modes=("uniaxial", "planar", "equibiaxial"), noise=0.0, top=1.8):
    rng = np.random.default_rng(11)
    stretch = np.linspace(1.03, top, 20)
    curves = []
    for mode in modes:
        at = 1.0 / stretch if mode == "compression" else stretch
        stress = np.asarray(nominal_stress_mpa(law, mode, at))
        curves.append(reduced(mode, at, stress * (1 + noise * rng.standard_normal(20))))
    return curves


@pytest.mark.parametrize(
    "law",
    [
        Yeoh(2.0, -0.12, 0.012),
        MooneyRivlin5(1.6, 0.4, 0.02, -0.03, 0.05),
        Ogden2(3.0, 1.4, -0.5, -3.0),
        ArrudaBoyce(4.0, 1.8),
        Gent(4.0, 6.0),
    ],
    ids=lambda law: law.name,
)
@pytest.mark.parametrize("weighting", ["relative", "absolute"])
def test_constants_come_back(law, weighting):
    fit = fit_law(law.name, made_by(law), weighting=weighting)
    expected = [getattr(law, name) for name in CATALOGUE[law.name].constants]
    np.testing.assert_allclose(list(fit.constants.values()), expected, rtol=1e-5)
    assert fit.relative_error < 1e-7
    assert fit.shear_modulus_mpa == pytest.approx(float(law.shear_modulus_mpa), rel=1e-6)


@given(
    c10=st.floats(0.3, 5.0),
    c20=st.floats(-0.05, 0.1),
    c30=st.floats(0.0, 0.05),
)
@settings(max_examples=20, deadline=None)
def test_any_yeoh_comes_back_from_tension_and_compression(c10, c20, c30):
    curves = made_by(Yeoh(c10, c20, c30), modes=("uniaxial", "compression"))
    fit = fit_law("yeoh", curves)
    np.testing.assert_allclose(
        list(fit.constants.values()), [c10, c20, c30], rtol=1e-6, atol=1e-8 * c10
    )


@pytest.mark.parametrize("name", CATALOGUE)
def test_scaling_stress_scales_moduli_only(name):
    """Units of stress may not matter: twice the stress, twice the modulus, same errors."""
    curves = made_by(Yeoh(2.0, -0.12, 0.012), noise=0.02)
    double = [reduced(c.mode, c.stretch, 2 * c.nominal_stress_mpa) for c in curves]
    one, two = fit_law(name, curves), fit_law(name, double)
    assert two.shear_modulus_mpa == pytest.approx(2 * one.shear_modulus_mpa, rel=1e-3)
    assert two.relative_error == pytest.approx(one.relative_error, rel=1e-3)


def test_deviations_shrink_with_the_noise():
    loud, quiet = (
        fit_law("yeoh", made_by(Yeoh(2.0, -0.12, 0.012), noise=noise)) for noise in (0.02, 0.002)
    )
    for key in loud.constants:
        assert loud.deviations[key] == pytest.approx(10 * quiet.deviations[key], rel=0.2)
        true = {"c10_mpa": 2.0, "c20_mpa": -0.12, "c30_mpa": 0.012}[key]
        assert abs(loud.constants[key] - true) < 4 * loud.deviations[key]


def test_relative_weighting_minds_small_strain():
    """A law too poor for the data: relative weighting keeps the initial modulus closer."""
    curves = made_by(Yeoh(2.0, 0.1, 0.02), modes=("uniaxial",), top=2.5)
    relative, absolute = (
        fit_law("neo_hookean", curves, weighting=w) for w in ("relative", "absolute")
    )
    assert abs(relative.shear_modulus_mpa - 4.0) < abs(absolute.shear_modulus_mpa - 4.0)
    assert relative.relative_error < absolute.relative_error
    assert relative.sum_of_squares_mpa2 > absolute.sum_of_squares_mpa2


def test_gent_limit_stays_beyond_the_data():
    """Data of another law that stiffens sharply: Jm may not fall inside them."""
    curves = made_by(Yeoh(0.2, 0.0, 0.3), modes=("uniaxial",), top=2.5)
    fit = fit_law("gent", curves, weighting="absolute")
    largest = 2.5**2 + 2 / 2.5 - 3
    assert fit.constants["jm"] > largest
    assert np.isfinite(fit.sum_of_squares)


def test_every_ogden_term_is_stable_on_its_own():
    for name in ("ogden_1", "ogden_2", "ogden_3"):
        fit = fit_law(name, made_by(Yeoh(2.0, -0.2, 0.03), noise=0.01))
        values = list(fit.constants.values())
        assert all(mu * alpha >= 0 for mu, alpha in zip(values[::2], values[1::2], strict=True))


def test_too_few_points():
    short = [reduced("uniaxial", [1.1, 1.2, 1.3], [1.0, 1.8, 2.5])]
    with pytest.raises(CurveError, match="more constants than there are points"):
        fit_law("yeoh", short)
    assert fit_law("neo_hookean", short).points == 3


def test_unknown_law_gets_the_nearest_name():
    with pytest.raises(ParameterError) as caught:
        fit_law("yoeh", [])
    assert "'yeoh'" in caught.value.remedy


def test_corrected_akaike():
    """n ln(SSE/n) + 2k + 2k(k+1)/(n-k-1) with k counting the variance (Hurvich & Tsai 1989)."""
    assert corrected_akaike(2.0, 20, 3) == pytest.approx(20 * np.log(0.1) + 8 + 40 / 15)
    assert corrected_akaike(1.0, 5, 4) == np.inf
    assert corrected_akaike(0.0, 20, 1) < corrected_akaike(0.0, 20, 3)
    known = corrected_akaike(0.02, 20, 2, smallest_variance=0.01)
    closer = corrected_akaike(0.01, 20, 5, smallest_variance=0.01)
    assert known < closer  # both far within the scatter: the simpler law wins


def test_regression_needs_a_finite_start():
    with pytest.raises(InputError, match="no starting point"):
        regress(lambda b: np.log(b), lambda b: np.diag(1 / b), [Start([float("nan")])])


def test_constants_on_a_bound_have_no_deviation():
    x = np.linspace(0, 1, 10)
    found = regress(
        lambda b: b[0] + b[1] * x - (1 - x),
        lambda b: np.stack([np.ones_like(x), x], axis=1),
        [Start([1.0, 1.0], (-5.0, 0.5), (5.0, 5.0))],
    )
    assert found.values[1] == pytest.approx(0.5, abs=1e-6)
    assert np.isfinite(found.deviations[0])
    assert np.isnan(found.deviations[1])


def test_linear_regression_agrees_with_the_textbook():
    rng = np.random.default_rng(2)
    design = rng.standard_normal((30, 3)) * [1.0, 1e3, 1e-3]
    target = rng.standard_normal(30)
    found = regress_linear(design, target)
    inverse = np.linalg.inv(design.T @ design)
    values = inverse @ design.T @ target
    residual = design @ values - target
    np.testing.assert_allclose(found.values, values, rtol=1e-8)
    np.testing.assert_allclose(
        found.deviations, np.sqrt(np.diag(inverse) * (residual @ residual) / 27), rtol=1e-8
    )


def test_law_from_constants_by_name():
    law = law_from_constants("gent", {"jm": 6.0, "mu_mpa": 4.0})
    assert law == LAWS["gent"](4.0, 6.0)

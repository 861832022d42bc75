"""Arruda & Boyce (1993), J. Mech. Phys. Solids 41, 389-412: coefficients and initial modulus.

The five coefficients are derived again here, by reversing the Langevin series with fractions.
"""

from __future__ import annotations

from fractions import Fraction
from math import factorial

import pytest

from fiddlehead.material.laws import ArrudaBoyce
from fiddlehead.material.laws.arruda_boyce import SERIES


def langevin_coefficient(n):
    """Coefficient of x^(2n-1) in coth x - 1/x: 2^(2n) B_2n / (2n)!."""
    bernoulli = [Fraction(1)]
    for m in range(1, 2 * n + 1):
        total = sum(
            Fraction(factorial(m + 1), factorial(k) * factorial(m + 1 - k)) * bernoulli[k]
            for k in range(m)
        )
        bernoulli.append(-total / (m + 1))
    return Fraction(2 ** (2 * n)) * bernoulli[2 * n] / factorial(2 * n)


def inverse_langevin(terms):
    """Coefficients of y^(2k-1) of the inverse function, by requiring L(L^-1(y)) = y."""
    size = 2 * terms
    inverse = [Fraction(0)] * size

    def composed():
        total = [Fraction(0)] * size
        power = [Fraction(1)] + [Fraction(0)] * (size - 1)
        for degree in range(1, size):
            power = [
                sum((power[j] * inverse[i - j] for j in range(i + 1)), Fraction(0))
                for i in range(size)
            ]
            if degree % 2:
                c = langevin_coefficient((degree + 1) // 2)
                total = [t + c * p for t, p in zip(total, power, strict=True)]
        return total

    inverse[1] = Fraction(3)
    for k in range(2, terms + 1):
        inverse[2 * k - 1] = -composed()[2 * k - 1] * 3
    return [inverse[2 * k - 1] for k in range(1, terms + 1)]


def test_series_coefficients():
    """Energy of a chain is the integral of L^-1; with y² = I1/(3 lm²) the term k is
    a_k/(2k) (1/3)^k times 1/(...) scaled so that the first is 1/2."""
    a = inverse_langevin(5)
    energy = [a[k - 1] / (2 * k) / Fraction(3) ** (k - 1) / 3 for k in range(1, 6)]
    assert energy == [
        Fraction(1, 2),
        Fraction(1, 20),
        Fraction(11, 1050),
        Fraction(19, 7000),
        Fraction(519, 673750),
    ]
    assert [float(c) for c in energy] == list(SERIES)


@pytest.mark.parametrize(
    ("locking", "factor"), [(2.0, 1.196955), (3.0, 1.074550), (5.0, 1.024944), (7.0, 1.012486)]
)
def test_initial_modulus_factor(locking, factor):
    law = ArrudaBoyce(1.0, locking)
    s = locking**2
    series = 1 + 3 / (5 * s) + 99 / (175 * s**2) + 513 / (875 * s**3) + 42039 / (67375 * s**4)
    assert law.shear_modulus_mpa == pytest.approx(series, rel=1e-12)
    assert law.shear_modulus_mpa == pytest.approx(factor, abs=5.1e-7)

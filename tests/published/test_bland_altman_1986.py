"""Agreement of two ways of measuring: limits of agreement and concordance.

J. M. Bland and D. G. Altman (1986), Lancet 327, 307-310: peak flow of 17 subjects on a large and a
mini meter, first readings of each. Published: mean difference -2.1 L/min, SD 38.8, limits -79.7 to
75.5 (with 2 SD). The table is from memory and reproduces them. Concordance after L. I. Lin (1989),
Biometrics 45, 255-268, both forms; its values were computed apart from this code.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from fiddlehead.bench.agreement import agreement

DATA = Path(__file__).parent / "data" / "bland_altman_1986_pefr.csv"


def meters() -> tuple[np.ndarray, np.ndarray]:
    rows = np.loadtxt(DATA, delimiter=",", comments="#", skiprows=2)
    return rows[:, 1], rows[:, 3]


def test_published_bias_and_limits_with_two_sd() -> None:
    large, mini = meters()
    found = agreement(mini, large, width=2.0)  # differences large - mini, as printed
    assert found.pairs == 17
    assert found.bias == pytest.approx(-2.1, abs=0.05)
    assert found.sd == pytest.approx(38.8, abs=0.05)
    assert found.low == pytest.approx(-79.7, abs=0.1)
    assert found.high == pytest.approx(75.5, abs=0.1)


def test_values_computed_apart() -> None:
    large, mini = meters()
    found = agreement(large, mini)
    assert found.correlation == pytest.approx(0.9433, abs=5e-5)
    assert found.concordance == pytest.approx(0.942742, abs=1e-6)
    assert found.concordance_unbiased == pytest.approx(0.942752, abs=1e-6)
    assert found.rmse == pytest.approx(37.6673, abs=1e-4)
    assert found.mae == pytest.approx(28.9412, abs=1e-4)
    assert found.mape_percent == pytest.approx(8.0413, abs=1e-4)


def test_five_pairs_by_hand() -> None:
    """Differences -1, 1, 1, -2, 2: sums on paper."""
    test = np.array([11.0, 19.0, 30.0, 41.0, 50.0])
    simulated = np.array([10.0, 20.0, 31.0, 39.0, 52.0])
    found = agreement(test, simulated)
    assert found.bias == pytest.approx(0.2)
    assert found.sd == pytest.approx(2.7**0.5, rel=1e-12)
    assert (found.low, found.high) == pytest.approx((-3.020609, 3.420609), abs=1e-6)
    assert found.rmse == pytest.approx(2.2**0.5)
    assert found.mae == pytest.approx(1.4)
    assert found.mape_percent == pytest.approx(5.313090, abs=1e-6)
    assert found.concordance == pytest.approx(0.994681, abs=1e-6)
    assert found.concordance_unbiased == pytest.approx(0.994701, abs=1e-6)
    assert found.correlation**2 == pytest.approx(0.990484, abs=1e-5)

"""Weibull life of 23 deep-groove ball bearings, and one censored set.

J. Lieblein and M. Zelen (1956), J. Res. Natl. Bur. Stand. 57, 273-316: millions of revolutions to
failure (values from memory, as reprinted by J. F. Lawless (1982), Statistical Models and Methods
for Lifetime Data, who gives maximum-likelihood shape 2.10 and scale 81.9).
E. J. Freireich et al. (1963), Blood 21, 699-716: weeks of remission of 21 patients, 12 of them
censored (values from memory; Lawless, same book).
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq

from fiddlehead.bench.counts import weibull_life
from fiddlehead.errors import CurveError

BEARINGS = np.array(
    [17.88, 28.92, 33.00, 41.52, 42.12, 45.60, 48.48, 51.84, 51.96, 54.12, 55.56, 67.80, 68.64,
     68.64, 68.88, 84.12, 93.12, 98.64, 105.12, 105.84, 127.92, 128.04, 173.40]
)  # fmt: skip
REMISSION = np.array([6, 6, 6, 7, 10, 13, 16, 22, 23.0])
STILL_WELL = np.array([6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35.0])


def profile_shape(cycles: np.ndarray, failed: np.ndarray) -> float:
    """The likelihood equation of the shape alone, solved by bisection."""

    def equation(shape: float) -> float:
        power = cycles**shape
        mean_log = np.log(cycles[failed]).mean()
        return float((power * np.log(cycles)).sum() / power.sum() - 1.0 / shape - mean_log)

    return float(brentq(equation, 0.1, 10.0, xtol=1e-12))


def test_bearings() -> None:
    life = weibull_life(BEARINGS, np.ones(23, bool))
    assert life.shape == pytest.approx(2.10, abs=0.005)
    assert life.scale == pytest.approx(81.9, abs=0.05)
    assert life.shape_low < 2.1 < life.shape_high
    assert life.warnings == ()


def test_survivors_count_as_survivors() -> None:
    cycles = np.concatenate([REMISSION, STILL_WELL])
    failed = np.arange(21) < 9
    life = weibull_life(cycles, failed)
    shape = profile_shape(cycles, failed)
    assert life.shape == pytest.approx(shape, rel=1e-3)  # the library stops at about 1e-4
    assert life.scale == pytest.approx(((cycles**shape).sum() / 9) ** (1 / shape), rel=1e-3)
    assert (life.failures, life.survivors) == (9, 12)
    dead = weibull_life(cycles, np.ones(21, bool))
    assert life.mean > 1.5 * dead.mean


def test_the_interval_covers_as_often_as_it_says() -> None:
    """200 samples of 20 from shape 2, scale 1000: the 95 % interval of the scale holds in 90 to
    99 % (binomial scatter of 200 trials about 95 % is 1.5 %; few lives make it somewhat low)."""
    draw = np.random.default_rng(11)
    hits = 0
    for _ in range(200):
        cycles = 1000.0 * draw.weibull(2.0, 20)
        life = weibull_life(cycles, np.ones(20, bool))
        hits += life.scale_low < 1000.0 < life.scale_high
    assert 0.90 <= hits / 200 <= 0.99


def test_few_lives_and_early_failures_are_told() -> None:
    life = weibull_life(np.array([3.0, 40.0, 900.0, 4000.0]), np.ones(4, bool))
    assert "too few" in life.warnings[0]
    assert "early failures" in life.warnings[1]
    with pytest.raises(CurveError, match="two failures"):
        weibull_life(np.array([100.0, 200.0]), np.array([True, False]))

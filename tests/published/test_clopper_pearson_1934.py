"""Exact limits of a success rate.

C. J. Clopper and E. S. Pearson (1934), Biometrika 26, 404-413. Two-sided 95 % limits of four cases
from R. G. Newcombe (1998), Statistics in Medicine 17, 857-872, table I, exact method (values from
memory, four digits). One-sided limits of faultless series have the closed form 0.05^(1/n).
"""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binom

from fiddlehead.bench.counts import success_rate
from fiddlehead.errors import CurveError

NEWCOMBE = [
    (81, 263, 0.2527, 0.3676),
    (15, 148, 0.0578, 0.1617),
    (0, 20, 0.0000, 0.1684),
    (1, 29, 0.0009, 0.1776),
]


@pytest.mark.parametrize(("successes", "trials", "low", "high"), NEWCOMBE)
def test_newcombe_table_1(successes: int, trials: int, low: float, high: float) -> None:
    found = success_rate(successes, trials)
    assert (found.low, found.high) == pytest.approx((low, high), abs=1e-4)


@pytest.mark.parametrize("trials", [10, 20, 30, 59])
def test_faultless_series_prove_no_more_than_this(trials: int) -> None:
    assert success_rate(trials, trials).proven == pytest.approx(0.05 ** (1.0 / trials), rel=1e-9)


@settings(deadline=None)
@given(st.integers(1, 60).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_limits_are_where_the_tails_hold_two_and_a_half_percent(case: tuple[int, int]) -> None:
    successes, trials = case
    found = success_rate(successes, trials)
    if successes:
        assert binom.sf(successes - 1, trials, found.low) == pytest.approx(0.025, rel=1e-6)
    if successes < trials:
        assert binom.cdf(successes, trials, found.high) == pytest.approx(0.025, rel=1e-6)


def test_impossible_counts_are_refused() -> None:
    for successes, trials in ((3, 2), (-1, 4), (0, 0)):
        with pytest.raises(CurveError):
            success_rate(successes, trials)

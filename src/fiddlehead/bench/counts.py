"""Trials that are counted: success rates, pull-off forces, cycles to failure."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import numpy as np
from jaxtyping import Bool, Float

from fiddlehead.bench.records import BenchRecord
from fiddlehead.errors import CurveError

CONFIDENCE = 0.95


@dataclasses.dataclass(frozen=True, kw_only=True)
class SuccessRate:
    """Successes out of trials with the exact interval (Clopper & Pearson 1934, Biometrika 26)."""

    name: str
    successes: int
    trials: int
    low: float
    high: float
    """Two-sided 95 % limits."""
    proven: float
    """One-sided 95 % lower limit: what the trials prove at least."""

    @property
    def rate(self) -> float:
        """Observed share."""
        return self.successes / self.trials


def success_rate(
    successes: int, trials: int, name: str = "", confidence: float = CONFIDENCE
) -> SuccessRate:
    """Exact binomial limits.

    Raises
    ------
    CurveError : no trials, or more successes than trials
    """
    from scipy.stats import binomtest

    if not 0 <= successes <= trials or trials < 1:
        raise CurveError(
            "successes must be between 0 and the number of trials",
            found=f"{successes} of {trials}",
        )
    both = binomtest(successes, trials).proportion_ci(confidence, method="exact")
    one = binomtest(successes, trials, alternative="greater").proportion_ci(
        confidence, method="exact"
    )
    return SuccessRate(
        name=name,
        successes=successes,
        trials=trials,
        low=float(both.low),
        high=float(both.high),
        proven=float(one.low),
    )


def pick_rates(records: Sequence[BenchRecord], outcome: str = "picked") -> list[SuccessRate]:
    """Success rate for each object over all fingers and repeats; ``damaged`` works the same."""
    by_object: dict[str, list[float]] = {}
    for record in records:
        if outcome in record.values:
            flags = record.values[outcome]
            by_object.setdefault(record.object_name, []).extend(flags[np.isfinite(flags)])
    return [
        success_rate(int(sum(flags)), len(flags), name)
        for name, flags in by_object.items()
        if flags
    ]


@dataclasses.dataclass(frozen=True, kw_only=True)
class MeanForce:
    """Mean of repeated forces on one object with its 95 % interval (Student's t)."""

    name: str
    mean_n: float
    sd_n: float
    n: int
    low_n: float
    high_n: float


def pull_off(records: Sequence[BenchRecord]) -> list[MeanForce]:
    """Mean pull-off force for each object; one row of a record is one pull."""
    from scipy.stats import t

    by_object: dict[str, list[float]] = {}
    for record in records:
        by_object.setdefault(record.object_name, []).extend(record.values["force_n"])
    found = []
    for name, forces in by_object.items():
        mean, n = float(np.mean(forces)), len(forces)
        sd = float(np.std(forces, ddof=1)) if n > 1 else float("nan")
        half = float(t.ppf(0.5 + CONFIDENCE / 2, n - 1)) * sd / n**0.5 if n > 1 else float("nan")
        found.append(
            MeanForce(name=name, mean_n=mean, sd_n=sd, n=n, low_n=mean - half, high_n=mean + half)
        )
    return found


@dataclasses.dataclass(frozen=True, kw_only=True)
class WeibullLife:
    """Cycles to failure as a two-parameter Weibull law; intervals 95 %.

    Fingers that still work count as survivors (right-censored).
    """

    shape: float
    shape_low: float
    shape_high: float
    scale: float
    """Cycles by which 63 % have failed."""
    scale_low: float
    scale_high: float
    mean: float
    sd: float
    ten_percent_failed: float
    """Cycles by which 10 % have failed."""
    failures: int
    survivors: int
    warnings: tuple[str, ...]


FEWEST_LIVES = 5
"""Fewer lives give a Weibull law only in name; common practice, no source."""


def weibull_life(
    cycles: Float[np.ndarray, " finger"], failed: Bool[np.ndarray, " finger"]
) -> WeibullLife:
    """Maximum likelihood with survivors; limits from the observed information of the logarithms.

    Source: Lawless (1982), Statistical Models and Methods for Lifetime Data, chapter 4.

    Raises
    ------
    CurveError : fewer than two failures, or cycles that are not positive
    """
    from scipy.special import gamma
    from scipy.stats import CensoredData, weibull_min

    if failed.sum() < 2 or cycles.min() <= 0 or len(set(cycles[failed])) < 2:
        raise CurveError(
            "a life law needs two failures at different cycles, and cycles above zero",
            found=f"{int(failed.sum())} failures of {len(cycles)} fingers",
            remedy="Run on until more fingers fail; until then report the cycles survived.",
        )
    data = CensoredData.right_censored(cycles, ~failed)
    shape, _, scale = weibull_min.fit(data, floc=0)
    shape, scale = float(shape), float(scale)
    spread = 1.959963984540054 * _log_errors(cycles, failed, shape, scale)
    warnings = []
    if len(cycles) < FEWEST_LIVES:
        warnings.append(
            f"{len(cycles)} lives are too few for a law (common practice: {FEWEST_LIVES} or more)"
        )
    if shape < 1.0:
        warnings.append("shape below 1: early failures, look for printing faults before wear")
    first = float(gamma(1.0 + 1.0 / shape))
    second = float(gamma(1.0 + 2.0 / shape))
    return WeibullLife(
        shape=shape,
        shape_low=shape * float(np.exp(-spread[1])),
        shape_high=shape * float(np.exp(spread[1])),
        scale=scale,
        scale_low=scale * float(np.exp(-spread[0])),
        scale_high=scale * float(np.exp(spread[0])),
        mean=scale * first,
        sd=scale * (second - first**2) ** 0.5,
        ten_percent_failed=scale * float(-np.log(0.9)) ** (1.0 / shape),
        failures=int(failed.sum()),
        survivors=int((~failed).sum()),
        warnings=tuple(warnings),
    )


def _log_errors(
    cycles: Float[np.ndarray, " finger"],
    failed: Bool[np.ndarray, " finger"],
    shape: float,
    scale: float,
) -> Float[np.ndarray, "2"]:
    """Standard errors of ln scale and ln shape: inverse of the observed information.

    With w = (t / scale)^shape and L = ln w, the log likelihood is the sum of d (ln shape + L)
    - w; its second derivatives are written out here.
    """
    log = shape * np.log(cycles / scale)
    w = np.exp(log)
    d = failed.astype(float)
    scale_scale = shape**2 * w.sum()
    shape_shape = (w * (log**2 + log) - d * log).sum()
    mixed = -shape * (w * (1.0 + log) - d).sum()
    information = np.array([[scale_scale, mixed], [mixed, shape_shape]])
    return np.sqrt(np.diag(np.linalg.inv(information)))

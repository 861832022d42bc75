"""What printing scatter does to one design: the chance that each limit is met, the worst case,
and the few causes that matter."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from jaxtyping import Float

from fiddlehead.errors import ParameterError
from fiddlehead.study.goals import Columns, Limit
from fiddlehead.study.sampling import latin_hypercube
from fiddlehead.study.slopes import Slopes
from fiddlehead.study.space import Range, Space, Value
from fiddlehead.study.surrogate import BAND, Surrogate

DRAWS = 20_000
WORST = 3.0
"""Standard deviations that the worst case goes out in the direction that hurts most; 99.7 % of a
normal cause stay within as many."""
REACH = 3.0
"""Standard deviations that the surrogate of scattered prints covers."""
MATTERS = 0.05
"""Share of the variance from which a cause matters (our choice)."""


@dataclass(frozen=True)
class Cause:
    """One thing that scatters, normally distributed around ``middle``."""

    name: str
    middle: float
    sd: float
    standing: str = ""


@dataclass(frozen=True, eq=False)
class LimitOdds:
    """One limit under scatter.

    chance : that it is met, with a 95 % interval that counts the draws only
    chance_low, chance_high : the chance with the whole band of the model against and for it
    middle, sd : of the quantity
    worst_row, worst : the causes ``WORST`` standard deviations out in the worst direction, and what
        the model says there
    worst_simulated : what a true simulation says there; None where there was none
    shares : share of the variance by cause, largest first; they add up to 1 less interactions
    """

    limit: Limit
    chance: float
    interval: tuple[float, float]
    chance_low: float
    chance_high: float
    middle: float
    sd: float
    worst_row: Mapping[str, Value]
    worst: float
    worst_simulated: float | None
    shares: Mapping[str, float]
    draws: Float[np.ndarray, " draw"]

    @property
    def matter(self) -> tuple[str, ...]:
        """The causes that matter."""
        return tuple(name for name, share in self.shares.items() if share >= MATTERS)


@dataclass(frozen=True, eq=False)
class Tolerance:
    """All limits of one design under scatter, and the chance that all are met at once.

    by : ``adjoint`` (a plane through the design) or ``simulations`` (a surrogate of scattered
        prints)
    simulations : true simulations it rests on
    model_error : per quantity the largest difference between the model and a true simulation that
        it had not seen, in the quantity's unit
    """

    by: str
    causes: tuple[Cause, ...]
    limits: tuple[LimitOdds, ...]
    chance_of_all: float
    simulations: int
    model_error: Mapping[str, float]


Model = Callable[
    [Float[np.ndarray, "draw cause"]], dict[str, tuple[Float[np.ndarray, " draw"], float]]
]
"""From causes in standard deviations to each quantity with the half-width of its band."""
Ask = Callable[[Sequence[dict[str, Value]]], Columns]
"""True simulations of scattered prints."""


def by_adjoint(
    told: Slopes, causes: Sequence[Cause], limits: Sequence[Limit], ask: Ask, seed: int = 1
) -> Tolerance:
    """From derivatives at the design; the worst case of every limit is simulated, which also tells
    how far a plane is from the truth that far out.

    Parameters
    ----------
    told : quantities of the design and their derivatives by every cause

    Raises
    ------
    ParameterError : the design itself does not reach its pressure
    """
    if told.reason:
        raise ParameterError(
            "this design does not reach its working pressure",
            found=told.reason,
            remedy="Choose another design.",
        )

    def plane(z: Float[np.ndarray, "draw cause"]) -> dict[str, tuple[np.ndarray, float]]:
        return {
            limit.quantity: (
                told.values[limit.quantity]
                + z @ np.array([c.sd * told.of[limit.quantity][c.name] for c in causes]),
                0.0,
            )
            for limit in limits
        }

    def shares(quantity: str) -> dict[str, float]:
        parts = {c.name: (c.sd * told.of[quantity][c.name]) ** 2 for c in causes}
        whole = sum(parts.values()) or 1.0
        return {name: part / whole for name, part in parts.items()}

    return _odds("adjoint", plane, shares, causes, limits, ask, 1, seed)


def scattered_space(causes: Sequence[Cause]) -> Space:
    """The causes as variables, ``REACH`` standard deviations to either side."""
    return Space(
        tuple(Range(c.name, c.middle - REACH * c.sd, c.middle + REACH * c.sd) for c in causes)
    )


def scattered_prints(causes: Sequence[Cause], designs: int, seed: int) -> list[dict[str, Value]]:
    """Prints to simulate: a Latin hypercube over the reach of the causes."""
    return scattered_space(causes).rows(latin_hypercube(len(causes), designs, seed))


def by_simulations(
    rows: Sequence[dict[str, Value]],
    columns: Columns,
    causes: Sequence[Cause],
    limits: Sequence[Limit],
    ask: Ask,
    seed: int = 1,
) -> Tolerance:
    """From a surrogate of simulated prints; for any quantity a trial finds.

    Raises
    ------
    ParameterError : too few prints
    """
    space = scattered_space(causes)
    surrogate = Surrogate(space, rows, columns, [limit.quantity for limit in limits])

    def process(z: Float[np.ndarray, "draw cause"]) -> dict[str, tuple[np.ndarray, float]]:
        unit = np.clip(0.5 + z / (2.0 * REACH), 0.0, 1.0)
        told = surrogate.predict_unit(unit)
        return {name: (one.mean, float(np.median(one.band))) for name, one in told.items()}

    def shares(quantity: str) -> dict[str, float]:
        return _normal_shares(process, quantity, causes, seed)

    return _odds("simulations", process, shares, causes, limits, ask, len(rows), seed)


def _normal_shares(
    model: Model, quantity: str, causes: Sequence[Cause], seed: int
) -> dict[str, float]:
    """First-order shares of the variance under normal causes: Saltelli et al. 2010, table 2 (b),
    on two blocks of draws."""
    random = np.random.default_rng(seed)
    first, second = random.standard_normal((2, DRAWS // 4, len(causes)))
    middle = float(model(first)[quantity][0].mean())

    def model_at(z: Float[np.ndarray, "draw cause"]) -> Float[np.ndarray, " draw"]:
        return model(z)[quantity][0] - middle  # centred: the estimate scatters least

    y_first, y_second = model_at(first), model_at(second)
    whole = float(np.var(np.concatenate([y_first, y_second]))) or 1.0
    found = {}
    for place, cause in enumerate(causes):
        mixed = first.copy()
        mixed[:, place] = second[:, place]
        share = float(np.mean(y_second * (model_at(mixed) - y_first))) / whole
        found[cause.name] = max(share, 0.0)
    return found


def _odds(
    by: str,
    model: Model,
    shares: Callable[[str], dict[str, float]],
    causes: Sequence[Cause],
    limits: Sequence[Limit],
    ask: Ask,
    simulations: int,
    seed: int,
) -> Tolerance:
    draws = np.random.default_rng(seed).standard_normal((DRAWS, len(causes)))
    drawn = model(draws)
    worst_z = [_worst(model, limit, len(causes)) for limit in limits]
    worst_rows = [_row(causes, z) for z in worst_z]
    simulated = ask(worst_rows)
    all_met = np.ones(DRAWS, bool)
    found, off = [], dict.fromkeys((limit.quantity for limit in limits), 0.0)
    for k, limit in enumerate(limits):
        values, band = drawn[limit.quantity]
        met = limit.excess(values) <= 0.0
        all_met &= met
        against = np.minimum(limit.excess(values - band), limit.excess(values + band)) <= 0.0
        surely = np.maximum(limit.excess(values - band), limit.excess(values + band)) <= 0.0
        worst = float(model(worst_z[k][None])[limit.quantity][0][0])
        true = float(simulated[limit.quantity][k])
        if math.isfinite(true):
            off[limit.quantity] = max(off[limit.quantity], abs(true - worst))
        own = sorted(shares(limit.quantity).items(), key=lambda item: -item[1])
        found.append(
            LimitOdds(
                limit=limit,
                chance=float(met.mean()),
                interval=_wilson(int(met.sum()), DRAWS),
                chance_low=float(surely.mean()),
                chance_high=float(against.mean()),
                middle=float(values.mean()),
                sd=float(values.std()),
                worst_row=worst_rows[k],
                worst=worst,
                worst_simulated=true if math.isfinite(true) else None,
                shares=dict(own),
                draws=values,
            )
        )
    return Tolerance(
        by, tuple(causes), tuple(found), float(all_met.mean()), simulations + len(limits), off
    )


def _row(causes: Sequence[Cause], z: Float[np.ndarray, " cause"]) -> dict[str, Value]:
    return {c.name: float(c.middle + c.sd * x) for c, x in zip(causes, z, strict=True)}


def _worst(model: Model, limit: Limit, causes: int) -> Float[np.ndarray, " cause"]:
    """Causes ``WORST`` out, each to the side that brings the limit closer to being missed: the
    corner that the model's slope at the middle points to."""
    step = 0.1
    ends = np.vstack([step * np.eye(causes), -step * np.eye(causes)])
    miss = limit.excess(model(ends)[limit.quantity][0])
    side = np.where(miss[:causes] >= miss[causes:], 1.0, -1.0)
    return WORST * side


def _wilson(successes: int, draws: int) -> tuple[float, float]:
    """95 % interval of a proportion (Wilson 1927, J. Am. Stat. Assoc. 22, 209)."""
    p, z2 = successes / draws, BAND**2
    middle = (p + z2 / (2 * draws)) / (1 + z2 / draws)
    half = BAND * math.sqrt(p * (1 - p) / draws + z2 / (4 * draws**2)) / (1 + z2 / draws)
    return max(0.0, middle - half), min(1.0, middle + half)

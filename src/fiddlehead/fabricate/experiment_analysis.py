"""From a filled result sheet to settings that can be trusted, tightness and stiffness together."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator

import numpy as np
from jaxtyping import Bool, Float

from fiddlehead.errors import ParameterError
from fiddlehead.fabricate.experiment_effects import (
    EffectsResult,
    VarianceRow,
    corners,
    two_level_effects,
    variance_table,
)
from fiddlehead.fabricate.experiment_odds import OddsModel, fit_odds
from fiddlehead.fabricate.experiment_plan import LETTERS
from fiddlehead.fabricate.experiment_sheet import FilledSheet
from fiddlehead.fabricate.experiment_surface import Surface, active_words, fit_surface, places

SMALLEST_LEAK = 0.02
"""Leak that a simple gauge can still tell from none, cm³/min; common practice, no source."""
CONFIRMATION = 5
"""Coupons of a confirmation run; common practice, no source."""
SAME = 1e-9
"""Differences below are none."""
MINIMUM_ANSWERS = 2
"""Coupons that hold, and coupons that leak, from which a chance is fitted."""


@dataclasses.dataclass(frozen=True, kw_only=True)
class Recommendation:
    """Settings to print with, and what to expect of them. Intervals are 95 %."""

    coded: tuple[float, ...]
    settings: dict[str, str]
    """By factor name, as written on a result sheet."""
    without_effect: tuple[str, ...]
    """Settings that showed no effect within their range: theirs is the middle, or what is quick."""
    leak_cm3_per_min: tuple[float, float, float]
    """Typical (geometric mean): best estimate, lower and upper limit."""
    next_coupon_cm3_per_min: tuple[float, float]
    """Where the leak of one more coupon will fall."""
    chance_to_hold: tuple[float, float, float] | None
    stiffness: tuple[float, float, float] | None


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class ExperimentResult:
    """What an experiment says. Leak is analysed as its base-10 logarithm."""

    sheet: FilledSheet
    log_leak: Float[np.ndarray, " run"]
    two_level: bool
    effects: EffectsResult | None
    """Of a two-level experiment."""
    variance: tuple[VarianceRow, ...]
    surface: Surface
    odds: OddsModel | None
    stiffness_name: str
    """What stands for stiffness, with its unit; empty if nothing was measured."""
    stiffness: Float[np.ndarray, " run"]
    stiffness_surface: Surface | None
    grid: Float[np.ndarray, "point factor"]
    """Settings that were searched, coded."""
    grid_leak: Float[np.ndarray, " point"]
    grid_stiffness: Float[np.ndarray, " point"]
    front: Bool[np.ndarray, " point"]
    """Searched settings that no other beats in both tightness and softness."""
    recommendation: Recommendation
    remarks: tuple[str, ...]


def analyse(
    sheet: FilledSheet,
    *,
    smallest_leak_cm3_per_min: float = SMALLEST_LEAK,
    stiffest: float | None = None,
) -> ExperimentResult:
    """Analyse a filled sheet.

    Parameters
    ----------
    smallest_leak_cm3_per_min : smaller leaks, and none at all, count as this
    stiffest : recommend only settings whose stiffness is expected to stay below

    Raises
    ------
    ParameterError : too few coupons, all of the same leak, or no settings below ``stiffest``
    """
    log_leak = np.log10(np.maximum(sheet.leak_cm3_per_min, smallest_leak_cm3_per_min))
    _differ(log_leak)
    two_level = _two_level(sheet)
    block = sheet.block.astype(float)
    words = active_words(sheet.coded, log_leak, block, two_level=two_level)
    surface = fit_surface(sheet.coded, log_leak, words, block)
    name, stiffness = _stiffness(sheet)
    soft = _stiffness_surface(sheet, stiffness, block, two_level) if name else None
    grid = places(sheet.factors)
    leak, leak_error = surface.predict(grid)
    grid_stiffness = soft.predict(grid)[0] if soft else np.full(len(grid), np.nan)
    odds = _odds(sheet, surface)
    best = _best(grid, leak + surface.reach() * leak_error, grid_stiffness, stiffest)
    return ExperimentResult(
        sheet=sheet,
        log_leak=log_leak,
        two_level=two_level,
        effects=two_level_effects(sheet.coded, log_leak) if two_level else None,
        variance=variance_table(sheet.coded, log_leak, words, block),
        surface=surface,
        odds=odds,
        stiffness_name=name,
        stiffness=stiffness,
        stiffness_surface=soft,
        grid=grid,
        grid_leak=10.0**leak,
        grid_stiffness=grid_stiffness,
        front=_front(leak, grid_stiffness),
        recommendation=_recommend(sheet, surface, soft, odds, grid[best]),
        remarks=tuple(_remarks(sheet, surface, log_leak, two_level, smallest_leak_cm3_per_min)),
    )


def _differ(log_leak: np.ndarray) -> None:
    """Refuse a sheet on which every coupon leaks the same: there is nothing to compare."""
    found = log_leak[np.isfinite(log_leak)]
    if np.ptp(found) < SAME:
        raise ParameterError(
            "all coupons leak the same, so no setting can be told from another",
            where="result sheet, column leak_cm3_per_min",
            found=f"{10 ** found[0]:.3g} cm³/min throughout",
            remedy="If that is tight enough, any of these settings will do. Else widen the ranges "
            "or use a finer gauge.",
        )


def _two_level(sheet: FilledSheet) -> bool:
    """Whether the corners carry the design; a three-level design has none, or few."""
    return bool(corners(sheet.coded).mean() > 0.5)


def _stiffness(sheet: FilledSheet) -> tuple[str, Float[np.ndarray, " run"]]:
    """The best that was measured: bending stiffness of the wall, or modulus, thickness, mass."""
    modulus, wall = sheet.modulus_mpa, sheet.wall_thickness_mm
    bending = modulus * wall**3 / 12.0
    options = (
        ("bending stiffness of the wall E t³/12 (N mm)", bending),
        ("modulus of the dumb-bell (MPa)", modulus),
        ("wall thickness (mm)", wall),
        ("mass of the coupon (g)", sheet.mass_g),
    )
    for name, values in options:
        known = values[np.isfinite(values)]
        if len(known) >= sheet.coded.shape[1] + 2 and np.ptp(known) > SAME:
            return name, values
    return "", np.full(len(sheet.coded), np.nan)


def _stiffness_surface(
    sheet: FilledSheet, stiffness: np.ndarray, block: np.ndarray, two_level: bool
) -> Surface | None:
    try:
        words = active_words(sheet.coded, stiffness, block, two_level=two_level)
        return fit_surface(sheet.coded, stiffness, words, block)
    except ParameterError:
        return None


def _odds(sheet: FilledSheet, surface: Surface) -> OddsModel | None:
    """Chance over the settings that move the leak; needs some of both answers."""
    answers = sheet.holds[np.isfinite(sheet.holds)]
    fewest = min((answers == 1).sum(), (answers == 0).sum())
    if fewest < MINIMUM_ANSWERS:
        return None
    mains = [LETTERS.index(word) for word in surface.words if len(word) == 1]
    if not mains:
        return None
    try:
        small = fit_odds(sheet.coded[:, mains], sheet.holds)
    except ParameterError:
        return None
    rows = [0, *[place + 1 for place in mains]]
    count = sheet.coded.shape[1] + 1
    coefficients, covariance = np.zeros(count), np.zeros((count, count))
    coefficients[rows] = small.coefficients
    covariance[np.ix_(rows, rows)] = small.covariance
    return OddsModel(coefficients, covariance)


def _best(
    grid: np.ndarray, upper: np.ndarray, stiffness: np.ndarray, stiffest: float | None
) -> int:
    """Lowest upper limit of the leak; among equals the place nearest the middle."""
    allowed = np.ones(len(grid), dtype=bool)
    if stiffest is not None:
        allowed = stiffness <= stiffest
        if not allowed.any():
            raise ParameterError(
                "no settings within the ranges are as soft as that",
                where="experiment",
                found=f"{stiffest:g}",
                allowed=f"{np.nanmin(stiffness):.4g} or more"
                if np.isfinite(stiffness).any()
                else "a sheet with modulus, wall thickness or mass filled in",
            )
    off_centre = (grid**2).sum(axis=1)
    cost = np.where(allowed, upper, np.inf) + 1e-6 * off_centre
    return int(np.argmin(cost))


def _front(leak: np.ndarray, stiffness: np.ndarray) -> Bool[np.ndarray, " point"]:
    """Places that no other place beats in both; none where stiffness is not known."""
    front = np.zeros(len(leak), dtype=bool)
    if not np.isfinite(stiffness).all():
        return front
    softest = np.inf
    for place in np.lexsort((stiffness, leak)):
        if stiffness[place] < softest - 1e-12:
            front[place], softest = True, stiffness[place]
    return front


def _recommend(
    sheet: FilledSheet,
    surface: Surface,
    soft: Surface | None,
    odds: OddsModel | None,
    place: Float[np.ndarray, " factor"],
) -> Recommendation:
    at = place[None, :]
    (mean,), (error,) = surface.predict(at)
    reach = surface.reach()
    alone = reach * float(np.hypot(error, surface.scatter))
    seen = {letter for word in surface.words for letter in word}
    if soft is not None:
        (middle,), (soft_error,) = soft.predict(at)
        wide = soft.reach() * soft_error
    return Recommendation(
        coded=tuple(float(level) for level in place),
        settings={f.name: f.written(c) for f, c in zip(sheet.factors, place, strict=True)},
        without_effect=tuple(
            factor.name
            for factor, letter in zip(sheet.factors, LETTERS, strict=False)
            if letter not in seen
        ),
        leak_cm3_per_min=(
            float(10.0**mean),
            float(10.0 ** (mean - reach * error)),
            float(10.0 ** (mean + reach * error)),
        ),
        next_coupon_cm3_per_min=(float(10.0 ** (mean - alone)), float(10.0 ** (mean + alone))),
        chance_to_hold=odds.chance(place) if odds else None,
        stiffness=(float(middle), float(middle - wide), float(middle + wide)) if soft else None,
    )


def _remarks(
    sheet: FilledSheet, surface: Surface, log_leak: np.ndarray, two_level: bool, smallest: float
) -> Iterator[str]:
    missing = int((~np.isfinite(log_leak)).sum())
    if missing:
        yield (
            f"{missing} coupons have no leak rate and count only where they say yes or no; if they "
            "leaked too much to measure, true effects are larger than they look here."
        )
    tiny = int((sheet.leak_cm3_per_min < smallest).sum())
    if tiny:
        yield (
            f"{tiny} coupons leak less than can be measured and count as {smallest:g} cm³/min: "
            "true effects are larger than they look."
        )
    if not surface.words:
        yield "No setting shows an effect above the scatter: widen the ranges or print more."
    middle = ~corners(sheet.coded) & np.isfinite(log_leak)
    if two_level and middle.sum() > 1:
        gap = log_leak[middle].mean() - surface.predict(sheet.coded[middle])[0].mean()
        if abs(gap) > 2.0 * surface.scatter / np.sqrt(middle.sum()):
            yield (
                "The middle of the ranges does not lie on the plane through the corners: map the "
                "settings that matter with three levels (Box-Behnken) before you trust the middle."
            )
    yield (
        f"Confirm before use: print {CONFIRMATION} coupons at the recommended settings, better "
        "from another spool. Settings outside the ranges tried are a guess."
    )

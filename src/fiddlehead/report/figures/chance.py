"""Chance that a coupon holds, over the setting that moves it most."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from jaxtyping import Float

from fiddlehead.fabricate.experiment_analysis import ExperimentResult
from fiddlehead.fabricate.experiment_factors import Factor
from fiddlehead.report.figures.experiment import factor_label
from fiddlehead.report.figures.style import FAINT, LINES, sheet, title

if TYPE_CHECKING:
    from matplotlib.figure import Figure

STEPS = 41
ROOM = 0.4
"""Height of the tallest stack of coupons, on the scale of the chance."""


@dataclass(frozen=True)
class ChancePicture:
    """Fitted chance with its 95 % band, the other settings in the middle, and every coupon."""

    heading: str
    detail: str
    factor: Factor
    setting: Float[np.ndarray, " step"]
    chance: Float[np.ndarray, " step"]
    low: Float[np.ndarray, " step"]
    high: Float[np.ndarray, " step"]
    coupons: Float[np.ndarray, "run 2"]
    """Setting, and 1 for a coupon that holds or 0 for one that does not."""


def chance_picture(result: ExperimentResult, heading: str, detail: str) -> ChancePicture | None:
    """``None`` where too few coupons hold, or too few leak, to fit a chance."""
    odds = result.odds
    if odds is None:
        return None
    place = int(np.argmax(np.abs(odds.coefficients[1:])))
    factor, coded = result.sheet.factors[place], np.linspace(-1.0, 1.0, STEPS)
    found = []
    for level in coded:
        point = np.zeros(len(result.sheet.factors))
        point[place] = level
        found.append(odds.chance(point))
    chance, low, high = np.array(found).T
    answered = np.isfinite(result.sheet.holds)
    settings = np.array([factor.actual(c) for c in result.sheet.coded[answered, place]])
    return ChancePicture(
        heading=heading,
        detail=detail,
        factor=factor,
        setting=np.array([factor.actual(level) for level in coded]),
        chance=chance,
        low=low,
        high=high,
        coupons=np.column_stack([settings, result.sheet.holds[answered]]),
    )


def draw_chance(picture: ChancePicture) -> Figure:
    """Coupons above for yes and below for no, drawn apart where they share a place."""
    with sheet(130.0, 85.0) as (figure, axes):
        axes.fill_between(
            picture.setting, 100 * picture.low, 100 * picture.high, color=LINES[0], alpha=0.2,
            linewidth=0,
        )  # fmt: skip
        axes.plot(picture.setting, 100 * picture.chance, color=LINES[0])
        setting, answer = picture.coupons.T
        axes.scatter(setting, 100 * _apart(setting, answer), s=14, color=FAINT)
        axes.set_ylim(-48.0, 148.0)
        axes.set_yticks(
            (-25, 0, 25, 50, 75, 100, 125), ("leaks", "0", "25", "50", "75", "100", "holds")
        )
        if picture.factor.words:
            axes.set_xticks((0.0, 1.0), picture.factor.words)
        axes.set_xlabel(factor_label(picture.factor))
        axes.set_ylabel("chance that a coupon holds (%)")
        title(axes, picture.heading, picture.detail)
        return figure


def _apart(
    setting: Float[np.ndarray, " run"], answer: Float[np.ndarray, " run"]
) -> Float[np.ndarray, " run"]:
    """Heights of the coupons: stacks above 1 for yes, below 0 for no."""
    keys = list(zip(setting, answer, strict=True))
    step = ROOM / max(keys.count(key) for key in keys)
    ranks: dict[tuple[float, float], int] = {}
    heights = np.empty(len(answer))
    for run, key in enumerate(keys):
        rank = ranks[key] = ranks.get(key, 0) + 1
        heights[run] = 1.05 + step * rank if key[1] > 0 else -0.05 - step * rank
    return heights

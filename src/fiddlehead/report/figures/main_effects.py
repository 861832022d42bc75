"""Main effects and the strongest interaction, read as leaks rather than as contrasts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from jaxtyping import Float

from fiddlehead.fabricate.experiment_analysis import ExperimentResult
from fiddlehead.fabricate.experiment_plan import LETTERS
from fiddlehead.report.figures.experiment import factor_label, plain_decades
from fiddlehead.report.figures.style import FAINT, INK, LINES, sheet, title

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MOST_PANELS = 4
"""Panels in a row."""
STEPS = 21


@dataclass(frozen=True)
class MainEffect:
    """Leak over one setting, the others in the middle: fit with its 95 % band, and all coupons."""

    label: str
    levels: tuple[str, ...]
    """As written, at coded -1, 0 and 1 (words have no middle)."""
    coded: Float[np.ndarray, " step"]
    leak_cm3_per_min: Float[np.ndarray, " step"]
    low: Float[np.ndarray, " step"]
    high: Float[np.ndarray, " step"]
    coupons: Float[np.ndarray, "run 2"]
    """Coded level and leak of every coupon that has one."""
    active: bool


@dataclass(frozen=True)
class Interaction:
    """Fitted leak at the ends of two ranges: one line for each end of the second."""

    across: str
    of: str
    levels: tuple[str, ...]
    line_levels: tuple[str, ...]
    leak_cm3_per_min: Float[np.ndarray, "line level"]


@dataclass(frozen=True)
class MainEffectsPicture:
    """One panel for each setting, and one for the strongest interaction if there is one."""

    heading: str
    detail: str
    panels: tuple[MainEffect, ...]
    pair: Interaction | None


def main_effects_picture(result: ExperimentResult, heading: str, detail: str) -> MainEffectsPicture:
    """From the fitted surface, which coupons that were lost do not pull aside."""
    places = range(len(result.sheet.factors))
    panels = tuple(_main_effect(result, place) for place in places)
    return MainEffectsPicture(heading, detail, panels, _pair(result))


def _main_effect(result: ExperimentResult, place: int) -> MainEffect:
    factor, surface = result.sheet.factors[place], result.surface
    coded = np.linspace(-1.0, 1.0, STEPS)
    points = np.zeros((STEPS, len(result.sheet.factors)))
    points[:, place] = coded
    mean, error = surface.predict(points)
    reach = surface.reach() * error
    used = np.isfinite(result.log_leak)
    ends = (-1.0, 1.0) if factor.words else (-1.0, 0.0, 1.0)
    return MainEffect(
        label=factor_label(factor),
        levels=tuple(factor.written(level) for level in ends),
        coded=coded,
        leak_cm3_per_min=10.0**mean,
        low=10.0 ** (mean - reach),
        high=10.0 ** (mean + reach),
        coupons=np.column_stack([result.sheet.coded[used, place], 10.0 ** result.log_leak[used]]),
        active=any(LETTERS[place] in word for word in surface.words),
    )


def _pair(result: ExperimentResult) -> Interaction | None:
    """The interaction with the largest term, other settings as recommended."""
    surface, factors = result.surface, result.sheet.factors
    terms = [
        (abs(coefficient), word)
        for word, coefficient in zip(surface.words, surface.coefficients[1:], strict=True)
        if len(set(word)) == 2
    ]
    if not terms:
        return None
    a, b = (LETTERS.index(letter) for letter in max(terms)[1])
    ends = (-1.0, 1.0)
    points = np.tile(np.array(result.recommendation.coded), (4, 1))
    points[:, a], points[:, b] = (-1.0, 1.0, -1.0, 1.0), (-1.0, -1.0, 1.0, 1.0)
    return Interaction(
        across=factor_label(factors[a]),
        of=factor_label(factors[b]),
        levels=tuple(factors[a].written(level) for level in ends),
        line_levels=tuple(factors[b].written(level) for level in ends),
        leak_cm3_per_min=(10.0 ** surface.predict(points)[0]).reshape(2, 2),
    )


def draw_main_effects(picture: MainEffectsPicture) -> Figure:
    """Panels on one logarithmic leak axis; settings without effect are faint."""
    count = len(picture.panels) + (picture.pair is not None)
    columns = min(MOST_PANELS, count)
    rows = -(-count // columns)
    layout = {"nrows": rows, "ncols": columns, "sharey": True, "squeeze": False}
    with sheet(190.0, 20.0 + 55.0 * rows, **layout) as (figure, grid):
        panels = list(grid.ravel())
        for axes, effect in zip(panels, picture.panels, strict=False):
            _draw_effect(axes, effect)
        if picture.pair is not None:
            _draw_pair(panels[count - 1], picture.pair)
        for axes in panels[count:]:
            axes.set_visible(False)
        panels[0].set_yscale("log")
        for axes in grid[:, 0]:
            axes.set_ylabel("leak (cm³/min)")
            plain_decades(axes.yaxis)
        title(panels[0], picture.heading, picture.detail)
        return figure


def _draw_effect(axes: Axes, effect: MainEffect) -> None:
    colour = LINES[1] if effect.active else FAINT
    level, leak = effect.coupons.T
    axes.scatter(level, leak, s=8, color=FAINT, linewidth=0.0, alpha=0.7)
    axes.fill_between(effect.coded, effect.low, effect.high, color=colour, alpha=0.2, linewidth=0)
    axes.plot(effect.coded, effect.leak_cm3_per_min, color=colour)
    axes.set_xticks(np.linspace(-1.0, 1.0, len(effect.levels)), effect.levels)
    axes.set_xlim(-1.25, 1.25)
    axes.set_xlabel(effect.label, color=INK if effect.active else FAINT, fontsize=8.0)


def _draw_pair(axes: Axes, pair: Interaction) -> None:
    styles = zip(pair.line_levels, pair.leak_cm3_per_min, LINES, ("-", "--"), strict=False)
    for level, leaks, colour, dash in styles:
        axes.plot((-1.0, 1.0), leaks, color=colour, marker="s", linestyle=dash, label=level)
    axes.set_xticks((-1.0, 1.0), pair.levels)
    axes.set_xlim(-1.25, 1.25)
    axes.set_xlabel(pair.across, fontsize=8.0)
    axes.legend(title=pair.of, fontsize=7.0, title_fontsize=7.0)

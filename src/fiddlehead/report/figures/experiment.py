"""Pictures of an airtightness experiment: effects, half-normal plot, contour, tight and soft."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from jaxtyping import Bool, Float

from fiddlehead.fabricate.experiment_analysis import ExperimentResult
from fiddlehead.fabricate.experiment_factors import Factor
from fiddlehead.fabricate.experiment_plan import LETTERS
from fiddlehead.fabricate.experiment_surface import Surface
from fiddlehead.report.figures.style import FAINT, INK, LINES, label_line_ends, sheet, title

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.axis import Axis
    from matplotlib.figure import Figure

MOST_BARS = 15
MOST_NAMES = 6
FIELD_COLOURS = "viridis"
GRID = 61


def factor_label(factor: Factor) -> str:
    """A setting with its unit for an axis."""
    return f"{factor.title} ({factor.unit})" if factor.unit else factor.title


def word_label(word: str, factors: tuple[Factor, ...]) -> str:
    """An effect in words: ``"ab"`` becomes ``"flow × layer height"``, ``"aa"`` a square."""
    titles = [factors[LETTERS.index(letter)].title for letter in word]
    if len(set(word)) == 1 and len(word) > 1:
        return f"{titles[0]}²"
    return " × ".join(titles)


@dataclass(frozen=True)
class EffectsPicture:
    """Effects on the leak, the largest first, and where noise alone would put them.

    labels, factors_of_ten : name and size; 1 means the leak grows tenfold from low to high
    """

    heading: str
    detail: str
    labels: tuple[str, ...]
    factors_of_ten: Float[np.ndarray, " effect"]
    quantiles: Float[np.ndarray, " effect"]
    active: Bool[np.ndarray, " effect"]
    margin: float
    slope: float
    """Pseudo standard error: the line of noise in the half-normal plot."""


def effects_picture(result: ExperimentResult, heading: str, detail: str) -> EffectsPicture | None:
    """Effects of a two-level experiment; ``None`` for three levels."""
    found = result.effects
    if found is None:
        return None
    factors = result.sheet.factors
    labels = []
    for effect in found.effects:
        twins = [word for word in effect.also if len(word) == len(effect.word) <= 2]
        label = word_label(effect.word, factors)
        labels.append(f"{label} *" if twins else label)
    return EffectsPicture(
        heading=heading,
        detail=detail,
        labels=tuple(labels),
        factors_of_ten=np.array([effect.value for effect in found.effects]),
        quantiles=np.array([effect.quantile for effect in found.effects]),
        active=np.array([effect.active for effect in found.effects]),
        margin=found.margin,
        slope=found.pseudo_standard_error,
    )


def draw_effects(picture: EffectsPicture) -> Figure:
    """Bars with the margin on the left, half-normal plot on the right."""
    with sheet(190.0, 90.0, ncols=2) as (figure, (left, right)):
        count = min(MOST_BARS, len(picture.labels))
        values, active = picture.factors_of_ten, picture.active
        colours = [LINES[1] if a else FAINT for a in active[:count]]
        left.barh(np.arange(count), values[:count], color=colours, height=0.7)
        left.set_yticks(np.arange(count), picture.labels[:count], fontsize=7.0)
        left.invert_yaxis()
        for side in (-1.0, 1.0):
            left.axvline(side * picture.margin, color=INK, linewidth=0.9, linestyle=":")
        left.axvline(0.0, color=INK, linewidth=0.8)
        left.grid(axis="y", visible=False)
        left.set_xlabel("change of log10 leak, low to high")
        right.scatter(
            picture.quantiles, np.abs(values), c=[LINES[1] if a else FAINT for a in active]
        )
        reach = np.array([0.0, float(picture.quantiles.max())])
        right.plot(reach, picture.slope * reach, color=FAINT, linewidth=1.0, linestyle=":")
        for label, x, y, named in zip(
            picture.labels[:MOST_NAMES], picture.quantiles, np.abs(values), active, strict=False
        ):
            if named:
                far = x > picture.quantiles.max() / 2.0
                right.annotate(
                    label.removesuffix(" *"), (x, y), xytext=(-6 if far else 6, 0),
                    textcoords="offset points", ha="right" if far else "left", va="center",
                    fontsize=7.0,
                )  # fmt: skip
        right.set_xlim(0.0, 1.08 * reach[1])
        right.set_ylim(bottom=0.0)
        right.set_xlabel("half-normal quantile")
        right.set_ylabel("size of effect")
        title(left, picture.heading, picture.detail)
        told = "dotted: margin and line of noise (Lenth, 95 %)"
        if any(label.endswith("*") for label in picture.labels):
            told += "; * this fraction cannot tell it from another pair (effects.csv says which)"
        figure.supxlabel(told, x=0.02, ha="left", fontsize=7.0, color=INK)
        return figure


@dataclass(frozen=True)
class ContourPicture:
    """Predicted leak over the two settings that matter most, the others as recommended."""

    heading: str
    detail: str
    across: Factor
    up: Factor
    x: Float[np.ndarray, " column"]
    y: Float[np.ndarray, " row"]
    leak_cm3_per_min: Float[np.ndarray, "row column"]
    tried: Float[np.ndarray, "run 2"]
    best: tuple[float, float]


def contour_picture(result: ExperimentResult, heading: str) -> ContourPicture | None:
    """``None`` where fewer than two settings showed an effect."""
    places = _two_largest(result.surface, result.sheet.factors)
    if places is None:
        return None
    factors = result.sheet.factors
    a, b = places
    levels = np.linspace(-1.0, 1.0, GRID)
    best = np.array(result.recommendation.coded)
    points = np.tile(best, (GRID * GRID, 1))
    points[:, a], points[:, b] = (mesh.ravel() for mesh in np.meshgrid(levels, levels))
    mean, _ = result.surface.predict(points)
    others = [
        f"{f.title} {result.recommendation.settings[f.name]}"
        for place, f in enumerate(factors)
        if place not in places and f.name not in result.recommendation.without_effect
    ]
    coded = result.sheet.coded
    tried = [[factors[p].actual(row[p]) for p in places] for row in coded]
    return ContourPicture(
        heading=heading,
        detail=", ".join(others),
        across=factors[a],
        up=factors[b],
        x=_scale(factors[a]),
        y=_scale(factors[b]),
        leak_cm3_per_min=(10.0**mean).reshape(GRID, GRID),
        tried=np.array(tried),
        best=(factors[a].actual(best[a]), factors[b].actual(best[b])),
    )


def _scale(factor: Factor) -> Float[np.ndarray, " column"]:
    return np.linspace(factor.low, factor.high, GRID)


def _two_largest(surface: Surface, factors: tuple[Factor, ...]) -> tuple[int, int] | None:
    """Places of the two settings whose terms weigh most."""
    weight = np.zeros(len(factors))
    for word, coefficient in zip(surface.words, surface.coefficients[1:], strict=True):
        for letter in set(word):
            weight[LETTERS.index(letter)] += abs(coefficient)
    order = [int(place) for place in np.argsort(-weight, kind="stable") if weight[place] > 0]
    return (order[0], order[1]) if len(order) > 1 else None


def draw_contour(picture: ContourPicture) -> Figure:
    """Colours and lines of equal leak, coupons as dots, the recommendation as a star."""
    from matplotlib.colors import LogNorm

    leak = picture.leak_cm3_per_min
    low, high = float(leak.min()), max(float(leak.max()), 1.01 * float(leak.min()))
    with sheet(130.0, 100.0) as (figure, axes):
        field = axes.pcolormesh(
            picture.x, picture.y, leak, norm=LogNorm(low, high), cmap=FIELD_COLOURS,
            shading="gouraud", rasterized=True,
        )  # fmt: skip
        lines = axes.contour(
            picture.x, picture.y, leak, levels=np.geomspace(low, high, 7)[1:-1], colors="white",
            linewidths=0.8,
        )  # fmt: skip
        axes.clabel(lines, fmt=lambda value: f"{value:.2g}", fontsize=7.0)
        axes.scatter(*picture.tried.T, s=14, color=INK, edgecolor="white", linewidth=0.5, zorder=3,
                     clip_on=False)  # fmt: skip
        axes.scatter(*picture.best, marker="*", s=220, color=LINES[1], edgecolor="white", zorder=4,
                     clip_on=False)  # fmt: skip
        axes.grid(visible=False)
        axes.set_xlabel(factor_label(picture.across))
        axes.set_ylabel(factor_label(picture.up))
        bar = figure.colorbar(field, label="leak of a coupon (cm³/min)")
        plain_decades(bar.ax.yaxis)
        title(axes, picture.heading, picture.detail)
        return figure


@dataclass(frozen=True)
class TradePicture:
    """Tightness against stiffness: what can be had, what was measured, what is recommended."""

    heading: str
    detail: str
    stiffness_label: str
    measured: Float[np.ndarray, "run 2"]
    """Leak and stiffness of each coupon."""
    front: Float[np.ndarray, "point 2"]
    """The best that can be had of both, as predicted; by rising leak."""
    best: tuple[float, float]


def trade_picture(result: ExperimentResult, heading: str) -> TradePicture | None:
    """``None`` where no stiffness was measured."""
    best = result.recommendation
    if best.stiffness is None:
        return None
    leak = 10.0**result.log_leak
    front = np.column_stack([result.grid_leak, result.grid_stiffness])[result.front]
    return TradePicture(
        heading=heading,
        detail="star: recommended; line: nothing in the ranges is predicted tighter and softer",
        stiffness_label=result.stiffness_name,
        measured=np.column_stack([leak, result.stiffness]),
        front=front[np.argsort(front[:, 0])],
        best=(best.leak_cm3_per_min[0], best.stiffness[0]),
    )


def draw_trade(picture: TradePicture) -> Figure:
    """Leak across (log), stiffness up: best is low and left."""
    with sheet(150.0, 95.0) as (figure, axes):
        axes.set_xscale("log")
        plain_decades(axes.xaxis)
        axes.scatter(*picture.measured.T, s=16, color=FAINT, label="coupons")
        axes.plot(*picture.front.T, color=LINES[0], drawstyle="steps-post")
        axes.scatter(*picture.best, marker="*", s=220, color=LINES[1], edgecolor="white", zorder=4)
        axes.set_xlabel("leak of a coupon (cm³/min)")
        axes.set_ylabel(picture.stiffness_label)
        _name_line(axes, picture)
        title(axes, picture.heading, picture.detail)
        return figure


def plain_decades(axis: Axis) -> None:
    """Ticks of a logarithmic axis at 1, 2 and 5, written as plain numbers."""
    from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter

    axis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
    axis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
    axis.set_minor_formatter(NullFormatter())


def _name_line(axes: Axes, picture: TradePicture) -> None:
    x, y = picture.front[-1]
    label_line_ends(axes, [(float(x), float(y), "best of both", LINES[0])])

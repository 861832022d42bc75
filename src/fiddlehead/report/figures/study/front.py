"""Designs by their objectives, and the front nobody beats."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from jaxtyping import Bool, Float, Int

from fiddlehead.report.figures.study.labels import label
from fiddlehead.report.figures.style import FAINT, INK, LINES, sheet, title
from fiddlehead.study.fronts import front_numbers
from fiddlehead.study.goals import Columns, Goals

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MOST_PAIRS = 3
"""Pairs of objectives that get a panel."""


@dataclass(frozen=True, eq=False)
class FrontPicture:
    """One panel for each pair of objectives.

    met : keeps all limits
    first : on the front (of all objectives)
    named : places and numbers of the designs that are written beside their marks
    """

    heading: str
    detail: str
    pairs: tuple[tuple[str, str], ...]
    columns: dict[str, Float[np.ndarray, " design"]]
    met: Bool[np.ndarray, " design"]
    first: Bool[np.ndarray, " design"]
    limits: dict[str, tuple[float | None, float | None]]
    named: tuple[tuple[int, str], ...]
    directions: dict[str, str]


def front_picture(
    goals: Goals,
    columns: Columns,
    numbers: Int[np.ndarray, " design"],
    best: Sequence[int],
    heading: str,
    detail: str,
) -> FrontPicture:
    """The numbers of the picture.

    Parameters
    ----------
    numbers : what each design is called
    best : places of the designs to name
    """
    names = [goal.quantity for goal in goals.objectives]
    pairs = list(itertools.combinations(names, 2))[:MOST_PAIRS] or [(names[0], names[0])]
    return FrontPicture(
        heading=heading,
        detail=detail,
        pairs=tuple(pairs),
        columns={name: np.asarray(columns[name]) for name in names},
        met=goals.met(columns),
        first=front_numbers(goals, columns) == 1,
        limits={limit.quantity: (limit.at_least, limit.at_most) for limit in goals.limits},
        named=tuple((int(place), str(numbers[place])) for place in best),
        directions={goal.quantity: goal.direction for goal in goals.objectives},
    )


def draw_front(picture: FrontPicture) -> Figure:
    """Designs that keep the limits in colour, others faint, the front joined by a line."""
    count = len(picture.pairs)
    with sheet(130.0 if count == 1 else 62.0 * count + 10.0, 95.0, ncols=count, squeeze=False) as (
        figure,
        grid,
    ):
        for axes, pair in zip(grid[0], picture.pairs, strict=True):
            _draw_pair(axes, picture, *pair)
        title(grid[0][0], picture.heading, picture.detail)
        grid[0][0].legend(loc="best", fontsize=7.0)
        return figure


def _draw_pair(axes: Axes, picture: FrontPicture, across: str, up: str) -> None:
    x, y = picture.columns[across], picture.columns[up]
    missed = ~picture.met
    axes.scatter(x[missed], y[missed], s=9, color=FAINT, alpha=0.45, linewidth=0, rasterized=True,
                 label="misses a limit")  # fmt: skip
    axes.scatter(x[picture.met], y[picture.met], s=12, color=LINES[5], alpha=0.8, linewidth=0,
                 rasterized=True, label="keeps all limits")  # fmt: skip
    order = np.flatnonzero(picture.first)
    order = order[np.argsort(x[order], kind="stable")]
    joined = "-" if len(picture.columns) == 2 else ""
    axes.plot(x[order], y[order], linestyle=joined, color=LINES[1], marker="o", markersize=4.5,
              linewidth=1.2, label="front")  # fmt: skip
    for k, (place, number) in enumerate(picture.named):
        beside = (4, 5 if k % 2 == 0 else -11)
        axes.annotate(number, (x[place], y[place]), xytext=beside, textcoords="offset points",
                      fontsize=7.5, fontweight="bold", color=INK)  # fmt: skip
    for name, line in ((across, axes.axvline), (up, axes.axhline)):
        for bound in picture.limits.get(name, ()):
            if bound is not None:
                line(bound, color=LINES[3], linestyle=":", linewidth=1.0)
    axes.set_xlabel(_wanted(picture, across))
    axes.set_ylabel(_wanted(picture, up))


def _wanted(picture: FrontPicture, name: str) -> str:
    arrow = "→ better" if picture.directions[name] == "largest" else "← better"
    return f"{label(name)}  {arrow}"

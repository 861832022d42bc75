"""One design under printing scatter: the spread of each limited quantity and what causes it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fiddlehead.report.figures.study.labels import label, split_unit
from fiddlehead.report.figures.style import FAINT, INK, LINES, sheet, title
from fiddlehead.study.tolerance import LimitOdds, Tolerance

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

BINS = 60


@dataclass(frozen=True, eq=False)
class OddsPicture:
    """A row for each limit."""

    heading: str
    detail: str
    rows: tuple[LimitOdds, ...]


def odds_picture(found: Tolerance, heading: str, detail: str) -> OddsPicture:
    """The numbers of the picture."""
    return OddsPicture(heading, detail, found.limits)


def draw_odds(picture: OddsPicture) -> Figure:
    """Left the draws with the limit and the worst case, right the causes."""
    count = len(picture.rows)
    layout = {"nrows": count, "ncols": 2, "squeeze": False, "width_ratios": [1.6, 1.0]}
    with sheet(165.0, 22.0 + 55.0 * count, **layout) as (figure, grid):
        for (left, right), row in zip(grid, picture.rows, strict=True):
            _draw_spread(left, row)
            _draw_causes(right, row)
        grid[-1][1].set_xlabel("share of the variance", fontsize=7.5)
        title(grid[0][0], picture.heading, picture.detail)
        return figure


def _draw_spread(axes: Axes, row: LimitOdds) -> None:
    counts, edges = np.histogram(row.draws, BINS)
    middles, width = 0.5 * (edges[1:] + edges[:-1]), edges[1] - edges[0]
    met = row.limit.excess(middles) <= 0.0
    for chosen, colour, says in ((met, LINES[5], "limit met"), (~met, LINES[3], "limit missed")):
        if chosen.any():
            axes.bar(middles[chosen], counts[chosen], width, color=colour, label=says)
    for bound in (row.limit.at_least, row.limit.at_most):
        if bound is not None:
            axes.axvline(bound, color=INK, linestyle="--", linewidth=1.2, label="limit")
    told = row.worst if row.worst_simulated is None else row.worst_simulated
    axes.axvline(told, color=LINES[1], linewidth=1.6, label="worst case")
    axes.set_yticks([])
    axes.set_xlabel(label(row.limit.quantity), fontsize=8.0)
    axes.set_ylim(0.0, 1.6 * counts.max())
    axes.legend(
        title=f"met in {100 * row.chance:.1f} % of prints",
        title_fontproperties={"weight": "bold", "size": 8.5},
        loc="upper left",
        fontsize=6.5,
        ncols=4,
        frameon=True,
        framealpha=0.9,
        edgecolor="none",
        alignment="left",
    )


def _draw_causes(axes: Axes, row: LimitOdds) -> None:
    names = list(row.shares)
    at = np.arange(len(names))[::-1]
    colours = [LINES[1] if name in row.matter else FAINT for name in names]
    axes.barh(at, [row.shares[name] for name in names], 0.6, color=colours)
    axes.set_yticks(at, [split_unit(name)[0] for name in names], fontsize=7.0)
    axes.set_xlim(0.0, 1.0)
    axes.grid(False, axis="y")

"""How far predictions without simulation can be trusted: each design foretold from all others."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fiddlehead.report.figures.study.labels import label, written
from fiddlehead.report.figures.style import FAINT, INK, LINES, sheet, title
from fiddlehead.study.surrogate import Checked

if TYPE_CHECKING:
    from matplotlib.figure import Figure


@dataclass(frozen=True, eq=False)
class ForetoldPicture:
    """One panel for each quantity."""

    heading: str
    detail: str
    panels: tuple[tuple[str, Checked], ...]


def foretold_picture(checked: Mapping[str, Checked], heading: str, detail: str) -> ForetoldPicture:
    """The numbers of the picture."""
    return ForetoldPicture(heading, detail, tuple(checked.items()))


def draw_foretold(picture: ForetoldPicture) -> Figure:
    """Foretold over simulated with 95 % bands; on the line is right."""
    count = len(picture.panels)
    with sheet(max(95.0, 62.0 * count), 80.0, ncols=count, squeeze=False) as (figure, grid):
        for axes, (name, found) in zip(grid[0], picture.panels, strict=True):
            ends = [
                min(found.measured.min(), found.foretold.min()),
                max(found.measured.max(), found.foretold.max()),
            ]
            axes.plot(ends, ends, color=INK, linewidth=0.8)
            axes.errorbar(found.measured, found.foretold, found.band, fmt="o", markersize=2.5,
                          color=LINES[0], ecolor=FAINT, elinewidth=0.6)  # fmt: skip
            axes.set_xlabel(f"{label(name)}, simulated", fontsize=7.5)
            axes.set_ylabel("foretold when left out", fontsize=7.5)
            low, high = axes.get_ylim()
            axes.set_ylim(low, high + 0.35 * (high - low))
            told = (
                f"typical error {written(name, found.typical_error)}",
                f"{100 * max(found.q2, 0.0):.1f} % of the variance foretold",
                f"band held {100 * found.inside:.0f} %, then × {found.widened:.2f}",
            )
            axes.text(0.03, 0.97, "\n".join(told), transform=axes.transAxes, va="top", fontsize=6.5)
        title(grid[0][0], picture.heading, picture.detail)
        return figure

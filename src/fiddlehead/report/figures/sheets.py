"""A sheet of settings as a picture: one line per setting, groups headed."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import wrap
from typing import TYPE_CHECKING

from fiddlehead.report.figures.style import FAINT, INK, sheet

if TYPE_CHECKING:
    from matplotlib.figure import Figure

COLUMNS = ((0.0, 25), (0.145, 25), (0.30, 20), (0.425, 53), (0.735, 46))
"""Where each column starts across the page, and how many characters it holds."""
HEADER = ("setting", "start", "search within", "why", "rests on")
LINE_MM = 3.4


def draw_sheet(heading: str, subtitle: str, rows: Sequence[tuple[str, ...]]) -> Figure:
    """Draw rows of (group, name, start, range, why, rests on)."""
    told: list[tuple[str, list[list[str]]]] = []
    lines = 4.0 + 1.5 * len(wrap(subtitle, 150))
    for group, *cells in rows:
        block = [wrap(cell, width) or [""] for cell, (_, width) in zip(cells, COLUMNS, strict=True)]
        if not told or told[-1][0] != group:
            lines += 2.4
        told.append((group, block))
        lines += max(len(cell) for cell in block) + 0.55
    with sheet(250.0, lines * LINE_MM + 8.0) as (figure, axes):
        axes.set_axis_off()
        axes.set_xlim(0.0, 1.0)
        axes.set_ylim(lines, 0.0)
        axes.text(0, 0.8, heading, fontsize=12.0, fontweight="bold", va="center")
        at = 2.4
        for line in wrap(subtitle, 150):
            axes.text(0, at, line, fontsize=7.5, color=FAINT, va="center")
            at += 1.3
        for (x, _), name in zip(COLUMNS, HEADER, strict=True):
            axes.text(x, at + 0.6, name, fontsize=7.5, color=FAINT, va="center")
        at += 1.4
        previous = ""
        for group, block in told:
            if group != previous:
                at += 1.4
                axes.text(0, at, group, fontsize=8.5, fontweight="bold", va="center", color=INK)
                axes.plot([0, 1], [at + 0.65, at + 0.65], color=FAINT, linewidth=0.6)
                at += 1.4
                previous = group
            deepest = 0
            for number, (cell, (x, _)) in enumerate(zip(block, COLUMNS, strict=True)):
                for k, line in enumerate(cell):
                    axes.text(
                        x,
                        at + k,
                        line,
                        fontsize=7.0,
                        va="center",
                        color=FAINT if number == 4 else INK,
                        fontweight="bold" if number == 1 else "normal",
                    )
                deepest = max(deepest, len(cell))
            at += deepest + 0.55
        return figure

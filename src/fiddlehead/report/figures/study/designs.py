"""Designs side by side: sections at one scale, what differs, what they reach."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fiddlehead.finger.outline import Outline, outline
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.report.figures.study.labels import split_unit, written
from fiddlehead.report.figures.style import BODY, FAINT, INK, LINES, PAPER, sheet, title
from fiddlehead.study.goals import Goals
from fiddlehead.study.space import Value
from fiddlehead.units import say

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


@dataclass(frozen=True, eq=False)
class Card:
    """One design: its section and its lines of text, each marked where it stands out.

    lines : name, value, and ``differs`` (from the first design), ``missed`` (a limit) or nothing
    """

    name: str
    section: Outline
    lines: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, eq=False)
class DesignsPicture:
    """Cards in a row."""

    heading: str
    detail: str
    cards: tuple[Card, ...]


def designs_picture(
    designs: Sequence[tuple[str, FingerParameters, Mapping[str, Value], Mapping[str, float]]],
    goals: Goals,
    heading: str,
    detail: str,
) -> DesignsPicture:
    """Compare designs, the first being the one the others are held against.

    Parameters
    ----------
    designs : name, finger, varied values, quantities
    """
    first = designs[0][2]
    limits = {limit.quantity: limit for limit in goals.limits}
    cards = []
    for name, finger, values, found in designs:
        lines = [
            (split_unit(n)[0], written(n, v), "differs" if v != first.get(n) else "")
            for n, v in values.items()
        ]
        lines.append(("", "", ""))
        for quantity, value in found.items():
            limit = limits.get(quantity)
            known = value == value
            missed = known and limit is not None and limit.excess(np.array([value]))[0] > 0.0
            text = say(value, split_unit(quantity)[1]) if known else "not known"
            lines.append((split_unit(quantity)[0], text, "missed" if missed else ""))
        cards.append(Card(name, outline(finger), tuple(lines)))
    return DesignsPicture(heading, detail, tuple(cards))


def draw_designs(picture: DesignsPicture) -> Figure:
    """Sections above, numbers below; what differs from the first in orange, missed limits in
    purple with a mark."""
    count = len(picture.cards)
    longest = max(len(card.lines) for card in picture.cards)
    heights = [38.0, 5.0 * longest + 4.0]
    layout = {"nrows": 2, "ncols": count, "squeeze": False, "height_ratios": heights}
    with sheet(62.0 * count, sum(heights) + 18.0, **layout) as (figure, grid):
        reach = max(float(card.section.outer[:, 0].max()) for card in picture.cards)
        low = min(float(card.section.outer[:, 1].min()) for card in picture.cards)
        top = max(float(card.section.outer[:, 1].max()) for card in picture.cards)
        for axes, card in zip(grid[0], picture.cards, strict=True):
            _draw_section(axes, card)
            axes.set_xlim(-2.0, reach + 2.0)
            axes.set_ylim(low - 2.0, top + 6.0)
        for axes, card in zip(grid[1], picture.cards, strict=True):
            _draw_lines(axes, card, longest)
        title(grid[0][0], picture.heading, picture.detail)
        for axes, card in zip(grid[0], picture.cards, strict=True):
            axes.text(0.0, 0.97, card.name, transform=axes.transAxes, fontweight="bold",
                      fontsize=8.5, va="top")  # fmt: skip
        return figure


def _draw_section(axes: Axes, card: Card) -> None:
    axes.fill(*card.section.outer.T, facecolor=BODY, edgecolor=INK, linewidth=0.7)
    for opening in (card.section.cavity, *card.section.voids):
        axes.fill(*opening.T, facecolor=PAPER, edgecolor=INK, linewidth=0.5)
    axes.set_aspect("equal", adjustable="box", anchor="W")
    axes.axis("off")


def _draw_lines(axes: Axes, card: Card, longest: int) -> None:
    axes.set_xlim(0.0, 1.0)
    axes.set_ylim(longest + 0.5, -0.5)
    axes.axis("off")
    colours = {"": INK, "differs": LINES[1], "missed": LINES[3]}
    for k, (name, value, mark) in enumerate(card.lines):
        axes.text(0.0, k, name, fontsize=7.0, va="center", color=FAINT)
        text = f"{value}  misses its limit" if mark == "missed" else value
        axes.text(0.5, k, text, fontsize=7.0, va="center", color=colours[mark],
                  fontweight="bold" if mark else "normal")  # fmt: skip

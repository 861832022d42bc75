"""Main effects of every variable and its share of the variance."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fiddlehead.report.figures.study.labels import label
from fiddlehead.report.figures.style import FAINT, INK, LINES, sheet, title
from fiddlehead.study.effects import Indices, MainEffect

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


@dataclass(frozen=True, eq=False)
class EffectsPicture:
    """One row for each quantity: a panel for each variable, then bars of its indices."""

    heading: str
    detail: str
    quantities: tuple[str, ...]
    effects: tuple[tuple[MainEffect, ...], ...]
    indices: tuple[Indices, ...]


def effects_picture(
    quantities: Sequence[str],
    effects: Sequence[Sequence[MainEffect]],
    indices: Sequence[Indices],
    heading: str,
    detail: str,
) -> EffectsPicture:
    """The numbers of the picture."""
    return EffectsPicture(
        heading, detail, tuple(quantities), tuple(tuple(e) for e in effects), tuple(indices)
    )


def draw_effects(picture: EffectsPicture) -> Figure:
    """Means with their band; bars: share alone, and with everything it takes part in."""
    rows, columns = len(picture.quantities), len(picture.effects[0]) + 1
    layout = {"nrows": rows, "ncols": columns, "sharey": False, "squeeze": False}
    with sheet(25.0 + 36.0 * columns, 22.0 + 42.0 * rows, **layout) as (figure, grid):
        for panels, name, effects, indices in zip(
            grid, picture.quantities, picture.effects, picture.indices, strict=True
        ):
            low = min(float((e.mean - e.band).min()) for e in effects)
            high = max(float((e.mean + e.band).max()) for e in effects)
            room = 0.05 * (high - low or 1.0)
            for axes, effect in zip(panels, effects, strict=False):
                _draw_effect(axes, effect)
                axes.set_ylim(low - room, high + room)
                axes.tick_params(labelleft=axes is panels[0], labelsize=6.5)
            panels[0].set_ylabel(label(name), fontsize=8.0)
            _draw_indices(panels[-1], indices)
        for axes, effect in zip(grid[-1], picture.effects[-1], strict=False):
            axes.set_xlabel(label(effect.variable), fontsize=7.5)
        grid[-1][-1].set_xlabel("share of the variance", fontsize=7.5)
        above = {"loc": "lower center", "bbox_to_anchor": (0.4, 1.0), "ncols": 2}
        grid[0][-1].legend(fontsize=6.5, **above)
        title(grid[0][0], picture.heading, picture.detail)
        return figure


def _draw_effect(axes: Axes, effect: MainEffect) -> None:
    numbers = all(isinstance(value, float) for value in effect.at)
    at = np.array(effect.at, float) if numbers else np.arange(len(effect.at), dtype=float)
    if numbers:
        axes.fill_between(
            at, effect.mean - effect.band, effect.mean + effect.band, color=LINES[0], alpha=0.18,
            linewidth=0,
        )  # fmt: skip
        axes.plot(at, effect.mean, color=LINES[0])
    else:
        axes.errorbar(at, effect.mean, effect.band, color=LINES[0], marker="o", capsize=2)
        axes.set_xticks(at, [str(value) for value in effect.at])
        axes.set_xlim(-0.5, len(at) - 0.5)


def _draw_indices(axes: Axes, indices: Indices) -> None:
    at = np.arange(len(indices.variables))[::-1]
    axes.barh(at + 0.2, np.maximum(indices.total, 0.0), 0.38, color=FAINT,
              xerr=indices.total_band, label="with others",
              error_kw={"linewidth": 0.7, "ecolor": INK})  # fmt: skip
    axes.barh(at - 0.2, np.maximum(indices.first, 0.0), 0.38, color=LINES[1],
              xerr=indices.first_band, label="alone",
              error_kw={"linewidth": 0.7, "ecolor": INK})  # fmt: skip
    names = [label(name).split(" (")[0] for name in indices.variables]
    axes.set_yticks(at, names, fontsize=6.5)
    axes.set_xlim(0.0, 1.05)
    axes.tick_params(axis="x", labelsize=6.5)
    axes.grid(False, axis="y")

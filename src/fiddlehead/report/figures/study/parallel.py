"""Every design as one line across all variables and goals."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from jaxtyping import Bool, Float

from fiddlehead.report.figures.study.labels import crowd_note, label, shown
from fiddlehead.report.figures.style import FAINT, INK, LINES, sheet, title
from fiddlehead.study.goals import Columns, Goals
from fiddlehead.study.space import Choice, Row, Space
from fiddlehead.units import say

if TYPE_CHECKING:
    from matplotlib.figure import Figure


@dataclass(frozen=True, eq=False)
class ParallelPicture:
    """Heights are 0 to 1 on every axis.

    ends : what stands below and above each axis
    ticks : height and text of the marks between, for choices
    """

    heading: str
    detail: str
    axes: tuple[str, ...]
    varied: int
    heights: Float[np.ndarray, "design axis"]
    ends: tuple[tuple[str, str], ...]
    ticks: tuple[tuple[tuple[float, str], ...], ...]
    met: Bool[np.ndarray, " design"]
    best: tuple[int, ...]
    limits: tuple[tuple[float | None, float | None], ...]
    """Heights of a goal's limits."""


def parallel_picture(
    space: Space,
    goals: Goals,
    rows: Sequence[Row],
    columns: Columns,
    best: Sequence[int],
    heading: str,
    detail: str,
) -> ParallelPicture:
    """The numbers of the picture; designs without a number for every goal are left out."""
    quantities = [name for name in goals.quantities if name not in space.names]
    values = np.stack([np.asarray(columns[name]) for name in quantities], 1)
    whole = np.flatnonzero(np.isfinite(values).all(1))
    kept = [int(whole[k]) for k in shown(len(whole), np.searchsorted(whole, list(best)))
            if k < len(whole)]  # fmt: skip
    low = values[whole].min(0) if len(whole) else np.zeros(len(quantities))
    high = values[whole].max(0) if len(whole) else np.ones(len(quantities))
    spread = np.where(high > low, high - low, 1.0)
    unit = space.unit([rows[k] for k in kept])
    limits = {limit.quantity: limit for limit in goals.limits}
    ends, ticks = [], []
    for variable in space.variables:
        if isinstance(variable, Choice):
            ends.append(("", ""))
            ticks.append(tuple((variable.share(v), str(v)) for v in variable.values))
        else:
            ends.append((say(variable.low, ""), say(variable.high, "")))
            ticks.append(())
    bounds: list[tuple[float | None, float | None]] = [(None, None)] * len(space.variables)
    for k, name in enumerate(quantities):
        ends.append((say(low[k], ""), say(high[k], "")))
        ticks.append(())
        limit = limits.get(name)
        sides = (limit.at_least, limit.at_most) if limit else (None, None)
        bounds.append(tuple(None if s is None else (s - low[k]) / spread[k] for s in sides))  # type: ignore[arg-type]
    place = {k: number for number, k in enumerate(kept)}
    return ParallelPicture(
        heading=heading,
        detail=detail + crowd_note(len(whole), len(kept)),
        axes=(*space.names, *quantities),
        varied=len(space.variables),
        heights=np.hstack([unit, (values[kept] - low) / spread]),
        ends=tuple(ends),
        ticks=tuple(ticks),
        met=goals.met(columns)[kept],
        best=tuple(place[int(k)] for k in best if int(k) in place),
        limits=tuple(bounds),
    )


def draw_parallel(picture: ParallelPicture) -> Figure:
    """Faint lines miss a limit, blue ones keep them all, orange ones are the best."""
    from matplotlib.collections import LineCollection

    count = len(picture.axes)
    with sheet(max(120.0, 27.0 * count), 95.0) as (figure, axes):
        across = list(range(count))
        for chosen, colour, alpha, width in (
            (~picture.met, FAINT, 0.25, 0.5),
            (picture.met, LINES[5], 0.5, 0.7),
        ):
            lines = [np.column_stack([across, h]) for h in picture.heights[chosen]]
            axes.add_collection(
                LineCollection(lines, colors=colour, alpha=alpha, linewidths=width, rasterized=True)
            )
        for place in picture.best:
            axes.plot(across, picture.heights[place], color=LINES[1], linewidth=1.8, marker="o")
        for k, ((below, above), ticks) in enumerate(zip(picture.ends, picture.ticks, strict=True)):
            axes.axvline(k, color=INK, linewidth=0.8, zorder=1)
            axes.text(k, -0.03, below, ha="center", va="top", fontsize=7.0)
            axes.text(k, 1.03, above, ha="center", va="bottom", fontsize=7.0)
            for height, text in ticks:
                axes.text(k + 0.06, height, text, fontsize=7.0, va="center")
            low, high = picture.limits[k]
            for bound, mark in ((low, "^"), (high, "v")):
                if bound is not None and 0.0 <= bound <= 1.0:
                    axes.plot([k], [bound], mark, color=LINES[3], markersize=8)
        axes.set_xticks(across, [_broken(label(name)) for name in picture.axes], fontsize=7.5)
        for tick, k in zip(axes.get_xticklabels(), across, strict=True):
            tick.set_fontweight("bold" if k >= picture.varied else "normal")
        axes.tick_params(axis="x", length=0, pad=14)
        axes.set_yticks([])
        axes.grid(False)
        for side in ("left", "bottom"):
            axes.spines[side].set_visible(False)
        axes.set_xlim(-0.4, count - 0.6)
        axes.set_ylim(-0.02, 1.02)
        title(axes, picture.heading, f"{picture.detail}\n ")
        return figure


def _broken(text: str) -> str:
    """A long label on two or three lines."""
    from textwrap import fill

    return fill(text, 15)

"""Every goal over every variable, and goals over each other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from jaxtyping import Bool, Float

from fiddlehead.report.figures.study.labels import crowd_note, label, shown
from fiddlehead.report.figures.style import FAINT, LINES, sheet, title
from fiddlehead.study.goals import Columns, Goals
from fiddlehead.study.space import Choice, Row, Space

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MOST_ACROSS, MOST_UP = 8, 5
"""Columns and rows of panels that can still be read."""


@dataclass(frozen=True, eq=False)
class MatrixPicture:
    """Values to plot: variables (choices as places in their list) and goals.

    words : names of the places of an axis that is a choice
    """

    heading: str
    detail: str
    across: tuple[str, ...]
    up: tuple[str, ...]
    columns: dict[str, Float[np.ndarray, " design"]]
    words: dict[str, tuple[str, ...]]
    met: Bool[np.ndarray, " design"]
    best: Bool[np.ndarray, " design"]


def matrix_picture(
    space: Space,
    goals: Goals,
    rows: Sequence[Row],
    columns: Columns,
    best: Sequence[int],
    heading: str,
    detail: str,
) -> MatrixPicture:
    """The numbers of the picture."""
    kept = shown(len(rows), best)
    up = [name for name in goals.quantities if name not in space.names][:MOST_UP]
    found = {name: np.asarray(columns[name])[kept] for name in up}
    words = {}
    for variable in space.variables:
        if isinstance(variable, Choice):
            words[variable.name] = tuple(str(value) for value in variable.values)
            at = [variable.values.index(rows[k][variable.name]) for k in kept]
        else:
            at = [float(rows[k][variable.name]) for k in kept]  # type: ignore[misc]
        found[variable.name] = np.array(at, float)
    chosen = {int(k) for k in best}
    return MatrixPicture(
        heading=heading,
        detail=detail + crowd_note(len(rows), len(kept)),
        across=(*space.names, *up[1:])[:MOST_ACROSS],
        up=tuple(up),
        columns=found,
        words=words,
        met=goals.met(columns)[kept],
        best=np.array([k in chosen for k in kept]),
    )


def draw_matrix(picture: MatrixPicture) -> Figure:
    """One panel for each pair, axes shared."""
    rows, columns = len(picture.up), len(picture.across)
    layout = {"nrows": rows, "ncols": columns, "sharex": "col", "sharey": "row", "squeeze": False}
    with sheet(25.0 + 33.0 * columns, 25.0 + 33.0 * rows, **layout) as (figure, grid):
        for axes_row, up in zip(grid, picture.up, strict=True):
            for axes, across in zip(axes_row, picture.across, strict=True):
                if picture.up.index(up) < _place(picture.up, across) or across not in picture.up:
                    _draw(axes, picture, across, up)
                else:
                    axes.set_visible(False)
        for axes_column, name in zip(grid.T, picture.across, strict=True):
            lowest = [axes for axes in axes_column if axes.get_visible()][-1]
            lowest.set_xlabel(label(name), fontsize=7.5)
            lowest.xaxis.set_tick_params(labelbottom=True)
        for axes, name in zip(grid[:, 0], picture.up, strict=True):
            axes.set_ylabel(label(name), fontsize=7.5)
        title(grid[0][0], picture.heading, picture.detail)
        return figure


def _place(names: tuple[str, ...], name: str) -> int:
    return names.index(name) if name in names else -1


def _draw(axes: Axes, picture: MatrixPicture, across: str, up: str) -> None:
    x, y = picture.columns[across], picture.columns[up]
    if across in picture.words:
        jitter = np.random.default_rng(0).uniform(-0.18, 0.18, len(x))
        x = x + jitter
        axes.set_xticks(range(len(picture.words[across])), picture.words[across])
    axes.tick_params(labelsize=6.5)
    for chosen, colour, size, alpha in (
        (~picture.met, FAINT, 4, 0.5),
        (picture.met, LINES[5], 6, 0.8),
        (picture.best, LINES[1], 22, 1.0),
    ):
        axes.scatter(x[chosen], y[chosen], s=size, color=colour, alpha=alpha, linewidth=0,
                     rasterized=True)  # fmt: skip

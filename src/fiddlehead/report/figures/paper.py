"""Drawing sheets: an A3 page in millimetres, views to a standard scale, a title block."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from shapely.geometry.base import BaseGeometry

from fiddlehead.fabricate.layers import polygons
from fiddlehead.files import write_whole
from fiddlehead.report.figures.section import Dimension, draw_dimension
from fiddlehead.report.figures.style import BODY, FAINT, INK, PAPER, save, sheet

if TYPE_CHECKING:
    from matplotlib.figure import Figure

WIDTH_MM, HEIGHT_MM = 420.0, 297.0
"""A3, landscape (ISO 216)."""
BORDER_MM = 10.0
SCALES = ((5.0, "5:1"), (2.0, "2:1"), (1.0, "1:1"), (0.5, "1:2"), (0.2, "1:5"), (0.1, "1:10"))
"""Standard scales (ISO 5455, from memory)."""


@dataclass(frozen=True)
class Placed:
    """A view's place on the paper: where its origin lies, and its scale."""

    x: float
    y: float
    scale: float

    def point(self, p: tuple[float, float]) -> tuple[float, float]:
        """From the part to the paper, mm."""
        return self.x + self.scale * p[0], self.y + self.scale * p[1]

    def dimension(self, d: Dimension) -> Dimension:
        """A dimension of the part, on paper; offsets are paper millimetres already."""
        return Dimension(self.point(d.start), self.point(d.end), d.offset, d.text)


def scale_for(size_mm: float, room_mm: float) -> tuple[float, str]:
    """The largest standard scale at which a size fits its room."""
    return next(((s, name) for s, name in SCALES if s * size_mm <= room_mm), SCALES[-1])


@contextmanager
def page() -> Iterator[tuple[Figure, Any]]:
    """An empty page with its border; one unit of the axes is a millimetre on paper."""
    with sheet(WIDTH_MM, HEIGHT_MM) as (figure, axes):
        figure.set_layout_engine("none")
        axes.set_position((0.0, 0.0, 1.0, 1.0))
        axes.set_xlim(0.0, WIDTH_MM)
        axes.set_ylim(0.0, HEIGHT_MM)
        axes.set_axis_off()
        b = BORDER_MM
        frame = [(b, b), (WIDTH_MM - b, b), (WIDTH_MM - b, HEIGHT_MM - b), (b, HEIGHT_MM - b)]
        axes.fill(*zip(*frame, strict=True), facecolor="none", edgecolor=INK, linewidth=1.2)
        yield figure, axes


def save_drawing(figure: Figure, folder: Path, name: str) -> None:
    """Write a drawing as PDF to print to scale, SVG and PNG (no dates inside).

    Raises
    ------
    StoreError : the folder cannot be written
    """
    save(figure, folder, name)
    about = {"CreationDate": None, "Producer": None, "Creator": "fiddlehead"}
    write_whole(folder / f"{name}.pdf", partial(figure.savefig, format="pdf", metadata=about))


def cut_view(axes: Any, place: Placed, section: BaseGeometry) -> None:
    """A section: material filled, edges drawn."""
    for polygon in polygons(section):
        for k, ring in enumerate([polygon.exterior, *polygon.interiors]):
            points = np.array([place.point((x, y)) for x, y in np.asarray(ring.coords)[:, :2]])
            axes.fill(
                *points.T,
                facecolor=PAPER if k else BODY,
                edgecolor=INK,
                linewidth=0.8,
                joinstyle="round",
            )


def dimensions(axes: Any, place: Placed, found: Sequence[Dimension]) -> None:
    """Dimensions of a view."""
    for dimension in found:
        draw_dimension(axes, place.dimension(dimension))


def circle(
    axes: Any, place: Placed, middle: tuple[float, float], diameter: float, line: str = "-"
) -> None:
    """A round edge, or a centre line for dash-dotted lines."""
    turn = np.linspace(0.0, 2.0 * np.pi, 90)
    x, y = place.point(middle)
    r = place.scale * diameter / 2.0
    colour = INK if line == "-" else FAINT
    axes.plot(x + r * np.cos(turn), y + r * np.sin(turn), line, color=colour, linewidth=0.8)


def leader(
    axes: Any, place: Placed, at: tuple[float, float], to: tuple[float, float], text: str
) -> None:
    """A note with a line to what it means; ``to`` counts from there in paper millimetres."""
    x, y = place.point(at)
    axes.annotate(
        text,
        (x, y),
        xytext=(x + to[0], y + to[1]),
        arrowprops={"arrowstyle": "-|>", "color": INK, "linewidth": 0.6, "mutation_scale": 6},
        fontsize=7.5,
        color=INK,
        va="center",
        ha="left" if to[0] >= 0 else "right",
    )


def caption(axes: Any, x: float, y: float, text: str) -> None:
    """The name of a view, centred."""
    axes.text(x, y, text, fontsize=8.5, ha="center", color=FAINT)


def table(
    axes: Any, x: float, y: float, widths: Sequence[float], rows: Sequence[Sequence[str]]
) -> None:
    """Rows of text from the top left corner; the first is the head."""
    step = 5.2
    for k, row in enumerate(rows):
        at = x
        for width, cell in zip(widths, row, strict=True):
            weight = "bold" if k == 0 else "normal"
            axes.text(at + 1.0, y - step * (k + 0.5), cell, fontsize=7.5, va="center",
                      fontweight=weight)  # fmt: skip
            at += width
        axes.plot([x, x + sum(widths)], [y - step * (k + 1)] * 2, color=FAINT, linewidth=0.5)


def title_block(axes: Any, rows: Sequence[tuple[str, str]], name: str) -> None:
    """Name of the drawing and what goes with it, in the lower right corner."""
    width, step = 150.0, 6.0
    left, low = WIDTH_MM - BORDER_MM - width, BORDER_MM
    height = step * len(rows) + 11.0
    box = [(left, low), (left + width, low), (left + width, low + height), (left, low + height)]
    axes.fill(*zip(*box, strict=True), facecolor=PAPER, edgecolor=INK, linewidth=1.0)
    axes.text(left + 3, low + height - 5.5, name, fontsize=12.0, fontweight="bold", va="center")
    for k, (label, text) in enumerate(rows):
        y = low + height - 11.0 - step * (k + 0.5)
        axes.plot([left, left + width], [y + step / 2] * 2, color=FAINT, linewidth=0.5)
        axes.text(left + 3, y, label, fontsize=7.5, color=FAINT, va="center")
        axes.text(left + 42, y, text, fontsize=8.0, va="center")

"""Printable test sheets with rig sketch, cautions and blank fields, and the board for photos."""

from __future__ import annotations

from collections.abc import Callable
from textwrap import wrap
from typing import TYPE_CHECKING, Any

import numpy as np

from fiddlehead.bench.photos.board import Board, tag_pixels
from fiddlehead.bench.photos.records import Setup
from fiddlehead.bench.protocols import Protocol
from fiddlehead.report.figures.style import BODY, FAINT, INK, LINES, sheet

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

A4 = (210.0, 297.0)
LEFT, RIGHT, TOP, BOTTOM = 14.0, 196.0, 285.0, 12.0
LINE = 4.4
"""Line spacing, mm."""


def draw_test_sheet(protocol: Protocol, project: str, notes: tuple[str, ...] = ()) -> Figure:
    """One A4 page: head, rig, cautions, steps, blank table."""
    with sheet(*A4) as (figure, axes):
        figure.set_layout_engine("none")
        axes.set_position([0.0, 0.0, 1.0, 1.0])
        axes.set_xlim(0.0, A4[0])
        axes.set_ylim(0.0, A4[1])
        axes.set_axis_off()
        axes.text(LEFT, TOP, protocol.title, fontsize=15, fontweight="bold", va="top")
        axes.text(RIGHT, TOP, project, fontsize=9, color=FAINT, va="top", ha="right")
        fields = "finger ____________   date ____________   operator ____________"
        fields += "   room ______ °C   ______ % r.h."
        axes.text(LEFT, TOP - 11.0, fields, fontsize=9, va="top")
        _sketch(axes, protocol.rig)
        y = _words(axes, "Set-up", protocol.equipment, LEFT, TOP - 20.0, 52)
        y = _words(axes, "Cautions", protocol.cautions, LEFT, y - 2.0, 52, colour="#b03000")
        y = min(y, TOP - 84.0)
        y = _words(axes, "Steps", protocol.steps, LEFT, y - 1.0, 108, numbered=True)
        if notes:
            y = _words(axes, "For this finger", notes, LEFT, y - 1.0, 108)
        _table(axes, protocol, y - 3.0)
        axes.text(
            LEFT,
            BOTTOM - 4.0,
            f"{protocol.name}.csv and .xlsx are this table; filled in, they import back. Numbers "
            "without source are common practice.",
            fontsize=6.5,
            color=FAINT,
        )
        return figure


def _words(
    axes: Axes,
    head: str,
    lines: tuple[str, ...],
    x: float,
    y: float,
    width: int,
    *,
    numbered: bool = False,
    colour: str = INK,
) -> float:
    """A headed list; returns the height it ends at."""
    axes.text(x, y, head, fontsize=9.5, fontweight="bold", va="top", color=colour)
    y -= LINE + 1.0
    for number, line in enumerate(lines, start=1):
        mark = f"{number}" if numbered else "–"
        axes.text(x, y, mark, fontsize=8.0, va="top", color=colour)
        for part in wrap(line, width):
            axes.text(x + 4.5, y, part, fontsize=8.0, va="top", color=colour)
            y -= LINE
    return y


def _table(axes: Axes, protocol: Protocol, top: float) -> None:
    columns = protocol.columns
    wide = (RIGHT - LEFT) / len(columns)
    rows = int((top - BOTTOM - 8.0) // 7.0)
    edge = top - 8.0 - 7.0 * rows
    for number, name in enumerate(columns):
        x = LEFT + number * wide
        axes.plot([x, x], [edge, top], color=INK, linewidth=0.5)
        for line, part in enumerate(wrap(name.replace("_", " "), max(int(wide / 1.7), 6))[:2]):
            axes.text(x + 1.0, top - 1.2 - 3.2 * line, part, fontsize=6.5, va="top")
    axes.plot([RIGHT, RIGHT], [edge, top], color=INK, linewidth=0.5)
    axes.plot([LEFT, RIGHT], [top, top], color=INK, linewidth=0.8)
    for row in range(rows + 1):
        y = top - 8.0 - 7.0 * row
        axes.plot([LEFT, RIGHT], [y, y], color=INK if row == 0 else FAINT, linewidth=0.5)


def _sketch(axes: Axes, rig: str) -> None:
    """The rig in a box at the right, 78 x 58 mm."""
    x0, y0 = 118.0, 205.0
    axes.plot(
        [x0, x0 + 78, x0 + 78, x0, x0], [y0, y0, y0 + 58, y0 + 58, y0], color=FAINT, linewidth=0.6
    )
    _RIGS[rig](axes, x0, y0)


def _finger(axes: Axes, x: float, y: float, bend: float = 0.0) -> tuple[float, float]:
    """A bellows finger from its clamp at (x, y), bending down; returns its tip."""
    axes.fill([x - 7, x, x, x - 7], [y - 7, y - 7, y + 9, y + 9], facecolor=FAINT, alpha=0.5)
    axes.text(x - 6.5, y - 10.5, "clamp", fontsize=6.5)
    s = np.linspace(0.0, 1.0, 60)
    angle = np.radians(bend) * s
    length = 36.0
    px = x + np.cumsum(np.cos(angle)) * length / 60
    py = y - np.cumsum(np.sin(angle)) * length / 60
    depth = 4.0 + 2.2 * np.sign(np.sin(14.0 * np.pi * s))
    qx, qy = px + depth * np.sin(angle), py + depth * np.cos(angle)
    axes.fill(
        np.concatenate([px, qx[::-1]]),
        np.concatenate([py, qy[::-1]]),
        facecolor=BODY,
        edgecolor=INK,
        linewidth=0.7,
    )
    return float(px[-1]), float(py[-1])


def _tube(axes: Axes, x: float, y: float, words: str) -> None:
    axes.plot([x - 16, x - 7], [y + 3, y + 3], color=LINES[0], linewidth=2.0)
    axes.text(x - 17, y + 4.5, words, fontsize=6.5, color=LINES[0])


def _camera_rig(axes: Axes, x: float, y: float) -> None:
    for a, b in ((3, 3), (69, 3), (3, 49), (69, 49)):
        axes.fill([x + a, x + a + 6, x + a + 6, x + a], [y + b, y + b, y + b + 6, y + b + 6], INK)
    tip = _finger(axes, x + 25, y + 32, 55.0)
    _tube(axes, x + 25, y + 32, "air, gauge")
    axes.plot([x + 19.5, x + 22.5], [y + 26.5, y + 26.5], "o", color=INK, markersize=3)
    axes.plot(x + 19.5, y + 38, "o", color=INK, markersize=3)
    axes.plot([tip[0] + 3, tip[0] + 8], [tip[1] - 2, tip[1] + 3], "o", color=INK, markersize=3)
    axes.text(
        x + 12, y + 5, "board behind, camera square on,\n10 finger lengths away", fontsize=6.5
    )


def _plate_rig(axes: Axes, x: float, y: float) -> None:
    tip = _finger(axes, x + 25, y + 34, 12.0)
    _tube(axes, x + 25, y + 34, "air, gauge")
    axes.fill(
        [tip[0] - 9, tip[0] + 4, tip[0] + 4, tip[0] - 9],
        [tip[1] - 4, tip[1] - 4, tip[1] - 1, tip[1] - 1],
        facecolor=LINES[1],
    )
    axes.text(tip[0] - 12, tip[1] - 9, "smooth plate", fontsize=6.5)
    axes.fill(
        [tip[0] - 6, tip[0] + 1, tip[0] + 1, tip[0] - 6],
        [tip[1] - 20, tip[1] - 20, tip[1] - 10, tip[1] - 10],
        facecolor=FAINT,
    )
    axes.text(tip[0] - 6, tip[1] - 24, "load cell", fontsize=6.5)
    axes.annotate(
        "", (tip[0] - 3, y + 47), (x + 25, y + 47), arrowprops={"arrowstyle": "<->", "color": INK}
    )
    axes.text(x + 30, y + 48.5, "root to contact: ______ mm", fontsize=6.5)


def _side_weight_rig(axes: Axes, x: float, y: float) -> None:
    tip = _finger(axes, x + 25, y + 34)
    _tube(axes, x + 25, y + 34, "air")
    axes.plot([tip[0], tip[0]], [tip[1], y + 14], color=INK, linewidth=0.8)
    axes.fill([tip[0] - 3, tip[0] + 3, tip[0] + 3, tip[0] - 3],
              [y + 7, y + 7, y + 14, y + 14], facecolor=FAINT)  # fmt: skip
    axes.text(tip[0] - 34, y + 9, "weight, sideways to\nthe bending plane", fontsize=6.5)
    axes.text(x + 20, y + 48, "seen from above the back", fontsize=6.5)


def _decay_rig(axes: Axes, x: float, y: float) -> None:
    _finger(axes, x + 38, y + 30)
    axes.plot([x + 4, x + 31], [y + 33, y + 33], color=LINES[0], linewidth=2.0)
    axes.plot([x + 24], [y + 33], "D", color=LINES[1], markersize=7)
    axes.text(x + 8, y + 14, "shut-off valve,\nclose to the finger", fontsize=6.5)
    axes.plot([x + 29, x + 29], [y + 33, y + 45], color=LINES[0], linewidth=1.2)
    axes.plot([x + 29], [y + 47], "o", markersize=13, color=FAINT)
    axes.text(x + 33, y + 46, "gauge and thermometer\non the finger's side", fontsize=6.5)
    axes.text(x + 3, y + 35, "supply", fontsize=6.5, color=LINES[0])


def _cycling_rig(axes: Axes, x: float, y: float) -> None:
    _finger(axes, x + 36, y + 34, 40.0)
    axes.plot([x + 5, x + 29], [y + 37, y + 37], color=LINES[0], linewidth=2.0)
    axes.fill([x + 13, x + 23, x + 23, x + 13], [y + 33, y + 33, y + 41, y + 41], facecolor=FAINT)
    axes.text(x + 4, y + 47, "3/2 valve, counter", fontsize=6.5)
    t = np.linspace(0.0, 1.0, 200)
    axes.plot(x + 8 + 30 * t, y + 10 + 6 * (np.sin(8 * np.pi * t) > 0), color=LINES[1])
    axes.text(x + 8, y + 19, "pressure over time", fontsize=6.5)
    axes.text(x + 44, y + 5, "screen all round", fontsize=6.5)


def _gripper_rig(axes: Axes, x: float, y: float) -> None:
    for side in (-1, 1):
        s = np.linspace(0.0, 1.0, 40)
        px = x + 39 + side * (16 - 9 * s**2)
        axes.plot(px, y + 44 - 28 * s, color=INK, linewidth=6.0, solid_capstyle="round")
        axes.plot(px, y + 44 - 28 * s, color=BODY, linewidth=4.6, solid_capstyle="round")
    axes.fill([x + 18, x + 60, x + 60, x + 18], [y + 44, y + 44, y + 49, y + 49], facecolor=FAINT)
    angle = np.linspace(np.pi, 2.0 * np.pi, 40)
    axes.fill(x + 39 + 9 * np.cos(angle), y + 25 + 12 * np.sin(angle), facecolor="#c9a27a")
    axes.annotate("", (x + 39, y + 57), (x + 39, y + 50), arrowprops={"arrowstyle": "->"})
    axes.text(x + 42, y + 52, "lift or pull, along the axis", fontsize=6.5)
    axes.text(x + 24, y + 4, "tray or load cell below", fontsize=6.5)


_RIGS: dict[str, Callable[[Any, float, float], None]] = {
    "camera": _camera_rig,
    "plate": _plate_rig,
    "side_weight": _side_weight_rig,
    "decay": _decay_rig,
    "cycling": _cycling_rig,
    "gripper": _gripper_rig,
}


def draw_board(board: Board, margin_mm: float = 20.0) -> Figure:
    """The board at its true size: print without scaling, glue flat, then measure it."""
    wide = board.width_mm + board.fiducial_mm + 2.0 * margin_mm
    high = board.height_mm + board.fiducial_mm + 2.0 * margin_mm
    with sheet(wide, high) as (figure, axes):
        figure.set_layout_engine("none")
        axes.set_position([0.0, 0.0, 1.0, 1.0])
        axes.set_xlim(-0.5 * wide, 0.5 * wide)
        axes.set_ylim(-0.5 * high, 0.5 * high)
        axes.set_axis_off()
        for number in range(4):
            corners = board.corners_mm(number)
            low, top = corners.min(0), corners.max(0)
            axes.imshow(
                tag_pixels(number, 60),
                cmap="gray",
                extent=(low[0], top[0], low[1], top[1]),
                interpolation="nearest",
            )
        axes.set_xlim(-0.5 * wide, 0.5 * wide)
        axes.set_ylim(-0.5 * high, 0.5 * high)
        axes.plot([-50.0, 50.0], [-0.5 * high + 8.0] * 2, color=INK, linewidth=1.0)
        for x in (-50.0, 50.0):
            axes.plot([x, x], [-0.5 * high + 6.5, -0.5 * high + 9.5], color=INK, linewidth=1.0)
        words = (
            f"100 mm when printed to scale; measure: {board.width_mm:g} mm and "
            f"{board.height_mm:g} mm between fiducial centres"
        )
        axes.text(0.0, -0.5 * high + 10.0, words, ha="center", fontsize=7.0, color=FAINT)
        return figure


def draw_marks(setup: Setup, length_mm: float, height_mm: float, name: str) -> Figure:
    """Where the marks go on one finger, at true size."""
    with sheet(length_mm + 60.0, height_mm + 45.0) as (figure, axes):
        figure.set_layout_engine("none")
        axes.set_position([0.0, 0.0, 1.0, 1.0])
        axes.set_xlim(-30.0, length_mm + 30.0)
        axes.set_ylim(-22.0, height_mm + 23.0)
        axes.set_axis_off()
        axes.plot(
            [0, length_mm, length_mm, 0, 0], [0, 0, height_mm, height_mm, 0], color=FAINT,
            linewidth=0.6, linestyle=":",
        )  # fmt: skip
        for number, (x, y) in enumerate(setup.marks, start=1):
            circle = np.linspace(0.0, 2.0 * np.pi, 40)
            radius = 0.5 * setup.diameter_mm
            axes.fill(x + radius * np.cos(circle), y + radius * np.sin(circle), color=INK)
            axes.text(x, y + radius + 0.6, str(number), fontsize=6.0, ha="center", color=LINES[0])
            axes.text(
                x, -4.0 - 3.2 * (number % 3), f"{number}: {x:.1f}, {y:.1f}", fontsize=5.5,
                ha="center", color=FAINT,
            )  # fmt: skip
        axes.text(-25.0, height_mm + 17.0, f"{name}: marks, true size (mm from root and gripping "
                  "face); dotted: outline", fontsize=8.0)  # fmt: skip
        axes.text(-25.0, height_mm + 12.0, "marks beyond the outline stand on a card glued to the "
                  "tip face", fontsize=7.0, color=FAINT)  # fmt: skip
        return figure

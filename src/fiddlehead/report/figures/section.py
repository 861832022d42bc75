"""The finger's section with its main dimensions: along the finger, and across a bellows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from jaxtyping import Float

from fiddlehead.finger.outline import Outline, outline
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.report.figures.style import BODY, FAINT, INK, LINES, PAPER, sheet, title
from fiddlehead.units import say

if TYPE_CHECKING:
    from matplotlib.figure import Figure

DIMENSION = LINES[0]


@dataclass(frozen=True)
class Dimension:
    """One measured distance: its two ends, the offset of the dimension line, and its text."""

    start: tuple[float, float]
    end: tuple[float, float]
    offset: tuple[float, float]
    text: str


@dataclass(frozen=True, eq=False)
class SectionPicture:
    """Polygons and dimensions of both views, mm."""

    heading: str
    detail: str
    along: Outline
    along_dimensions: tuple[Dimension, ...]
    across_outer: Float[np.ndarray, "4 2"]
    across_chamber: Float[np.ndarray, "4 2"]
    across_channel: Float[np.ndarray, "4 2"]
    across_dimensions: tuple[Dimension, ...]


def section_picture(finger: FingerParameters, heading: str, detail: str = "") -> SectionPicture:
    """Measure a finger.

    Raises
    ------
    ParameterError : the parameters contradict each other
    """
    p, d = finger, finger.dimensions
    inner_height = float(d.inner_height)
    half, chamber, channel = p.width_mm / 2, p.chamber_width_mm / 2, p.channel_width_mm / 2
    under_valley = float(d.inner_valley_height)
    return SectionPicture(
        heading=heading,
        detail=detail,
        along=outline(p),
        along_dimensions=_along(p),
        across_outer=_box(-half, half, -p.pad_depth_mm, p.height_mm),
        across_chamber=_box(-chamber, chamber, p.base_thickness_mm, inner_height),
        across_channel=_box(-channel, channel, p.base_thickness_mm, under_valley),
        across_dimensions=_across(p),
    )


def _box(left: float, right: float, low: float, high: float) -> Float[np.ndarray, "4 2"]:
    return np.array([(left, low), (right, low), (right, high), (left, high)], float)


def _mm(value: float) -> str:
    return say(value, "", 4)


def _along(p: FingerParameters) -> tuple[Dimension, ...]:
    d = p.dimensions
    length, low = p.length_mm, -p.pad_depth_mm
    first_distal = p.root_length_mm + float(d.inner_land) + float(d.miter_shift)
    valley = first_distal + float(d.flank_run)
    found = [
        Dimension((0, low), (length, low), (0, -11), f"length {_mm(length)}"),
        Dimension((0, low), (p.root_length_mm, low), (0, -5), f"root {_mm(p.root_length_mm)}"),
        Dimension(
            (length - p.tip_length_mm, low), (length, low), (0, -5), f"tip {_mm(p.tip_length_mm)}"
        ),
        Dimension((0, 0), (0, p.height_mm), (-6, 0), f"height {_mm(p.height_mm)}"),
        Dimension(
            (length, 0),
            (length, p.valley_height_mm),
            (6, 0),
            f"valley height {_mm(p.valley_height_mm)}",
        ),
    ]
    if p.bellows_count > 1:
        found.append(
            Dimension(
                (first_distal, p.height_mm),
                (first_distal + p.pitch_mm, p.height_mm),
                (0, 5),
                f"pitch {_mm(p.pitch_mm)}",
            )
        )
        shown = (p.bellows_count - 1) // 2  # away from the pitch where there is room
        at, above = valley + shown * p.pitch_mm, 5.0 if shown > 1 else 10.5
        found.append(
            Dimension(
                (at, p.valley_height_mm),
                (at + p.valley_gap_mm, p.valley_height_mm),
                (0, p.height_mm - p.valley_height_mm + above),
                f"valley gap {_mm(p.valley_gap_mm)}",
            )
        )
    return tuple(found)


def _across(p: FingerParameters) -> tuple[Dimension, ...]:
    half, low = p.width_mm / 2, -p.pad_depth_mm
    channel = p.channel_width_mm / 2
    inner = p.chamber_width_mm / 2
    pad = [Dimension((half, low), (half, 0), (5, 0), f"pad {_mm(p.pad_depth_mm)}")] if p.pad else []
    return (
        *pad,
        Dimension((-half, low), (half, low), (0, -11), f"width {_mm(p.width_mm)}"),
        Dimension((-channel, low), (channel, low), (0, -5), f"channel {_mm(p.channel_width_mm)}"),
        Dimension(
            (inner, p.height_mm),
            (half, p.height_mm),
            (0, 5),
            f"side wall {_mm(p.side_wall_thickness_mm)}",
        ),
    )


def wall_note(p: FingerParameters) -> str:
    """The wall thicknesses in one line, too small to be dimensioned in the picture; what the pad
    consists of in a second."""
    note = (
        f"walls in mm: flank {_mm(p.wall_thickness_mm)} at {say(p.flank_angle_deg, 'deg')}, "
        f"roof {_mm(p.roof_thickness_mm)}, base {_mm(p.base_thickness_mm)}"
    )
    if p.inlet_bore_mm:
        note += f"; inlet bore {_mm(p.inlet_bore_mm)}"
    return f"{note}\n{pad_note(p)}" if p.pad else note


def pad_note(p: FingerParameters) -> str:
    """What the pad consists of in one line; "" for a bare finger."""
    pad = p.pad
    if pad is None:
        return ""
    parts = []
    if pad.has_ribs:
        parts.append(
            f"{pad.rib_count} ribs {_mm(pad.rib_thickness_mm)} thick at"
            f" {say(pad.rib_angle_deg, 'deg')}"
        )
    if pad.has_lattice:
        squares = pad.cells == "rotating squares"
        rows = "" if pad.cell_rows == 1 else f" in {pad.cell_rows} rows"
        parts.append(
            f"{pad.cell_count} cells{rows}, {pad.cells}, {'necks' if squares else 'struts'}"
            f" {_mm(pad.strut_thickness_mm)}"
        )
    elif pad.cells == "solid":
        parts.append("plain solid layer")
    return f"pad in mm: {', '.join(parts)}; skin {_mm(pad.skin_thickness_mm)}"


BETWEEN_MM = 26.0
"""Room between the two views."""


def draw_section(picture: SectionPicture) -> Figure:
    """Draw both views on one scale, solid filled, cavity empty."""
    along, across = picture.along.outer, picture.across_outer
    shift = np.array([along[:, 0].max() + BETWEEN_MM - across[:, 0].min(), 0.0])
    left, right = -14.0, float(shift[0] + across[:, 0].max() + 12.0)
    low, top = float(along[:, 1].min()) - 20.0, float(along[:, 1].max()) + 15.0
    width, heading = 190.0, 9.5 + 4.5 * len(picture.detail.splitlines())
    with sheet(width, width * (top - low) / (right - left) + heading) as (figure, axes):
        _fill(axes, along, BODY)
        for opening in (picture.along.cavity, *picture.along.voids):
            _fill(axes, opening, PAPER)
        if picture.along.inlet is not None:
            _fill(axes, picture.along.inlet, PAPER, line=":")
        _fill(axes, across + shift, BODY)
        _fill(axes, picture.across_chamber + shift, PAPER)
        _fill(axes, picture.across_channel + shift, PAPER, line=":")
        for dimension in picture.along_dimensions:
            draw_dimension(axes, dimension)
        for dimension in picture.across_dimensions:
            draw_dimension(axes, _moved(dimension, float(shift[0])))
        axes.text(shift[0], low + 0.5, "across a bellows", ha="center", fontsize=8.0, color=FAINT)
        axes.text(
            along[:, 0].mean(), low + 0.5, "at mid-width", ha="center", fontsize=8.0, color=FAINT
        )
        axes.set_xlim(left, right)
        axes.set_ylim(low, top)
        axes.set_aspect("equal")
        axes.set_axis_off()
        title(axes, picture.heading, picture.detail)
        return figure


def _moved(dimension: Dimension, by: float) -> Dimension:
    (x0, y0), (x1, y1) = dimension.start, dimension.end
    return Dimension((x0 + by, y0), (x1 + by, y1), dimension.offset, dimension.text)


def _fill(axes: Any, corners: Float[np.ndarray, "corner 2"], colour: str, line: str = "-") -> None:
    axes.fill(
        corners[:, 0],
        corners[:, 1],
        facecolor=colour,
        edgecolor=INK if line == "-" else FAINT,
        linewidth=0.9,
        linestyle=line,
        joinstyle="miter",
    )


def draw_dimension(axes: Any, dimension: Dimension) -> None:
    """Draw extension lines, dimension line and text."""
    (x0, y0), (x1, y1), (dx, dy) = dimension.start, dimension.end, dimension.offset
    a, b = (x0 + dx, y0 + dy), (x1 + dx, y1 + dy)
    for start, end in ((dimension.start, a), (dimension.end, b)):
        axes.plot(*zip(start, end, strict=True), color=DIMENSION, linewidth=0.4)
    axes.annotate(
        "",
        a,
        b,
        arrowprops={
            "arrowstyle": "|-|,widthA=0.18,widthB=0.18",
            "color": DIMENSION,
            "linewidth": 0.8,
            "shrinkA": 0,
            "shrinkB": 0,
        },
    )
    upright = dx != 0
    middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
    away = np.sign(dx) if upright else np.sign(dy)
    axes.annotate(
        dimension.text,
        middle,
        xytext=(3.5 * away, 0) if upright else (0, 3.0 * away),
        textcoords="offset points",
        rotation=90 if upright else 0,
        ha=("left" if away > 0 else "right") if upright else "center",
        va="center" if upright else ("bottom" if away > 0 else "top"),
        color=DIMENSION,
        fontsize=7.5,
    )

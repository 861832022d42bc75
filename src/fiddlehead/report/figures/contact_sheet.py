"""All photos of a series at a glance, with what was found in them, to check by eye."""

from __future__ import annotations

from dataclasses import dataclass
from textwrap import fill
from typing import TYPE_CHECKING

import numpy as np
from jaxtyping import Float, UInt8

from fiddlehead.bench.photos.records import PhotoReading
from fiddlehead.report.figures.style import INK, LINES, sheet

if TYPE_CHECKING:
    from matplotlib.figure import Figure

WIDEST_PX = 640
GOOD, BAD = "#009e73", "#d55e00"


@dataclass(frozen=True)
class Frame:
    """One photo made small, with its marks."""

    pixels: UInt8[np.ndarray, "row column 3"]
    marks: Float[np.ndarray, "mark 2"]
    roots: int
    tips: int
    heading: str
    remark: str
    good: bool


def frame_of(
    pixels: UInt8[np.ndarray, "row column 3"], reading: PhotoReading, roots: int, tips: int
) -> Frame:
    """The part of a photo around its marks (all of it where none were found), and its words."""
    left, top, right, low = _around(reading.marks_px, pixels.shape[1], pixels.shape[0])
    step = max(1, -(-(right - left) // WIDEST_PX))
    pressure = "? kPa" if np.isnan(reading.pressure_kpa) else f"{reading.pressure_kpa:.4g} kPa"
    if reading.usable:
        heading = f"{reading.finger}: {pressure}, {reading.tip_angle_deg:.1f}° tip"
        heading += f" ± {2 * reading.tip_angle_u_deg:.1f}°, {reading.chord_angle_deg:.1f}° chord"
    else:
        heading = f"{reading.finger}: {pressure}, not used"
    return Frame(
        pixels=pixels[top:low:step, left:right:step],
        marks=(reading.marks_px - np.array([left, top])) / step,
        roots=roots,
        tips=tips,
        heading=heading,
        remark="; ".join(reading.flags) or "; ".join(reading.remarks),
        good=reading.usable,
    )


def _around(marks: Float[np.ndarray, "mark 2"], wide: int, high: int) -> tuple[int, int, int, int]:
    """Left, top, right and lower edge of a 16:9 window around the marks, pixels."""
    seen = marks[np.isfinite(marks).all(1)]
    if len(seen) < 2:
        return 0, 0, wide, high
    middle = 0.5 * (seen.min(0) + seen.max(0))
    reach = 1.5 * np.ptp(seen, axis=0)
    half = 0.5 * max(float(reach[0]), 16.0 / 9.0 * float(reach[1]), 80.0)
    x = [int(np.clip(middle[0] + side * half, 0, wide)) for side in (-1, 1)]
    y = [int(np.clip(middle[1] + side * half * 9.0 / 16.0, 0, high)) for side in (-1, 1)]
    return x[0], y[0], x[1], y[1]


def draw_contact_sheet(frames: tuple[Frame, ...], heading: str, columns: int = 3) -> Figure:
    """Draw frames in rows: marks numbered, root and tip groups joined, useless ones framed red."""
    rows = -(-len(frames) // columns)
    with sheet(200.0, 12.0 + 52.0 * rows, nrows=rows, ncols=columns, squeeze=False) as (
        figure,
        axes,
    ):
        figure.suptitle(
            f"{heading}: check by eye that every ring sits on its mark",
            x=0.01,
            ha="left",
            fontsize=10.0,
            fontweight="bold",
            color=INK,
        )
        for place in axes.ravel()[len(frames) :]:
            place.set_axis_off()
        for place, frame in zip(axes.ravel(), frames, strict=False):
            place.imshow(frame.pixels, aspect="equal")
            _draw_marks(place, frame)
            place.set_xticks([])
            place.set_yticks([])
            place.grid(False)
            for spine in place.spines.values():
                spine.set_visible(True)
                spine.set_color(GOOD if frame.good else BAD)
                spine.set_linewidth(2.0)
            place.set_title(frame.heading, fontsize=7.5, pad=3.0)
            words = place.set_xlabel(
                fill(frame.remark, 58), fontsize=6.5, color=INK if frame.good else BAD, loc="left"
            )
            words.set_in_layout(True)
        return figure


def _draw_marks(place: object, frame: Frame) -> None:
    marks, last = frame.marks, len(frame.marks) - frame.tips
    for group in (marks[: frame.roots], marks[last:]):
        place.plot(group[:, 0], group[:, 1], color=LINES[1], linewidth=1.2)  # type: ignore[attr-defined]
    place.plot(  # type: ignore[attr-defined]
        marks[:, 0], marks[:, 1], "o", markersize=5.0, markerfacecolor="none",
        markeredgecolor=LINES[5], markeredgewidth=1.0,
    )  # fmt: skip
    for number, (x, y) in enumerate(marks, start=1):
        if np.isfinite(x):
            place.annotate(  # type: ignore[attr-defined]
                str(number), (x, y), xytext=(3, 3), textcoords="offset points", fontsize=5.5,
                color=LINES[0],
            )  # fmt: skip

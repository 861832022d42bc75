"""Curves over pressure: bending angle, blocked force, strain, and the path of the tip.

Each picture has two steps: a record with the numbers, and a drawing of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from textwrap import fill
from typing import TYPE_CHECKING

import numpy as np
from jaxtyping import Float

from fiddlehead.report.figures.style import (
    DASHES,
    FAINT,
    INK,
    LINES,
    MARKERS,
    label_line_ends,
    sheet,
    title,
)
from fiddlehead.trials.records import BendResult, BlockResult

if TYPE_CHECKING:
    from matplotlib.figure import Figure

KPA = 1e3
"""Kilopascals in one megapascal."""


@dataclass(frozen=True)
class Curve:
    """One line: its name, and its points in the units of the picture."""

    label: str
    x: Float[np.ndarray, " point"]
    y: Float[np.ndarray, " point"]
    helper: bool = False
    """Drawn faint: a bound or a limit, not a result."""


@dataclass(frozen=True)
class CurvePicture:
    """Lines over one axis, with everything the reader must be told."""

    name: str
    heading: str
    detail: str
    x_label: str
    y_label: str
    curves: tuple[Curve, ...]
    remark: str = ""
    """Why the lines end early, if they do."""
    equal_scale: bool = False
    marks: tuple[tuple[float, float, str], ...] = ()
    """Points with a word beside them."""


def _remark(outcome: str, reason: str, reached_mpa: float) -> str:
    if outcome == "complete":
        return ""
    return f"ends at {KPA * reached_mpa:.4g} kPa ({outcome.replace('_', ' ')}): {reason}"


def angle_picture(result: BendResult, heading: str, detail: str = "") -> CurvePicture:
    """Both bending angles over gauge pressure."""
    pressure = KPA * result.pressure_mpa
    return CurvePicture(
        name="angle_pressure",
        heading=heading,
        detail=detail,
        x_label="gauge pressure (kPa)",
        y_label="bending angle (°)",
        curves=(
            Curve("tip tangent", pressure, result.tip_angle_deg),
            Curve("chord", pressure, result.chord_angle_deg),
        ),
        remark=_remark(
            result.history.outcome, result.history.reason, result.history.pressure_reached_mpa
        ),
    )


def strain_picture(
    result: BendResult,
    heading: str,
    detail: str = "",
    *,
    limit_percent: float | None = None,
    limit_across_layers_percent: float | None = None,
) -> CurvePicture:
    """Largest log strains over gauge pressure, beside the limits the user set."""
    pressure = KPA * result.pressure_mpa
    strain = result.strain
    curves = [
        Curve("largest", pressure, 100.0 * strain.peak),
        Curve("95 % of the volume below", pressure, 100.0 * strain.p95),
        Curve("in the layer plane", pressure, 100.0 * strain.in_plane),
        Curve("across layers", pressure, 100.0 * strain.across_layers),
    ]
    for label, limit in (
        ("limit in plane", limit_percent),
        ("limit across layers", limit_across_layers_percent),
    ):
        if limit is not None:
            curves.append(Curve(label, pressure, np.full_like(pressure, limit), helper=True))
    return CurvePicture(
        name="strain_pressure",
        heading=heading,
        detail=detail,
        x_label="gauge pressure (kPa)",
        y_label="largest principal log strain (%)",
        curves=tuple(curves),
    )


def tip_path_picture(result: BendResult, heading: str, detail: str = "") -> CurvePicture:
    """Where the tip goes: x along the unbent finger, y towards the bellows."""
    path = result.tip_path_mm
    marks = tuple(
        (float(path[step, 0]), float(path[step, 1]), f"{KPA * result.pressure_mpa[step]:.4g} kPa")
        for step in sorted({0, len(path) // 2, len(path) - 1})
    )
    return CurvePicture(
        name="tip_path",
        heading=heading,
        detail=detail,
        x_label="x along the finger (mm)",
        y_label="y (mm)",
        curves=(Curve("", path[:, 0], path[:, 1]),),
        equal_scale=True,
        marks=marks,
    )


def force_picture(results: Sequence[BlockResult], heading: str, detail: str = "") -> CurvePicture:
    """Blocked force over gauge pressure at each preset angle; hand bound of the longest curve."""
    curves = [
        Curve(
            f"plate met at {result.touch_angle_deg:.0f}°", KPA * result.pressure_mpa, result.force_n
        )
        for result in results
    ]
    longest = max(results, key=lambda result: float(np.ptp(result.pressure_mpa)))
    curves.append(
        Curve("hand bound p·A·e/L", KPA * longest.pressure_mpa, longest.hand_bound_n, helper=True)
    )
    remarks = [
        (
            f"At {r.preset_angle_deg:g}°: ",
            _remark(r.history.outcome, r.history.reason, r.history.pressure_reached_mpa),
        )
        for r in results
    ]
    return CurvePicture(
        name="force_pressure",
        heading=heading,
        detail=detail,
        x_label="gauge pressure (kPa)",
        y_label="blocked force, whole finger (N)",
        curves=tuple(curves),
        remark=" ".join(place + remark for place, remark in remarks if remark),
    )


def draw_curves(picture: CurvePicture) -> Figure:
    """Draw the lines, each named at its end."""
    size = (110.0, 110.0) if picture.equal_scale else (150.0, 95.0)
    with sheet(*size) as (figure, axes):
        ends = []
        for number, curve in enumerate(picture.curves):
            colour = FAINT if curve.helper else LINES[number % len(LINES)]
            axes.plot(
                curve.x,
                curve.y,
                color=colour,
                linestyle=DASHES[2] if curve.helper else DASHES[number % len(DASHES)],
                linewidth=1.0 if curve.helper else 1.6,
                marker="" if curve.helper else MARKERS[number % len(MARKERS)],
            )
            if len(curve.x):
                ends.append((float(curve.x[-1]), float(curve.y[-1]), curve.label, colour))
        axes.set_xlabel(picture.x_label)
        axes.set_ylabel(picture.y_label)
        if picture.equal_scale:
            axes.set_aspect("equal", adjustable="datalim")
            axes.margins(0.1)
        else:
            axes.set_xlim(left=0.0)
            axes.set_ylim(bottom=0.0)
        label_line_ends(axes, ends)
        for x, y, text in picture.marks:
            axes.annotate(
                text, (x, y), xytext=(7, 0), textcoords="offset points", va="center", fontsize=8.0
            )
        title(axes, picture.heading, picture.detail)
        if picture.remark:
            figure.supxlabel(fill(picture.remark, 110), x=0.02, ha="left", fontsize=7.0, color=INK)
        return figure

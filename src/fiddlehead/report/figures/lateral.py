"""Lateral stiffness over pressure, and how far the finger is from falling sideways."""

from __future__ import annotations

import math
from dataclasses import dataclass
from textwrap import fill
from typing import TYPE_CHECKING, Any

import numpy as np
from jaxtyping import Bool, Float

from fiddlehead.report.figures.style import DASHES, FAINT, INK, LINES, MARKERS, sheet, title
from fiddlehead.trials.buckling import MARGIN
from fiddlehead.trials.records import LateralResult

if TYPE_CHECKING:
    from matplotlib.figure import Figure

WARNED, FALLEN = LINES[4], LINES[1]


@dataclass(frozen=True)
class LateralPicture:
    """What is drawn, pressures in kPa."""

    heading: str
    detail: str
    pressure_kpa: Float[np.ndarray, " step"]
    stiffness_n_per_mm: Float[np.ndarray, " step"]
    stability: Float[np.ndarray, " step"]
    stands: Bool[np.ndarray, " step"]
    """Where the balance is stable."""
    near_kpa: float
    """Where the zone begins in which buckling counts as near; infinite for nowhere."""
    buckling_kpa: float
    remark: str


def lateral_picture(result: LateralResult, heading: str, detail: str = "") -> LateralPicture:
    """The numbers of the picture."""
    found = result.buckling_pressure_mpa
    buckling = math.inf if found is None else 1e3 * found
    history = result.history
    ended = "" if history.complete else f"Ends early: {history.reason}"
    return LateralPicture(
        heading=heading,
        detail=detail,
        pressure_kpa=1e3 * result.pressure_mpa,
        stiffness_n_per_mm=result.stiffness_n_per_mm,
        stability=result.stability,
        stands=result.unstable_shapes == 0,
        near_kpa=buckling / MARGIN,
        buckling_kpa=buckling,
        remark=" ".join(text for text in (result.warning, ended) if text),
    )


def draw_lateral(picture: LateralPicture) -> Figure:
    """Stiffness above, stability below, over one pressure axis."""
    pressure, stands = picture.pressure_kpa, picture.stands
    close = picture.near_kpa < pressure[-1]
    right = max(pressure[-1], picture.buckling_kpa if close else 0.0) * 1.04
    with sheet(150.0, 125.0, nrows=2, sharex=True) as (figure, (above, below)):
        shown = pressure[stands], picture.stiffness_n_per_mm[stands]
        above.plot(*shown, color=LINES[0], marker=MARKERS[0])
        above.set_ylabel("lateral stiffness\nat the tip (N/mm)")
        below.plot(pressure, picture.stability, color=LINES[0], marker=MARKERS[0])
        below.set_ylabel("lowest sideways eigenvalue,\nshare of that at rest")
        below.set_xlabel("gauge pressure (kPa)")
        below.set_xlim(0.0, right)
        above.set_ylim(0.0, 1.3 * float(np.max(shown[1], initial=0.0)) or 1.0)
        low = min(0.0, float(picture.stability.min()))
        below.set_ylim(1.1 * low, 1.15 * float(picture.stability.max()))
        if low < 0.0:
            below.axhline(0.0, color=INK, linewidth=0.8)
        if close:
            _zones(above, below, picture, right)
        title(above, picture.heading, picture.detail)
        if picture.remark:
            figure.supxlabel(fill(picture.remark, 105), x=0.02, ha="left", fontsize=7.0, color=INK)
        return figure


def _zones(above: Any, below: Any, picture: LateralPicture, right: float) -> None:
    """The zone of the warning, the pressure of buckling, and a line that leads there."""
    end = min(picture.buckling_kpa, right)
    for axes in (above, below):
        axes.axvspan(picture.near_kpa, end, color=WARNED, alpha=0.18, linewidth=0.0)
        axes.axvspan(end, right, color=FALLEN, alpha=0.18, linewidth=0.0)
    if np.all(picture.stands):
        below.plot(
            [picture.pressure_kpa[-1], picture.buckling_kpa], [picture.stability[-1], 0.0],
            color=FAINT, linestyle=DASHES[1], linewidth=1.0,
        )  # fmt: skip
    for place, colour in ((picture.near_kpa, WARNED), (picture.buckling_kpa, FALLEN)):
        above.axvline(place, color=colour, linewidth=0.9)
        below.axvline(place, color=colour, linewidth=0.9)
    words = (
        (picture.near_kpa, 5, "left", 0.98, "buckling near"),
        (end, -5, "right", 0.87, f"buckles at {picture.buckling_kpa:.3g} kPa"),
    )
    for place, away, side, height, text in words:
        above.annotate(
            text, (place, height), xycoords=above.get_xaxis_transform(), xytext=(away, 0),
            textcoords="offset points", ha=side, va="top", fontsize=7.5, color=INK,
        )  # fmt: skip

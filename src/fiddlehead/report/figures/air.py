"""Pictures of air: pressure over time, and the volume a finger offers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fiddlehead.air.cavity import Cavity
from fiddlehead.air.records import AirResult
from fiddlehead.air.reference import free_volume_cm3
from fiddlehead.report.figures.curves import Curve, CurvePicture
from fiddlehead.report.figures.style import FAINT, INK, LINES, sheet, title

if TYPE_CHECKING:
    from matplotlib.figure import Figure

POINTS = 11


@dataclass(frozen=True)
class CyclePicture:
    """One grasp over time: gauge pressure while the fingers fill, hold and vent."""

    heading: str
    detail: str
    fill: Curve
    hold: tuple[float, float]
    """When holding begins and ends, s."""
    vent: Curve
    working_kpa: float
    next_s: float
    """When the next grasp begins."""


def cycle_picture(result: AirResult, heading: str, detail: str) -> CyclePicture:
    """Fill, hold, vent, and the pause to the next grasp."""
    filled = result.fill.duration_s
    ends = filled + result.hold_s
    return CyclePicture(
        heading=heading,
        detail=detail,
        fill=Curve("fill", result.fill.time_s, result.fill.pressure_kpa),
        hold=(filled, ends),
        vent=Curve("vent", ends + result.vent.time_s, result.vent.pressure_kpa),
        working_kpa=result.working_pressure_kpa,
        next_s=60.0 / result.cycles_per_min,
    )


def draw_cycle(picture: CyclePicture) -> Figure:
    """Fill and vent beside each other, each over its own time."""
    fill, vent = picture.fill, picture.vent
    with sheet(150.0, 80.0, ncols=2, sharey=True) as (figure, (left, right)):
        for axes, curve, colour in ((left, fill, LINES[0]), (right, vent, LINES[1])):
            axes.axhline(picture.working_kpa, color=FAINT, linewidth=1.0, linestyle=":")
            since = 1e3 * (curve.x - curve.x[0])
            axes.plot(since, curve.y, color=colour)
            axes.plot(since[-1:], curve.y[-1:], color=colour, marker="o")
            axes.text(
                0.97,
                0.08 if curve.label == "fill" else 0.72,
                f"{curve.label} {since[-1]:.3g} ms",
                transform=axes.transAxes,
                ha="right",
                color=colour,
                fontsize=11.0,
            )
            axes.set_xlim(0.0, 1.04 * since[-1])
            axes.set_xlabel(f"time since the {curve.label} valve opened (ms)")
        left.set_ylim(0.0, 1.15 * picture.working_kpa)
        left.set_ylabel("gauge pressure (kPa)")
        left.text(0.0, picture.working_kpa, " working pressure", va="bottom", color=FAINT, size=8)
        title(left, picture.heading, picture.detail)
        pause = picture.next_s - float(vent.x[-1])
        told = f"hold {picture.hold[1] - picture.hold[0]:.3g} s; "
        told += f"pause {pause:.3g} s before the next grasp" if pause > 0 else "no time is left"
        figure.supxlabel(told, x=0.02, ha="left", fontsize=7.5, color=INK)
        return figure


def volume_picture(
    cavity: Cavity, working_kpa: float, atmosphere_kpa: float, heading: str, detail: str
) -> CurvePicture:
    """Volume of one finger, and the free air that went into it, over gauge pressure."""
    pressure = np.linspace(0.0, working_kpa, POINTS)
    volume = cavity.volume_at(pressure)
    air = free_volume_cm3(pressure + atmosphere_kpa, volume)
    return CurvePicture(
        name="volume_pressure",
        heading=heading,
        detail=detail,
        x_label="gauge pressure (kPa)",
        y_label="one finger (cm³)",
        curves=(
            Curve("volume", pressure, volume),
            Curve("free air taken in", pressure, (air - air[0])),
            Curve("the same if rigid", pressure, volume[0] * pressure / 100.0, True),
        ),
    )

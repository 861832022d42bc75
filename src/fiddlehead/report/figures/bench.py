"""Pictures of single bench tests: pressure decay, step response, life, success rates."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from jaxtyping import Float

from fiddlehead.bench.counts import SuccessRate, WeibullLife
from fiddlehead.bench.leaks import LeakVerdict
from fiddlehead.bench.records import BenchRecord
from fiddlehead.report.figures.style import (
    FAINT,
    INK,
    LINES,
    MARKERS,
    label_line_ends,
    sheet,
    title,
)
from fiddlehead.units import say

if TYPE_CHECKING:
    from matplotlib.figure import Figure


@dataclass(frozen=True)
class DecayPicture:
    """Gauge pressure after the valve is shut, per finger, beside the limit of class A."""

    heading: str
    detail: str
    lines: tuple[tuple[str, Float[np.ndarray, " _time"], Float[np.ndarray, " _time"]], ...]
    limit_percent_per_min: float
    settle_s: float


def decay_picture(
    records: Sequence[BenchRecord],
    verdicts: Sequence[LeakVerdict],
    heading: str,
    *,
    limit_percent_per_min: float,
    settle_s: float,
) -> DecayPicture:
    """Pressures in percent of the first one after settling."""
    lines = []
    for record in records:
        time, pressure = record.values["time_s"], record.values["pressure_kpa"]
        found = [v for v in verdicts if (v.finger, v.repeat) == (record.finger, record.repeat)]
        label = f"{record.finger}: class {found[0].leak_class}" if found else record.finger
        since = time - time[0]
        base = float(np.interp(settle_s, since, pressure))
        lines.append((label, since, 100.0 * pressure / base))
    return DecayPicture(
        heading,
        f"limit of class A {limit_percent_per_min:g} % a minute (our proposal); before the dotted "
        "line the walls settle",
        tuple(lines),
        limit_percent_per_min,
        settle_s,
    )


def draw_decay(picture: DecayPicture) -> Figure:
    """Draw pressure over time."""
    with sheet(150.0, 90.0) as (figure, axes):
        last = max(float(time[-1]) for _, time, _ in picture.lines)
        ends = []
        for number, (label, time, percent) in enumerate(picture.lines):
            colour = LINES[number % len(LINES)]
            axes.plot(time, percent, color=colour, linewidth=1.3)
            ends.append((float(time[-1]), float(percent[-1]), label, colour))
        line = np.array([picture.settle_s, last])
        allowed = 100.0 - picture.limit_percent_per_min * (line - picture.settle_s) / 60.0
        axes.plot(line, allowed, color=FAINT, linestyle="--", linewidth=1.0)
        ends.append((last, float(allowed[-1]), "limit", FAINT))
        axes.axvline(picture.settle_s, color=FAINT, linestyle=":", linewidth=1.0)
        axes.set_xlabel("time since the valve was shut (s)")
        axes.set_ylabel("gauge pressure (% of that after settling)")
        label_line_ends(axes, ends)
        title(axes, picture.heading, picture.detail)
        return figure


@dataclass(frozen=True)
class CoursePicture:
    """Pressure and angle over time, one panel each."""

    heading: str
    detail: str
    courses: tuple[tuple[str, BenchRecord], ...]


def draw_courses(picture: CoursePicture) -> Figure:
    """Draw two panels on one time axis."""
    with sheet(150.0, 105.0, nrows=2, sharex=True) as (figure, axes):
        for number, (label, record) in enumerate(picture.courses):
            colour = LINES[number % len(LINES)]
            time = record.values["time_s"]
            axes[0].plot(time, record.values["pressure_kpa"], color=colour, linewidth=1.2)
            axes[1].plot(time, record.values["angle_deg"], color=colour, linewidth=1.2, label=label)
        axes[0].set_ylabel("pressure (kPa)")
        axes[1].set_ylabel("bending angle (°)")
        axes[1].set_xlabel("time (s)")
        axes[1].legend(loc="best")
        title(axes[0], picture.heading, picture.detail)
        return figure


@dataclass(frozen=True)
class LifePicture:
    """Failures on Weibull axes with the fitted law."""

    heading: str
    detail: str
    cycles: Float[np.ndarray, " failure"]
    rank: Float[np.ndarray, " failure"]
    law: WeibullLife


def life_picture(records: Sequence[BenchRecord], law: WeibullLife, heading: str) -> LifePicture:
    """Median ranks (i - 0.3) / (n + 0.4) of the failures (Bernard's approximation)."""
    failed = sorted(
        float(r.values["cycles"][r.values["failed"] > 0].min())
        for r in records
        if (r.values["failed"] > 0).any()
    )
    n = law.failures + law.survivors
    rank = (np.arange(1, len(failed) + 1) - 0.3) / (n + 0.4)
    return LifePicture(
        heading,
        f"shape {law.shape:.2g} ({law.shape_low:.2g} to {law.shape_high:.2g}), 63 % failed by "
        f"{say(law.scale, '')} cycles; {law.failures} failed, {law.survivors} still worked",
        np.array(failed),
        rank,
        law,
    )


def draw_life(picture: LifePicture) -> Figure:
    """Draw share failed over cycles; a Weibull law is a straight line here."""
    with sheet(130.0, 90.0) as (figure, axes):

        def straight(share: Float[np.ndarray, " point"]) -> Float[np.ndarray, " point"]:
            return np.log(-np.log1p(-share))

        law = picture.law
        share = np.array([0.01, 0.99])
        cycles = law.scale * (-np.log1p(-share)) ** (1.0 / law.shape)
        axes.plot(cycles, straight(share), color=LINES[0])
        axes.plot(
            picture.cycles, straight(picture.rank), MARKERS[0], color=LINES[1], linestyle="none"
        )
        axes.set_xscale("log")
        axes.xaxis.set_major_formatter("{x:,.0f}")
        ticks = np.array([0.01, 0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.99])
        axes.set_yticks(straight(ticks), [f"{100 * tick:g}" for tick in ticks])
        axes.set_xlabel("cycles")
        axes.set_ylabel("failed (%)")
        title(axes, picture.heading, picture.detail)
        return figure


@dataclass(frozen=True)
class RatesPicture:
    """Success rates with exact intervals."""

    heading: str
    detail: str
    rates: tuple[SuccessRate, ...]


def draw_rates(picture: RatesPicture) -> Figure:
    """Draw one bar of confidence for each object."""
    count = len(picture.rates)
    with sheet(140.0, 32.0 + 9.0 * count) as (figure, axes):
        for row, rate in enumerate(picture.rates):
            axes.plot([100 * rate.low, 100 * rate.high], [row, row], color=LINES[0], linewidth=5.0,
                      alpha=0.35, solid_capstyle="butt")  # fmt: skip
            axes.plot(100 * rate.rate, row, MARKERS[0], color=LINES[0])
            axes.annotate(
                f"{rate.successes} of {rate.trials}; at least {100 * rate.proven:.0f} % proven",
                (102.0, row),
                va="center",
                fontsize=8.0,
                color=INK,
                annotation_clip=False,
            )
        axes.set_yticks(range(count), [rate.name or "all" for rate in picture.rates])
        axes.set_ylim(count - 0.5, -0.5)
        axes.set_xlim(0.0, 100.0)
        axes.set_xlabel("success (%)")
        title(axes, picture.heading, picture.detail)
        return figure

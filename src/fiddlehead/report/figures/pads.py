"""Pads compared: contact area by contact pressure at equal grip force, and factors as bars."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from fiddlehead.report.figures.style import DASHES, LINES, sheet, title
from fiddlehead.trials.pads import PadComparison

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def draw_histogram(compared: PadComparison, heading: str, detail: str = "") -> Figure:
    """How much area carries more than a contact pressure, one line per pad."""
    edges = compared.histogram_edges_kpa
    with sheet(150.0, 95.0) as (figure, axes):
        for number, (row, figures) in enumerate(
            zip(compared.histogram_mm2, compared.at_force, strict=True)
        ):
            above = np.append(row[::-1].cumsum()[::-1], 0.0)
            axes.step(
                edges, above, where="post", label=figures.name, color=LINES[number % len(LINES)],
                linestyle=DASHES[number % len(DASHES)],
            )  # fmt: skip
        axes.set_xlabel("contact pressure (kPa)")
        axes.set_ylabel("area that carries more, whole finger (mm²)")
        axes.set_xlim(left=0.0)
        axes.set_ylim(bottom=0.0)
        axes.legend(title=f"all at {compared.grip_force_n:.2f} N", title_fontsize=8.0)
        title(axes, heading, detail)
        return figure


def draw_factors(compared: PadComparison, heading: str, detail: str = "") -> Figure:
    """How many times lower the 95th percentile is than on the bare finger."""
    shown = [f for f in compared.at_force if f.name != "none"]
    air = {f.name: f for f in compared.at_air}
    place = np.arange(len(shown))[::-1]
    with sheet(150.0, 42.0 + 13.0 * max(len(shown), 1)) as (figure, axes):
        for shift, colour, label, rows in (
            (0.2, LINES[0], "at equal grip force", shown),
            (-0.2, LINES[4], "at equal air pressure", [air[f.name] for f in shown]),
        ):
            factors = [f.p95_factor for f in rows]
            axes.barh(place + shift, factors, height=0.36, color=colour, label=label)
            for y, f in zip(place + shift, rows, strict=True):
                mark = "" if f.mesh_holds else " (mesh too coarse)"
                axes.text(f.p95_factor, y, f" {f.p95_factor:.1f}{mark}", va="center", fontsize=8.0)
        axes.axvline(1.0, color="#8a96a0", linewidth=0.8)
        axes.set_yticks(place, [f.name for f in shown])
        axes.set_xlim(0.0, 1.35 * max([1.0, *(f.p95_factor for f in [*shown, *air.values()])]))
        axes.grid(visible=False, axis="y")
        axes.set_xlabel("bare finger's 95th percentile of contact pressure over the pad's")
        figure.legend(loc="outside lower center", ncols=2)
        title(axes, heading, detail)
        return figure

"""The ``calibrated`` folder: adjusted unknowns, the curve before and after, what was foretold."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from textwrap import fill as wrap_text
from typing import TYPE_CHECKING, Any

import numpy as np

from fiddlehead.bench.compare import Comparison
from fiddlehead.bench.unknowns import Calibration
from fiddlehead.files import write_text
from fiddlehead.report.about import versions
from fiddlehead.report.export.tables import write_table
from fiddlehead.report.figures.style import FAINT, INK, LINES, label_line_ends, save, sheet, title
from fiddlehead.report.measured import plain
from fiddlehead.report.results import Written, write_result

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def write_calibration(
    results: Path,
    project_name: str,
    found: Calibration,
    *,
    date: str,
    input_hash: str | None = None,
    foretold: Mapping[str, Comparison],
) -> Written:
    """Write picture, table and record.

    Parameters
    ----------
    input_hash : of the project that was predicted
    foretold : other measured quantities, predicted with the calibrated unknowns

    Raises
    ------
    StoreError : the folder cannot be written
    """

    def fill(folder: Path) -> None:
        picture = CalibrationPicture(f"{project_name}: calibration", found)
        save(draw_calibration(picture), folder, "calibration")
        write_table(folder / "curve.csv", curve_columns(found))
        write_table(folder / "unknowns.csv", unknown_columns(found))
        document = {
            "format": "fiddlehead calibration 1",
            "date": date,
            "versions": versions(),
            **plain(found),
            "foretold": {name: plain(one) for name, one in foretold.items()},
        }
        text = json.dumps(document, indent=2, ensure_ascii=False, default=str)
        write_text(folder / "calibration.json", text + "\n")

    return write_result(results / "calibrated", fill, "calibrated", input_hash)


def curve_columns(found: Calibration) -> dict[str, Any]:
    """One row per pressure."""
    return {
        "pressure_kpa": found.pressure_kpa,
        "measured_deg": found.measured,
        "predicted_before_deg": found.before,
        "predicted_after_deg": found.after,
        "used_for_the_fit": ["yes" if used else "no" for used in found.fitted],
    }


def unknown_columns(found: Calibration) -> dict[str, list[Any]]:
    """One row per unknown."""
    rows = found.estimates
    return {
        "unknown": [one.name for one in rows],
        "unit": [one.unit or "factor" for one in rows],
        "value": [one.value for one in rows],
        "low_95": [one.low for one in rows],
        "high_95": [one.high for one in rows],
        "prior": [one.prior for one in rows],
        "prior_sd": [one.prior_sd for one in rows],
        "learnt_percent": [100.0 * one.learnt for one in rows],
    }


@dataclass(frozen=True, eq=False)
class CalibrationPicture:
    """Curve before and after on the left, unknowns against their priors on the right."""

    heading: str
    found: Calibration


def draw_calibration(picture: CalibrationPicture) -> Figure:
    """Draw both panels; pressures that were held out are open circles."""
    found = picture.found
    with sheet(190.0, 98.0, ncols=2, width_ratios=[3, 2]) as (figure, axes):
        curve, bars = axes
        curve.plot(found.pressure_kpa, found.before, color=FAINT, linestyle="--")
        curve.plot(found.pressure_kpa, found.after, color=LINES[0])
        used = found.fitted > 0
        for mask, face in ((used, LINES[1]), (~used, "none")):
            curve.plot(
                found.pressure_kpa[mask],
                found.measured[mask],
                "o",
                color=LINES[1],
                markerfacecolor=face,
            )
        last = float(found.pressure_kpa[-1])
        label_line_ends(
            curve,
            [
                (last, float(found.before[-1]), "before", FAINT),
                (last, float(found.after[-1]), "after", LINES[0]),
                (last, float(found.measured[-1]), "measured", LINES[1]),
            ],
        )
        curve.set_xlabel("gauge pressure (kPa)")
        curve.set_ylabel(f"{found.definition} bending angle (°)")
        held = found.held_out_error_percent
        told = f"error {held:.1f} % of full scale" if np.isfinite(held) else "nothing held out"
        title(curve, picture.heading, f"filled: adjusted to; open: held out, {told}")
        _draw_unknowns(bars, found)
        if found.warnings:
            words = wrap_text("; ".join(found.warnings), 130)
            figure.supxlabel(words, x=0.02, ha="left", fontsize=7.0, color=INK)
        return figure


def _draw_unknowns(axes: Any, found: Calibration) -> None:
    """Each unknown in units of its prior's standard deviation."""
    for row, one in enumerate(found.estimates):
        value, low, high = (
            (number - one.prior) / one.prior_sd for number in (one.value, one.low, one.high)
        )
        axes.plot([-1.96, 1.96], [row, row], color=FAINT, linewidth=7.0, alpha=0.4,
                  solid_capstyle="butt")  # fmt: skip
        axes.plot([low, high], [row, row], color=LINES[0], linewidth=2.5)
        axes.plot(value, row, "o", color=LINES[0])
        words = f"{one.name.replace('_', ' ')}: {one.value:.3g} {one.unit}".strip()
        axes.annotate(words, (-1.96, row - 0.22), fontsize=8.0, color=INK)
    axes.set_ylim(len(found.estimates) - 0.5, -0.7)
    axes.set_yticks([])
    axes.axvline(0.0, color=FAINT, linewidth=0.8)
    axes.set_xlabel("standard deviations of the prior")
    title(axes, "unknowns, 95 %", "grey: before the data")

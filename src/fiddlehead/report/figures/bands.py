"""Measured curves with their scatter, alone or over a prediction with its band."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from textwrap import fill
from typing import TYPE_CHECKING

import numpy as np
from jaxtyping import Float

from fiddlehead.bench.compare import Comparison
from fiddlehead.bench.records import Spread
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

if TYPE_CHECKING:
    from matplotlib.figure import Figure

Y_LABELS = {"angle_deg": "bending angle (°)", "force_n": "blocked force (N)"}


@dataclass(frozen=True)
class BandCurve:
    """A line with a band of one standard deviation; ``fine`` lines lie behind it."""

    label: str
    x: Float[np.ndarray, " point"]
    y: Float[np.ndarray, " point"]
    sd: Float[np.ndarray, " point"]
    fine: tuple[Float[np.ndarray, " point"], ...] = ()
    predicted: bool = False


@dataclass(frozen=True)
class BandPicture:
    """Curves over gauge pressure with everything the reader must be told."""

    name: str
    heading: str
    detail: str
    y_label: str
    curves: tuple[BandCurve, ...]
    remark: str = ""


def measured_picture(
    name: str, heading: str, spreads: Sequence[Spread], remark: str = ""
) -> BandPicture:
    """Branches of one quantity: mean, scatter between fingers, and each finger."""
    first = spreads[0]
    curves = []
    for spread in spreads:
        good = np.isfinite(spread.mean)
        sd = spread.sd_fingers if spread.n_fingers > 1 else spread.sd_repeats
        curves.append(
            BandCurve(
                label="rising" if spread.branch == "up" else "falling",
                x=spread.pressure_kpa[good],
                y=spread.mean[good],
                sd=np.nan_to_num(sd[good]),
                fine=tuple(curve[good] for curve in spread.each) if spread.n_fingers > 1 else (),
            )
        )
    whose = "between fingers" if first.n_fingers > 1 else "of repeats"
    word = f"{first.definition} angle, " if first.definition else ""
    return BandPicture(
        name=name,
        heading=heading,
        detail=f"{word}mean and one standard deviation {whose}; {first.said}",
        y_label=_label(first.quantity, first.definition),
        curves=tuple(curves),
        remark=remark,
    )


def overlay_picture(
    name: str, heading: str, found: Comparison, said: str, band: str
) -> BandPicture:
    """Measurement and prediction of one quantity, each with its band.

    Parameters
    ----------
    said : how many fingers and repeats
    band : what the predicted band holds
    """
    return BandPicture(
        name=name,
        heading=heading,
        detail=f"bands: one standard deviation; {said}",
        y_label=_label(found.quantity, found.definition),
        curves=(
            BandCurve(
                "predicted", found.pressure_kpa, found.predicted, found.predicted_sd, predicted=True
            ),
            BandCurve(
                "measured",
                found.pressure_kpa,
                found.measured,
                np.nan_to_num(found.measured_sd),
            ),
        ),
        remark=f"{found.said}. Predicted band: {band}.",
    )


def _label(quantity: str, definition: str) -> str:
    label = Y_LABELS.get(quantity, quantity)
    return f"{definition} {label}" if definition else label


def draw_bands(picture: BandPicture) -> Figure:
    """Draw the bands, measured points on top, each line named at its end."""
    with sheet(150.0, 98.0) as (figure, axes):
        ends = []
        for number, curve in enumerate(picture.curves):
            colour = LINES[number % len(LINES)]
            for line in curve.fine:
                axes.plot(curve.x, line, color=FAINT, linewidth=0.7, zorder=1)
            if curve.sd.any():
                low, high = curve.y - curve.sd, curve.y + curve.sd
                axes.fill_between(curve.x, low, high, color=colour, alpha=0.18, linewidth=0)
            axes.plot(
                curve.x,
                curve.y,
                color=colour,
                linestyle=DASHES[0] if curve.predicted else DASHES[number % len(DASHES)],
                marker="" if curve.predicted else MARKERS[number % len(MARKERS)],
            )
            ends.append((float(curve.x[-1]), float(curve.y[-1]), curve.label, colour))
        axes.set_xlabel("gauge pressure (kPa)")
        axes.set_ylabel(picture.y_label)
        axes.set_xlim(left=0.0)
        axes.set_ylim(bottom=min(0.0, axes.get_ylim()[0]))
        label_line_ends(axes, ends)
        title(axes, picture.heading, picture.detail)
        if picture.remark:
            figure.supxlabel(fill(picture.remark, 110), x=0.02, ha="left", fontsize=7.5, color=INK)
        return figure

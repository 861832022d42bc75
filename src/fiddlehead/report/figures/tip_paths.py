"""Where the tip goes: measured points of photos over the predicted path."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from jaxtyping import Float

from fiddlehead.report.figures.style import LINES, MARKERS, sheet, title
from fiddlehead.trials.records import BendResult

if TYPE_CHECKING:
    from matplotlib.figure import Figure


@dataclass(frozen=True, eq=False)
class TipPoints:
    """Tip positions of one finger from its photos, mm, and the gauge pressures they belong to."""

    finger: str
    pressure_kpa: Float[np.ndarray, " photo"]
    tip_mm: Float[np.ndarray, "photo 2"]


@dataclass(frozen=True, eq=False)
class TipPathsPicture:
    """Predicted path, measured points, and how far each lies from its own pressure's point."""

    heading: str
    detail: str
    path_mm: Float[np.ndarray, "step 2"]
    points: tuple[TipPoints, ...]
    predicted_mm: tuple[Float[np.ndarray, "_photo 2"], ...]
    """Where the prediction has the tip at the pressures of the points."""

    @property
    def distance_mm(self) -> float:
        """Root mean square distance of measured points from those predicted."""
        apart = [p.tip_mm - q for p, q in zip(self.points, self.predicted_mm, strict=True)]
        return float(np.sqrt((np.concatenate(apart) ** 2).sum(1).mean()))


def tip_paths_picture(
    result: BendResult, measured: Sequence[TipPoints], heading: str
) -> TipPathsPicture:
    """Points within the predicted pressures beside the path."""
    pressure = 1e3 * result.pressure_mpa
    kept, predicted = [], []
    for one in measured:
        inside = one.pressure_kpa <= pressure[-1] * (1 + 1e-9)
        kept.append(TipPoints(one.finger, one.pressure_kpa[inside], one.tip_mm[inside]))
        predicted.append(
            np.stack(
                [
                    np.interp(one.pressure_kpa[inside], pressure, result.tip_path_mm[:, axis])
                    for axis in (0, 1)
                ],
                axis=1,
            )
        )
    picture = TipPathsPicture(heading, "", result.tip_path_mm, tuple(kept), tuple(predicted))
    detail = f"thin lines join points of equal pressure; {picture.distance_mm:.2g} mm apart (rms)"
    return TipPathsPicture(heading, detail, picture.path_mm, picture.points, picture.predicted_mm)


def draw_tip_paths(picture: TipPathsPicture) -> Figure:
    """Draw the path from the unbent tip downwards, on one scale for both axes."""
    with sheet(120.0, 115.0) as (figure, axes):
        path = picture.path_mm
        axes.plot(path[:, 0], path[:, 1], color=LINES[0], label="predicted")
        for number, (one, there) in enumerate(
            zip(picture.points, picture.predicted_mm, strict=True), start=1
        ):
            colour = LINES[number % len(LINES)]
            for (x0, y0), (x1, y1) in zip(one.tip_mm, there, strict=True):
                axes.plot([x0, x1], [y0, y1], color=colour, linewidth=0.6)
            axes.plot(
                one.tip_mm[:, 0],
                one.tip_mm[:, 1],
                MARKERS[number % len(MARKERS)],
                color=colour,
                label=f"measured, finger {one.finger}",
            )
            for kpa, (x, y) in zip(one.pressure_kpa, one.tip_mm, strict=True):
                axes.annotate(
                    f"{kpa:.4g} kPa", (x, y), xytext=(-6, -3), textcoords="offset points",
                    ha="right", fontsize=7.0,
                )  # fmt: skip
        axes.set_aspect("equal", adjustable="datalim")
        axes.margins(0.16)
        axes.set_xlabel("x along the unbent finger (mm)")
        axes.set_ylabel("y (mm)")
        axes.legend(loc="lower right")
        title(axes, picture.heading, picture.detail)
        return figure

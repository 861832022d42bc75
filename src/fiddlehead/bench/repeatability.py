"""How much of the scatter is the measuring: parts read by several people, several times."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from jaxtyping import Float

from fiddlehead.errors import CurveError


class GaugeStudy(NamedTuple):
    """Variances of a crossed study; those that come out negative are told as zero."""

    repeatability: float
    """One person reading one part again."""
    interaction: float
    """People differ more on some parts than on others."""
    operator: float
    """People differ throughout."""
    part: float
    """The parts themselves."""

    @property
    def gauge(self) -> float:
        """All that is not the parts."""
        return self.repeatability + self.interaction + self.operator

    @property
    def study_percent(self) -> float:
        """Standard deviation of measuring, of that of everything."""
        return 100.0 * float(np.sqrt(self.gauge / (self.gauge + self.part)))

    @property
    def distinct(self) -> float:
        """How many groups of parts the measuring can tell apart (1.41 part sd over gauge sd)."""
        return 1.41 * float(np.sqrt(self.part / self.gauge)) if self.gauge else float("inf")

    def of_tolerance(self, width: float) -> float:
        """Six standard deviations of measuring over the width of the tolerance."""
        return 6.0 * float(np.sqrt(self.gauge)) / width


def gauge_study(readings: Float[np.ndarray, "part operator repeat"]) -> GaugeStudy:
    """Two-way analysis of variance with interaction, all effects random.

    Sources: Houf & Berman (1988), IEEE Trans. CHMT 11, 516-520; Montgomery, Design and Analysis
    of Experiments (from memory).

    Raises
    ------
    CurveError : fewer than two parts, people or repeats, or a reading missing
    """
    parts, people, repeats = readings.shape
    if min(readings.shape) < 2 or not np.isfinite(readings).all():
        raise CurveError(
            "a gauge study needs two parts, people and repeats or more, and every reading",
            found=f"{parts} parts, {people} people, {repeats} repeats",
        )
    grand = readings.mean()
    cell = readings.mean(2)
    by_part, by_person = cell.mean(1), cell.mean(0)
    ms_part = people * repeats * ((by_part - grand) ** 2).sum() / (parts - 1)
    ms_person = parts * repeats * ((by_person - grand) ** 2).sum() / (people - 1)
    cross = cell - by_part[:, None] - by_person[None] + grand
    ms_cross = repeats * (cross**2).sum() / ((parts - 1) * (people - 1))
    ms_error = ((readings - cell[:, :, None]) ** 2).sum() / (parts * people * (repeats - 1))
    return GaugeStudy(
        repeatability=float(ms_error),
        interaction=max(float(ms_cross - ms_error) / repeats, 0.0),
        operator=max(float(ms_person - ms_cross) / (parts * repeats), 0.0),
        part=max(float(ms_part - ms_cross) / (people * repeats), 0.0),
    )

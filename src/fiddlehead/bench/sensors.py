"""Calibration of a sensor against a reference: a straight line with its uncertainty."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import Any

import numpy as np
from jaxtyping import Float

from fiddlehead.errors import CurveError
from fiddlehead.material.delimited import read_table


@dataclasses.dataclass(frozen=True, kw_only=True)
class CalibrationLine:
    """``correction = intercept + slope (reading - centre)``, in the sensor's unit.

    Uncertainties are standard uncertainties from the scatter about the line.
    """

    centre: float
    intercept: float
    slope: float
    intercept_u: float
    slope_u: float
    correlation: float
    scatter: float
    """Standard deviation of the points about the line."""
    lowest: float
    highest: float
    """Readings between which the line was measured."""
    points: int

    def correction(self, reading: Any) -> Any:
        """What to add to a reading (a number or an array)."""
        return self.intercept + self.slope * (reading - self.centre)

    def uncertainty(self, reading: Any) -> Any:
        """Standard uncertainty of the correction at a reading."""
        x = reading - self.centre
        both = 2.0 * x * self.intercept_u * self.slope_u * self.correlation
        return np.sqrt(self.intercept_u**2 + (x * self.slope_u) ** 2 + both)


def read_calibration(path: Path) -> CalibrationLine:
    """The line of a table with the columns ``reading`` and ``reference``.

    Raises
    ------
    CurveError : unreadable, or fewer than three points
    """
    table = read_table(path, ["reading", "reference"])
    reading, reference = table.numbers("reading"), table.numbers("reference")
    return calibration_line(reading, reference - reading, centre=float(reading.mean()))


def calibration_line(
    reading: Float[np.ndarray, " point"],
    correction: Float[np.ndarray, " point"],
    *,
    centre: float = 0.0,
) -> CalibrationLine:
    """Least-squares line of corrections (reference less reading) over readings.

    Source: JCGM 100:2008 (GUM), annex H.3.

    Raises
    ------
    CurveError : fewer than three points, or all at one reading
    """
    n = len(reading)
    if n < 3 or np.ptp(reading) == 0.0:
        raise CurveError(
            "a calibration line needs three points or more, at different readings", found=str(n)
        )
    x = reading - centre
    matrix = np.stack([np.ones(n), x], axis=1)
    (intercept, slope), *_ = np.linalg.lstsq(matrix, correction, rcond=None)
    residual = correction - matrix @ np.array([intercept, slope])
    scatter = float(np.sqrt((residual**2).sum() / (n - 2)))
    covariance = scatter**2 * np.linalg.inv(matrix.T @ matrix)
    u = np.sqrt(np.diag(covariance))
    return CalibrationLine(
        centre=centre,
        intercept=float(intercept),
        slope=float(slope),
        intercept_u=float(u[0]),
        slope_u=float(u[1]),
        correlation=float(covariance[0, 1] / (u[0] * u[1])) if u.all() else 0.0,
        scatter=scatter,
        lowest=float(reading.min()),
        highest=float(reading.max()),
        points=n,
    )

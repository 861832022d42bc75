"""Measured beside predicted: errors, a verdict against the user's limit, and whether scatter
alone explains the gap.
"""

from __future__ import annotations

import dataclasses

import numpy as np
from jaxtyping import Float

from fiddlehead.bench.agreement import Agreement, agreement
from fiddlehead.bench.records import Predicted, Spread
from fiddlehead.errors import ParameterError

LIMIT_PERCENT = 5.0
"""The usual goal; common practice, no source."""
COVERAGE = 2.0
"""A gap within so many combined standard deviations is explained by scatter."""


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class Comparison:
    """One quantity, measured and predicted on the same gauge pressures."""

    quantity: str
    definition: str
    branch: str
    pressure_kpa: Float[np.ndarray, " grid"]
    measured: Float[np.ndarray, " grid"]
    predicted: Float[np.ndarray, " grid"]
    measured_sd: Float[np.ndarray, " grid"]
    predicted_sd: Float[np.ndarray, " grid"]
    full_scale: float
    """Range of the measured mean, the base of all percentages of full scale."""
    nrmse_percent: float
    """Root-mean-square error over full scale."""
    at_pressure_kpa: float
    """The pressure of the next two: the working pressure, or the highest that both reach."""
    error_there: float
    error_there_percent: float
    """Of the measured value there."""
    largest_error: float
    largest_error_percent: float
    """Of full scale."""
    largest_at_kpa: float
    agreement: Agreement
    limit_percent: float
    within_limit: bool
    scatter_explains: bool | None
    """None where no scatter is known."""
    said: str
    """The verdict in words."""
    warnings: tuple[str, ...]


def compare(
    measured: Spread,
    predicted: Predicted,
    *,
    working_pressure_kpa: float,
    limit_percent: float = LIMIT_PERCENT,
) -> Comparison:
    """Lay a measured curve over a predicted one, on the measured pressures both have.

    Within the limit means: root-mean-square error over full scale and error at working pressure
    are both within it. The pressures of both sides are gauge pressures by construction.

    Raises
    ------
    ParameterError : different quantities or angle definitions, or fewer than three common
        pressures
    """
    if measured.quantity != predicted.quantity or measured.definition != predicted.definition:
        raise ParameterError(
            "these two do not tell the same thing; nothing was compared",
            where=predicted.source,
            found=f"measured {_name(measured)}, predicted {_name(predicted)}",
            allowed="the same quantity under the same definition",
            remedy="Predict the angle the bench measured; a chord angle is about half a tip angle.",
        )
    p = measured.pressure_kpa
    both = np.isfinite(measured.mean) & (p <= predicted.pressure_kpa[-1] * (1 + 1e-9))
    both &= p >= predicted.pressure_kpa[0] - 1e-9
    if both.sum() < 3:
        raise ParameterError(
            "too few common pressures",
            where=predicted.source,
            found=f"measured to {np.nanmax(p):.4g} kPa, predicted to "
            f"{predicted.pressure_kpa[-1]:.4g} kPa gauge",
            remedy="Predict up to the pressures that were measured.",
        )
    grid, mean = p[both], measured.mean[both]
    value = _smooth_at(predicted.pressure_kpa, predicted.value, grid)
    value_sd = np.interp(grid, predicted.pressure_kpa, predicted.sd)
    sd = measured.sd_fingers[both]
    error = value - mean
    scale = float(np.ptp(mean)) or float(np.abs(mean).max())
    at = int(np.argmin(np.abs(grid - working_pressure_kpa)))
    worst = int(np.argmax(np.abs(error)))
    nrmse = 100.0 * float(np.sqrt((error**2).mean())) / scale
    there = 100.0 * float(error[at] / mean[at]) if mean[at] else float("nan")
    combined = np.sqrt(np.nan_to_num(sd[at]) ** 2 + value_sd[at] ** 2)
    explains = bool(abs(error[at]) < COVERAGE * combined) if combined > 0 else None
    within = bool(nrmse <= limit_percent and abs(there) <= limit_percent)
    return Comparison(
        quantity=measured.quantity,
        definition=measured.definition,
        branch=measured.branch,
        pressure_kpa=grid,
        measured=mean,
        predicted=value,
        measured_sd=sd,
        predicted_sd=value_sd,
        full_scale=scale,
        nrmse_percent=nrmse,
        at_pressure_kpa=float(grid[at]),
        error_there=float(error[at]),
        error_there_percent=there,
        largest_error=float(error[worst]),
        largest_error_percent=100.0 * float(error[worst]) / scale,
        largest_at_kpa=float(grid[worst]),
        agreement=agreement(mean, value),
        limit_percent=limit_percent,
        within_limit=within,
        scatter_explains=explains,
        said=_said(within, explains, nrmse, there, limit_percent, float(grid[at])),
        warnings=tuple(_warnings(measured, predicted, float(grid[at]), working_pressure_kpa)),
    )


def _name(curve: Spread | Predicted) -> str:
    return f"{curve.quantity} ({curve.definition})" if curve.definition else curve.quantity


def _smooth_at(
    pressure: Float[np.ndarray, " step"],
    value: Float[np.ndarray, " step"],
    grid: Float[np.ndarray, " grid"],
) -> Float[np.ndarray, " grid"]:
    """The predicted curve between its steps: monotone cubic (Fritsch & Carlson 1980)."""
    from scipy.interpolate import PchipInterpolator

    inside = np.clip(grid, pressure[0], pressure[-1])
    return np.asarray(PchipInterpolator(pressure, value)(inside))


def _said(
    within: bool, explains: bool | None, nrmse: float, there: float, limit: float, at_kpa: float
) -> str:
    text = (
        f"{'within' if within else 'outside'} {limit:g} %: {nrmse:.1f} % of full scale over the "
        f"curve (NRMSE), {there:+.1f} % at {at_kpa:.4g} kPa"
    )
    if explains is None:
        return text + "; no scatter is known, so nothing can be said about its cause"
    if explains:
        return text + "; scatter of material, print and fingers alone explains the gap"
    if within:
        return text + "; the gap is small, yet more than scatter explains"
    return text + "; scatter does not explain the gap: the model or a dimension is off"


def _warnings(measured: Spread, predicted: Predicted, at: float, working: float) -> list[str]:
    found = []
    if measured.n_fingers == 1:
        found.append("one finger only: scatter between fingers is not in the band")
    elif measured.n_fingers < 3:
        found.append(
            f"{measured.n_fingers} fingers: a standard deviation from so few is itself uncertain"
        )
    if not predicted.scatter:
        found.append("the prediction has no band: give the scatter of stiffness and wall")
    if abs(at - working) > 0.05 * working:
        found.append(
            f"compared at {at:.4g} kPa: working pressure {working:.4g} kPa was not reached by both"
        )
    return found

"""Least squares: bounded, from several starts, with standard deviations of the constants.

The driver knows nothing of rubber, so that it can be certified on reference problems.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from jaxtyping import Float
from scipy.optimize import least_squares

from fiddlehead.errors import InputError

Vector = Float[np.ndarray, " constant"]
Residual = Callable[[Vector], Float[np.ndarray, " point"]]
Jacobian = Callable[[Vector], Float[np.ndarray, "point constant"]]


@dataclass(frozen=True)
class Start:
    """Where one search begins and the box it may not leave."""

    values: Sequence[float]
    lower: Sequence[float] | float = -np.inf
    upper: Sequence[float] | float = np.inf


@dataclass(frozen=True)
class Regression:
    """The best of all searches.

    values, deviations : constants and their standard deviations (NaN for those on a bound, or
        where the data do not determine them)
    sum_of_squares : of the residuals
    """

    values: Vector
    deviations: Vector
    sum_of_squares: float


def regress(residual: Residual, jacobian: Jacobian, starts: Sequence[Start]) -> Regression:
    """Minimise the sum of squared residuals from every start and keep the lowest.

    Trust-region reflective least squares (Branch, Coleman & Li 1999), variables scaled by the
    Jacobian.

    Raises
    ------
    InputError : no start leads to a finite sum of squares
    """
    best = None
    for start in starts:
        if not np.all(np.isfinite(residual(np.asarray(start.values, dtype=float)))):
            continue
        with np.errstate(over="ignore", invalid="ignore"):  # such trial steps are turned down
            found = least_squares(
                residual,
                np.asarray(start.values, dtype=float),
                jac=jacobian,
                bounds=(start.lower, start.upper),
                method="trf",
                x_scale="jac",
                ftol=1e-15,
                xtol=1e-15,
                gtol=1e-15,
                max_nfev=2000,
            )
        if np.isfinite(found.cost) and (best is None or found.cost < best.cost):
            best = found
    if best is None:
        raise InputError(
            "no starting point gave finite residuals",
            remedy="Check the data for stretches the law cannot reach.",
        )
    free = best.active_mask == 0
    return Regression(
        values=best.x,
        deviations=_deviations(best.jac, best.fun, free),
        sum_of_squares=float(best.fun @ best.fun),
    )


def regress_linear(
    design: Float[np.ndarray, "point constant"], target: Float[np.ndarray, " point"]
) -> Regression:
    """Least squares for residuals linear in the constants: ``design @ constants - target``."""
    scale = np.linalg.norm(design, axis=0)
    scale[scale == 0.0] = 1.0
    scaled, *_ = np.linalg.lstsq(design / scale, target, rcond=None)
    values = scaled / scale
    residuals = design @ values - target
    return Regression(
        values=values,
        deviations=_deviations(design, residuals, np.full(len(values), True)),
        sum_of_squares=float(residuals @ residuals),
    )


def _deviations(
    jacobian: Float[np.ndarray, "point constant"],
    residuals: Float[np.ndarray, " point"],
    free: np.ndarray,
) -> Vector:
    """Standard deviations from ``s² (JᵀJ)⁻¹`` over the constants that are free to move."""
    points, constants = jacobian.shape
    deviations = np.full(constants, np.nan)
    degrees = points - int(free.sum())
    if degrees <= 0 or not free.any():
        return deviations
    columns = jacobian[:, free]
    scale = np.linalg.norm(columns, axis=0)
    if np.any(scale == 0.0) or not np.all(np.isfinite(columns)):
        return deviations
    _, singular, rotation = np.linalg.svd(columns / scale, full_matrices=False)
    if singular[-1] < 1e-12 * singular[0]:
        return deviations
    variance = float(residuals @ residuals) / degrees
    spread = np.sum((rotation / singular[:, None]) ** 2, axis=0)
    deviations[free] = np.sqrt(variance * spread) / scale
    return deviations

"""Fit: the constants of a law from reduced curves."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Literal

import jax
import jax.numpy as jnp
import numpy as np
from jaxtyping import Array, Float

from fiddlehead.errors import CurveError
from fiddlehead.material.catalogue import law_entry
from fiddlehead.material.laws import LAWS, law_from_constants
from fiddlehead.material.records import Fit, ReducedCurve
from fiddlehead.material.regression import Regression, regress, regress_linear
from fiddlehead.material.response import SECOND_LOG_STRETCH, log_stretch_pairs, plane_stress
from fiddlehead.material.stability import stability
from fiddlehead.material.starts import starts

RELATIVE_FLOOR = 0.05
"""Relative errors count against at least this share of a curve's largest stress, so that noise
near zero stress does not rule the fit (common practice, no source)."""


@partial(jax.jit, static_argnames="name")
def _stress(
    name: str,
    constants: Float[Array, " constant"],
    stretch: Float[Array, " point"],
    second: Float[Array, " point"],
) -> Float[Array, " point"]:
    law = LAWS[name](*constants)
    return plane_stress(law, log_stretch_pairs(stretch, second))[:, 0] / stretch


_stress_by_constants = jax.jit(jax.jacfwd(_stress, argnums=1), static_argnums=0)


def fit_law(
    name: str,
    curves: Sequence[ReducedCurve],
    *,
    weighting: Literal["relative", "absolute"] = "relative",
    use_strain: float = 0.6,
) -> Fit:
    """Fit one law to all curves together, every point counting alike.

    Parameters
    ----------
    name : law name of the catalogue
    weighting : ``"relative"`` divides each residual by its stress (at least 5 % of the largest of
        its curve); ``"absolute"`` takes residuals in MPa
    use_strain : largest nominal strain in use, for the stability check

    Raises
    ------
    CurveError : fewer points than constants
    """
    entry = law_entry(name)
    stretch = np.concatenate([curve.stretch for curve in curves])
    second = np.concatenate(
        [np.full(len(curve.stretch), SECOND_LOG_STRETCH[curve.mode]) for curve in curves]
    )
    target = np.concatenate([curve.nominal_stress_mpa for curve in curves])
    size = np.concatenate([_size_of_stress(curve.nominal_stress_mpa) for curve in curves])
    error_of_mean = np.concatenate(
        [curve.scatter_mpa / np.sqrt(curve.specimens) for curve in curves]
    )
    if len(target) <= len(entry.constants):
        raise CurveError(
            f"{entry.title} has more constants than there are points",
            found=f"{len(target)} points",
            allowed=f"more than {len(entry.constants)}",
            remedy="Choose a law with fewer constants.",
        )
    weight = 1.0 / size if weighting == "relative" else np.ones_like(target)
    regression = _regress(name, stretch, second, target, weight)
    stress = np.asarray(_stress(name, jnp.asarray(regression.values), stretch, second))
    constants = dict(zip(entry.constants, map(float, regression.values), strict=True))
    law = law_from_constants(name, constants)
    relative = (stress - target) / size
    return Fit(
        law_name=name,
        constants=constants,
        deviations=dict(zip(entry.constants, map(float, regression.deviations), strict=True)),
        weighting=weighting,
        sum_of_squares=regression.sum_of_squares,
        sum_of_squares_mpa2=float(np.sum((stress - target) ** 2)),
        relative_error=float(np.sqrt(np.mean(relative**2))),
        largest_relative_error=float(np.max(np.abs(relative))),
        aicc=corrected_akaike(
            regression.sum_of_squares,
            len(target),
            len(entry.constants),
            smallest_variance=float(np.mean((weight * error_of_mean) ** 2)),
        ),
        points=len(target),
        shear_modulus_mpa=float(law.shear_modulus_mpa),
        stability=stability(law, use_strain=use_strain),
    )


def _size_of_stress(stress: Float[np.ndarray, " point"]) -> Float[np.ndarray, " point"]:
    return np.maximum(np.abs(stress), RELATIVE_FLOOR * np.abs(stress).max())


def _regress(
    name: str,
    stretch: Float[np.ndarray, " point"],
    second: Float[np.ndarray, " point"],
    target: Float[np.ndarray, " point"],
    weight: Float[np.ndarray, " point"],
) -> Regression:
    def residual(constants: np.ndarray) -> np.ndarray:
        return weight * (np.asarray(_stress(name, constants, stretch, second)) - target)

    def jacobian(constants: np.ndarray) -> np.ndarray:
        slope = np.asarray(_stress_by_constants(name, constants, stretch, second))
        return weight[:, None] * slope

    entry = law_entry(name)
    if entry.linear:
        return regress_linear(jacobian(np.ones(len(entry.constants))), weight * target)
    neo_hookean = _regress("neo_hookean", stretch, second, target, weight)
    third = -(1.0 + second)
    i1 = stretch**2 + stretch ** (2.0 * second) + stretch ** (2.0 * third)
    return regress(residual, jacobian, starts(name, float(neo_hookean.values[0]), float(i1.max())))


def corrected_akaike(
    sum_of_squares: float, points: int, constants: int, smallest_variance: float = 0.0
) -> float:
    """Corrected Akaike information criterion for least squares (Hurvich & Tsai 1989).

    The variance of the residuals counts as one more parameter. Its estimate is kept at or above
    ``smallest_variance``, that of the mean curve itself, so that following the scatter of the
    specimens more closely than it is known earns nothing. Infinite when there are too few points;
    variances below double precision count as equal.
    """
    k = constants + 1
    if points <= k + 1:
        return float("inf")
    variance = max(sum_of_squares / points, smallest_variance, 1e-24)
    misfit = points * np.log(variance) + sum_of_squares / variance - points
    return float(misfit + 2 * k + 2 * k * (k + 1) / (points - k - 1))

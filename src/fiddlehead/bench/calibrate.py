"""A few named unknowns adjusted to a measured curve, with what the data does not know told.

Bayes' rule for a Gaussian prior and Gaussian scatter, linearised at the best point (Gauss-Newton;
Tarantola 2005, Inverse Problem Theory, chapter 3). Fingers differ by a whole curve, repeats by
single points, so the scatter of the mean has a common and an independent part.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from jaxtyping import Float

from fiddlehead.bench.records import STIFFNESS, Spread
from fiddlehead.bench.sensitivity import SensitiveCurves, sensitivities, thicker
from fiddlehead.bench.unknowns import PRIORS, Calibration, Estimate, Unknown, doubts
from fiddlehead.errors import ParameterError
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.material.laws.base import Energy
from fiddlehead.mesh.settings import MeshSettings

READING_DEG = 0.3
"""Standard uncertainty of one measured angle, where scatter tells less (from rendered photos)."""
ROUNDS = 8
CLOSE = 0.02
"""A step shorter than this part of the priors is the last; its curve follows from the slopes."""


Model = Callable[..., SensitiveCurves]


def calibrate(
    finger: FingerParameters,
    law: Energy,
    bulk_modulus_mpa: float,
    measured: Spread,
    unknowns: Sequence[Unknown],
    *,
    fit_to_kpa: float | None = None,
    mesh_settings: MeshSettings | None = None,
    model: Model = sensitivities,
    progress: Callable[[str], object] | None = None,
) -> Calibration:
    """Adjust ``unknowns`` to a measured bending curve.

    Parameters
    ----------
    measured : rising branch of a bending angle
    fit_to_kpa : pressures above are held out and foretold; all are used when None
    model : gives curves and slopes, as :func:`sensitivity.sensitivities`
    progress : told each round in words

    Raises
    ------
    ParameterError : no unknowns, too few pressures, a finger that cannot be followed
    """
    used, held = _split(measured, fit_to_kpa)
    if not unknowns:
        raise ParameterError("nothing to adjust", allowed=", ".join(PRIORS))
    grid = np.concatenate([used, held])
    data = np.interp(grid, measured.pressure_kpa, measured.mean)
    prior = np.array([unknown.prior for unknown in unknowns])
    prior_sd = np.array([unknown.prior_sd for unknown in unknowns])
    names = [unknown.name for unknown in unknowns]

    def curve(x: Float[np.ndarray, " unknown"]) -> tuple[Any, Any]:
        return _curve_at(
            x, names, finger, law, bulk_modulus_mpa, grid, measured.definition, mesh_settings, model
        )

    x = prior.copy()
    value, slope = before, _ = curve(x)
    rounds = 0
    for rounds in range(1, ROUNDS + 1):
        whiten = _whitening(measured, used, value)
        a = np.vstack([whiten @ slope[: len(used)], np.diag(1.0 / prior_sd)])
        b = np.concatenate([whiten @ (data - value)[: len(used)], (prior - x) / prior_sd])
        step = np.linalg.lstsq(a, b, rcond=None)[0]
        longest = float(np.abs(step / prior_sd).max())
        x = x + step * min(1.0, 1.5 / max(longest, 1e-12))
        if progress:
            told = ", ".join(f"{n} {v:.4g}" for n, v in zip(names, x, strict=True))
            progress(f"round {rounds}: {told}")
        if longest < CLOSE:
            value = value + slope @ step
            break
        value, slope = curve(x)
    whiten = _whitening(measured, used, value)
    information = (whiten @ slope[: len(used)]).T @ (whiten @ slope[: len(used)])
    covariance = np.linalg.inv(information + np.diag(prior_sd**-2.0))
    return _package(
        unknowns, x, covariance, information, measured, grid, data, before, value, len(used), rounds
    )


def _split(
    measured: Spread, fit_to_kpa: float | None
) -> tuple[Float[np.ndarray, " used"], Float[np.ndarray, " held"]]:
    if measured.quantity != "angle_deg":
        raise ParameterError(
            "only a bending curve is adjusted to", found=measured.quantity, allowed="angle_deg"
        )
    good = np.isfinite(measured.mean) & (measured.pressure_kpa > 0)
    pressure = measured.pressure_kpa[good]
    limit = np.inf if fit_to_kpa is None else fit_to_kpa * (1 + 1e-9)
    used, held = pressure[pressure <= limit], pressure[pressure > limit]
    if len(used) < 2:
        raise ParameterError(
            "too few measured pressures to adjust to",
            found=f"{len(used)} up to {limit:.4g} kPa",
            allowed="2 or more",
        )
    return used, held


def scatter_of_mean(
    measured: Spread,
    pressure_kpa: Float[np.ndarray, " used"],
    model_deg: Float[np.ndarray, " used"],
) -> Float[np.ndarray, "used used"]:
    """Covariance of the measured mean about the model.

    Fingers differ by a factor on the whole curve; it multiplies the model, not the data, which
    would pull the fit below the data (Peelle's puzzle; Chiba & Smith 1991, ANL/NDM-121, from
    memory). Single readings scatter by themselves. An angle left at rest (set) may be in the
    rest of the curve too, fading with pressure.
    """
    good = np.isfinite(measured.mean) & (measured.pressure_kpa > 0)
    relative = np.nan_to_num(measured.sd_fingers[good] / measured.mean[good])
    factor = float(np.sqrt((relative**2).mean()))
    repeats = np.interp(pressure_kpa, measured.pressure_kpa, np.nan_to_num(measured.sd_repeats))
    single = repeats**2 / max(sum(measured.repeats), 1) + READING_DEG**2
    at_rest = measured.mean[measured.pressure_kpa == 0]
    left = float(np.nan_to_num(at_rest).sum()) * (1.0 - pressure_kpa / measured.pressure_kpa[-1])
    common = factor**2 * np.outer(model_deg, model_deg) / measured.n_fingers
    return common + np.outer(left, left) + np.diag(single)


def _whitening(
    measured: Spread,
    pressure_kpa: Float[np.ndarray, " used"],
    model_deg: Float[np.ndarray, " grid"],
) -> Float[np.ndarray, "used used"]:
    covariance = scatter_of_mean(measured, pressure_kpa, model_deg[: len(pressure_kpa)])
    return np.linalg.inv(np.linalg.cholesky(covariance))


def _curve_at(
    x: Float[np.ndarray, " unknown"],
    names: Sequence[str],
    finger: FingerParameters,
    law: Energy,
    bulk_modulus_mpa: float,
    grid_kpa: Float[np.ndarray, " grid"],
    definition: str,
    mesh_settings: MeshSettings | None,
    model: Model,
) -> tuple[Float[np.ndarray, " grid"], Float[np.ndarray, "grid unknown"]]:
    """The bending curve and its slopes at one point of the unknowns.

    A stiffness factor c enters as ``angle(p; c) = angle(p / c; 1)``: pressures are divided by it
    before solving.
    """
    factor = 1.0
    for name, value in zip(names, x, strict=True):
        if name == STIFFNESS:
            factor = max(float(value), 0.2)
        else:
            finger = thicker(finger, name, float(value))
    top = 1e-3 * float(grid_kpa.max()) / factor
    pressures = np.linspace(0.0, top, 9)[1:]
    curves = model(finger, law, bulk_modulus_mpa, pressures, names, mesh_settings=mesh_settings)
    asked = 1e-3 * grid_kpa / factor
    columns = []
    for name in names:
        slope = curves.slopes[name][definition]
        scale = 1.0 / factor if name == STIFFNESS else 1.0
        columns.append(scale * _between(curves.pressure_mpa, slope, asked))
    value = _between(curves.pressure_mpa, curves.curve(definition), asked)
    return value, np.stack(columns, axis=1)


def _between(
    pressure: Float[np.ndarray, " step"],
    values: Float[np.ndarray, " step"],
    asked: Float[np.ndarray, " grid"],
) -> Float[np.ndarray, " grid"]:
    from scipy.interpolate import CubicSpline

    return np.asarray(CubicSpline(pressure, values)(asked))


def _package(
    unknowns: Sequence[Unknown],
    x: Float[np.ndarray, " unknown"],
    covariance: Float[np.ndarray, "unknown unknown"],
    information: Float[np.ndarray, "unknown unknown"],
    measured: Spread,
    grid: Float[np.ndarray, " grid"],
    data: Float[np.ndarray, " grid"],
    before: Float[np.ndarray, " grid"],
    after: Float[np.ndarray, " grid"],
    used: int,
    rounds: int,
) -> Calibration:
    sd = np.sqrt(np.diag(covariance))
    estimates = tuple(
        Estimate(
            name=unknown.name,
            unit=unknown.unit,
            value=float(value),
            sd=float(s),
            low=float(value - 1.96 * s),
            high=float(value + 1.96 * s),
            prior=unknown.prior,
            prior_sd=unknown.prior_sd,
            learnt=float(1.0 - (s / unknown.prior_sd) ** 2),
        )
        for unknown, value, s in zip(unknowns, x, sd, strict=True)
    )
    scale = float(np.ptp(data)) or 1.0

    def error(curve: Float[np.ndarray, " grid"], part: slice) -> float:
        off = (curve - data)[part]
        return 100.0 * float(np.sqrt((off**2).mean())) / scale if len(off) else float("nan")

    order = np.argsort(grid)
    return Calibration(
        estimates=estimates,
        definition=measured.definition,
        pressure_kpa=grid[order],
        measured=data[order],
        before=before[order],
        after=after[order],
        fitted=(np.arange(len(grid)) < used)[order].astype(float),
        fit_error_percent=error(after, slice(0, used)),
        held_out_error_percent=error(after, slice(used, None)),
        held_out_before_percent=error(before, slice(used, None)),
        correlation=covariance / np.outer(sd, sd),
        warnings=tuple(
            doubts(
                estimates,
                information,
                still_moving=rounds == ROUNDS,
                nothing_held=used == len(grid),
            )
        ),
        rounds=rounds,
    )

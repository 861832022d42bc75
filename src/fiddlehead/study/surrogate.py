"""Answers without simulating: a Gaussian process for each quantity, with an error that was tried
out on designs it had not seen.

Library: scikit-learn. Kernel: Matérn 5/2 with one length for each variable, and white noise for
the roughness that meshes leave. The band is tried by leaving each design out in turn, in closed
form (Rasmussen & Williams 2006, Gaussian Processes for Machine Learning, eq. 5.10 to 5.12), and
widened until it held 95 % of the designs left out.
"""

from __future__ import annotations

import warnings
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from jaxtyping import Float

from fiddlehead.errors import ParameterError
from fiddlehead.study.goals import Columns
from fiddlehead.study.space import Choice, Row, Space

FEWEST = 8
"""Designs with a number that a process is fitted to at least; and two for each variable."""
MOST = 500
"""Designs used of more; the cost of a fit grows with the cube."""
TRIES = 2
"""Starts of the search for the kernel's lengths."""
BAND = 1.96
"""Standard deviations of a 95 % band of a normal distribution."""


class Prediction(NamedTuple):
    """Mean and half-width of the 95 % band."""

    mean: Float[np.ndarray, " design"]
    band: Float[np.ndarray, " design"]


@dataclass(frozen=True, eq=False)
class Checked:
    """How well a process foretold each design when that one was left out.

    q2 : 1 is perfect, 0 no better than the mean (share of the variance that was foretold)
    typical_error : root mean square, in the quantity's unit
    inside : share of designs inside the raw 95 % band
    widened : factor put on the band so that it holds 95 % of them; 1 when it did already
    """

    measured: Float[np.ndarray, " design"]
    foretold: Float[np.ndarray, " design"]
    band: Float[np.ndarray, " design"]
    q2: float
    typical_error: float
    inside: float
    widened: float


@dataclass(frozen=True, eq=False)
class _Fit:
    process: Any
    checked: Checked


class Surrogate:
    """Processes for some quantities of a study."""

    def __init__(
        self, space: Space, rows: Sequence[Row], columns: Columns, quantities: Sequence[str]
    ) -> None:
        """Fit one process to each quantity, on the designs that have a number for it.

        Raises
        ------
        ParameterError : too few designs
        """
        self.space = space
        self.quantities = tuple(quantities)
        points = self.points(rows)
        self.fits = {name: _fitted(points, np.asarray(columns[name]), name) for name in quantities}

    def points(self, rows: Sequence[Row]) -> Float[np.ndarray, "design axis"]:
        """Designs as the kernel sees them: the unit cube, choices of words one axis a word."""
        return _axes(self.space, self.space.unit(rows))

    def predict(self, rows: Sequence[Row]) -> dict[str, Prediction]:
        """Every quantity of every design; a row takes well below 50 ms."""
        return self.predict_unit(self.space.unit(rows))

    def predict_unit(self, unit: Float[np.ndarray, "design variable"]) -> dict[str, Prediction]:
        """The same for points of the unit cube."""
        points = _axes(self.space, _snapped(self.space, unit))
        found = {}
        for name, fit in self.fits.items():
            mean, deviation = fit.process.predict(points, return_std=True)
            noise = fit.process.noise_sd
            band = BAND * fit.checked.widened * np.sqrt(deviation**2 + noise**2)
            found[name] = Prediction(mean, band)
        return found

    @property
    def checked(self) -> Mapping[str, Checked]:
        """The trial of every quantity's band."""
        return {name: fit.checked for name, fit in self.fits.items()}

    def unsure(
        self, candidates: Float[np.ndarray, "design variable"], count: int
    ) -> list[dict[str, Any]]:
        """The candidates to simulate next: in turn the one whose widest band, in spreads of its
        quantity, is largest, given that those before it will be known."""
        points = _axes(self.space, _snapped(self.space, candidates))
        chosen: list[int] = []
        covariances = {name: _posterior(fit.process, points) for name, fit in self.fits.items()}
        spread = {n: float(np.std(f.checked.measured)) or 1.0 for n, f in self.fits.items()}
        for _ in range(min(count, len(points))):
            doubt = np.max(
                [
                    np.sqrt(np.maximum(np.diag(c), 0.0)) * self.fits[name].checked.widened
                    / spread[name]
                    for name, c in covariances.items()
                ],
                axis=0,
            )  # fmt: skip
            doubt[chosen] = -np.inf
            pick = int(np.argmax(doubt))
            chosen.append(pick)
            for name, c in covariances.items():
                seen = c[pick, pick] + self.fits[name].process.noise_sd ** 2
                covariances[name] = c - np.outer(c[:, pick], c[pick]) / max(seen, 1e-300)
        return self.space.rows(candidates[chosen])


def _snapped(
    space: Space, unit: Float[np.ndarray, "design variable"]
) -> Float[np.ndarray, "design variable"]:
    return space.unit(space.rows(unit))


def _axes(
    space: Space, unit: Float[np.ndarray, "design variable"]
) -> Float[np.ndarray, "design axis"]:
    columns = []
    for variable, share in zip(space.variables, unit.T, strict=True):
        if isinstance(variable, Choice) and not variable.is_number:
            place = (share * len(variable.values)).astype(int)
            columns += [(place == k).astype(float) for k in range(len(variable.values))]
        elif isinstance(variable, Choice):
            values = np.array(variable.values, float)
            at = values[(share * len(values)).astype(int)]
            columns.append((at - values.min()) / np.ptp(values))
        else:
            columns.append(share)
    return np.stack(columns, 1)


class _Process:
    """A fitted process in the quantity's own unit."""

    def __init__(
        self, points: Float[np.ndarray, "design axis"], values: Float[np.ndarray, " design"]
    ) -> None:
        from sklearn.exceptions import ConvergenceWarning
        from sklearn.gaussian_process import GaussianProcessRegressor
        from sklearn.gaussian_process.kernels import ConstantKernel, Matern, WhiteKernel

        self.middle, self.scale = float(values.mean()), float(values.std()) or 1.0
        self.values = (values - self.middle) / self.scale
        smooth = ConstantKernel(1.0, (1e-2, 1e3)) * Matern(
            np.full(points.shape[1], 1.0), (0.05, 100.0), nu=2.5
        )
        noise = WhiteKernel(1e-4, (1e-8, 1.0))
        self.regressor = GaussianProcessRegressor(
            smooth + noise, n_restarts_optimizer=TRIES - 1, random_state=0, alpha=1e-10
        )
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", ConvergenceWarning)  # lengths at a bound: no effect
            self.regressor.fit(points, self.values)
        self.kernel = self.regressor.kernel_.k1
        self.noise_sd = self.scale * float(np.sqrt(self.regressor.kernel_.k2.noise_level))

    def predict(self, points: Any, return_std: bool) -> tuple[Any, Any]:
        """Mean and standard deviation without noise."""
        cross = self.kernel(points, self.regressor.X_train_)
        mean = cross @ self.regressor.alpha_
        from scipy.linalg import solve_triangular

        half = solve_triangular(self.regressor.L_, cross.T, lower=True, check_finite=False)
        variance = self.kernel.diag(points) - np.einsum("ij,ij->j", half, half)
        return self.middle + self.scale * mean, self.scale * np.sqrt(np.maximum(variance, 0.0))

    def left_out(self) -> tuple[Any, Any]:
        """Mean and standard deviation (noise included) of each design from all others."""
        from scipy.linalg import cho_solve

        lower = self.regressor.L_
        inverse = cho_solve((lower, True), np.eye(len(lower)))
        own = np.diag(inverse)
        mean = self.values - (inverse @ self.values) / own
        return self.middle + self.scale * mean, self.scale / np.sqrt(own)


def _posterior(process: _Process, points: Any) -> Any:
    """Covariance between candidates given the designs that are known."""
    from scipy.linalg import solve_triangular

    cross = process.kernel(points, process.regressor.X_train_)
    half = solve_triangular(process.regressor.L_, cross.T, lower=True, check_finite=False)
    return process.scale**2 * (process.kernel(points) - half.T @ half)


def _fitted(
    points: Float[np.ndarray, "design axis"], values: Float[np.ndarray, " design"], name: str
) -> _Fit:
    known = np.flatnonzero(np.isfinite(values))[:MOST]
    fewest = max(FEWEST, 2 * points.shape[1])
    if len(known) < fewest:
        raise ParameterError(
            "too few designs to foretell this quantity",
            where=name,
            found=str(len(known)),
            allowed=f"{fewest} or more designs with a number",
            remedy="Simulate more: fiddlehead explore --designs",
        )
    process = _Process(points[known], values[known])
    mean, deviation = process.left_out()
    off = np.abs(values[known] - mean) / np.maximum(deviation, 1e-300)
    level = min(1.0, 0.95 * (len(off) + 1) / len(off))  # one more design than was tried
    widened = max(1.0, float(np.quantile(off, level, method="higher")) / BAND)
    error = values[known] - mean
    variance = float(np.var(values[known])) or 1.0
    return _Fit(
        process,
        Checked(
            measured=values[known],
            foretold=mean,
            band=BAND * widened * deviation,
            q2=1.0 - float(np.mean(error**2)) / variance,
            typical_error=float(np.sqrt(np.mean(error**2))),
            inside=float((off <= BAND).mean()),
            widened=widened,
        ),
    )

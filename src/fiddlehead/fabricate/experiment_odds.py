"""Chance that a coupon holds, from yes and no alone.

Small experiments often split cleanly (all coupons of one level hold), where ordinary logistic
regression runs off to infinity. Firth's penalty keeps it finite and takes out small-sample bias.
Sources: Firth 1993, Biometrika 80, 27; Heinze and Schemper 2002, Statistics in Medicine 21, 2409.
"""

from __future__ import annotations

import dataclasses

import numpy as np
from jaxtyping import Float

from fiddlehead.errors import ParameterError

ROUNDS = 200


@dataclasses.dataclass(frozen=True, eq=False)
class OddsModel:
    """Log odds that a coupon holds: a constant, and a slope for each coded setting."""

    coefficients: Float[np.ndarray, " term"]
    covariance: Float[np.ndarray, "term term"]

    def chance(
        self, coded: Float[np.ndarray, " factor"], confidence: float = 0.95
    ) -> tuple[float, float, float]:
        """Chance to hold at these levels: best estimate, lower and upper limit (0 to 1)."""
        from scipy.special import expit
        from scipy.stats import norm

        place = np.concatenate([[1.0], coded])
        middle = float(place @ self.coefficients)
        reach = float(norm.ppf(0.5 + confidence / 2.0) * np.sqrt(place @ self.covariance @ place))
        best, low, high = (float(expit(middle + side)) for side in (0.0, -reach, reach))
        return best, low, high


def fit_odds(coded: Float[np.ndarray, "run factor"], holds: Float[np.ndarray, " run"]) -> OddsModel:
    """Fit by Newton's method on the penalised likelihood; runs without an answer are left out.

    Raises
    ------
    ParameterError : fewer answers than settings, or no balance found
    """
    used = np.isfinite(holds)
    matrix = np.column_stack([np.ones(used.sum()), coded[used]])
    answers = holds[used]
    if len(answers) <= matrix.shape[1] or np.linalg.matrix_rank(matrix) < matrix.shape[1]:
        raise ParameterError(
            "too few yes-or-no answers to tell the settings apart",
            where="result sheet, column holds",
            found=f"{len(answers)} answers, {coded.shape[1]} settings",
            remedy="Fill in yes or no for every coupon.",
        )
    beta = np.zeros(matrix.shape[1])
    for _ in range(ROUNDS):
        covariance, score = _covariance_and_score(matrix, answers, beta)
        step = covariance @ score
        beta = beta + step * min(1.0, 2.0 / max(float(np.abs(step).max()), 1e-12))
        if float(np.abs(step).max()) < 1e-10:
            return OddsModel(beta, covariance)
    raise ParameterError(
        "the chance to hold could not be fitted",
        where="result sheet, column holds",
        remedy="Use fewer settings, or look at the leak rates instead.",
    )


def _covariance_and_score(
    matrix: np.ndarray, answers: np.ndarray, beta: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Inverse information, and Firth's score ``X' (y - pi + h (1/2 - pi))`` with leverages h."""
    from scipy.special import expit

    chance = expit(matrix @ beta)
    weighted = matrix * np.sqrt(chance * (1.0 - chance))[:, None]
    covariance = np.linalg.inv(weighted.T @ weighted)
    leverage = np.einsum("ri,ij,rj->r", weighted, covariance, weighted)
    return covariance, matrix.T @ (answers - chance + leverage * (0.5 - chance))

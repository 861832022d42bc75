"""A response over the settings: fitted, predicted with confidence, and searched for the best place.

Least squares on coded levels; words name the terms in factor letters: ``"a"`` a main effect,
``"ab"`` an interaction, ``"aa"`` a square. Source: Box and Wilson 1951, J. R. Stat. Soc. B 13, 1.
"""

from __future__ import annotations

import dataclasses
import itertools

import numpy as np
from jaxtyping import Float

from fiddlehead.errors import ParameterError
from fiddlehead.fabricate.experiment_effects import two_level_effects, variance_table
from fiddlehead.fabricate.experiment_factors import Factor
from fiddlehead.fabricate.experiment_plan import LETTERS, column

SIGNIFICANT = 0.05
FEWEST_LEFT = 4
"""Degrees of freedom below which effects are judged by Lenth's margin, not by their scatter."""
MOST_PLACES = 20000
MOST_LEVELS = 21


@dataclasses.dataclass(frozen=True, eq=False)
class Surface:
    """A fitted response."""

    words: tuple[str, ...]
    coefficients: Float[np.ndarray, " term"]
    """Constant first, then one per word."""
    covariance: Float[np.ndarray, "term term"]
    scatter: float
    """Standard deviation of single coupons about the surface."""
    degrees_of_freedom: float
    r_squared: float

    def predict(
        self, coded: Float[np.ndarray, "point factor"]
    ) -> tuple[Float[np.ndarray, " point"], Float[np.ndarray, " point"]]:
        """Mean response and its standard error at each point."""
        place = _matrix(coded, self.words)
        error = np.einsum("pi,ij,pj->p", place, self.covariance, place)
        return place @ self.coefficients, np.sqrt(np.maximum(error, 0.0))

    def reach(self, confidence: float = 0.95) -> float:
        """Student's t for an interval of this confidence, two-sided."""
        from scipy.stats import t

        return float(t.ppf(0.5 + confidence / 2.0, self.degrees_of_freedom))


def _matrix(coded: np.ndarray, words: tuple[str, ...]) -> np.ndarray:
    return np.column_stack([np.ones(len(coded)), *[column(coded, word) for word in words]])


def fit_surface(
    coded: Float[np.ndarray, "run factor"],
    response: Float[np.ndarray, " run"],
    words: tuple[str, ...],
    block: Float[np.ndarray, " run"] | None = None,
) -> Surface:
    """Fit the named terms; blocks shift the whole surface and are averaged out.

    Raises
    ------
    ParameterError : not more runs than terms
    """
    import statsmodels.api as sm

    used = np.isfinite(response)
    matrix = _matrix(coded[used], words)
    shifts = _block_columns(block[used]) if block is not None else np.zeros((used.sum(), 0))
    whole = np.column_stack([matrix, shifts])
    if len(whole) <= np.linalg.matrix_rank(whole):
        raise ParameterError(
            "as many terms as runs: nothing is left to judge the scatter",
            where="experiment",
            found=f"{len(whole)} runs, {whole.shape[1]} terms",
            remedy="Print replicates or centre points.",
        )
    fitted = sm.OLS(response[used], whole).fit()
    kept = slice(0, matrix.shape[1])
    return Surface(
        words=words,
        coefficients=np.asarray(fitted.params)[kept],
        covariance=np.asarray(fitted.cov_params())[kept, kept],
        scatter=float(np.sqrt(fitted.scale)),
        degrees_of_freedom=float(fitted.df_resid),
        r_squared=float(fitted.rsquared),
    )


def _block_columns(block: np.ndarray) -> np.ndarray:
    """Sum-to-zero columns, so that the constant is the mean over the blocks."""
    names = np.unique(block)
    columns = [(block == name).astype(float) - (block == names[-1]) for name in names[:-1]]
    return np.column_stack(columns) if columns else np.zeros((len(block), 0))


def active_words(
    coded: Float[np.ndarray, "run factor"],
    response: Float[np.ndarray, " run"],
    block: Float[np.ndarray, " run"] | None,
    *,
    two_level: bool,
) -> tuple[str, ...]:
    """Terms that show above the scatter, each interaction and square with its main effects.

    Judged by analysis of variance at 5 % where replicates leave enough scatter to judge by, else
    (two levels) by Lenth's margin.
    """
    count = coded.shape[1]
    letters = LETTERS[:count]
    if two_level:
        found = two_level_effects(coded, response).effects
        candidates = tuple(sorted(e.word for e in found if len(e.word) <= 2))
    else:
        found = ()
        pairs = ("".join(pair) for pair in itertools.combinations(letters, 2))
        candidates = (*letters, *pairs, *(2 * letter for letter in letters))
    left = int(np.isfinite(response).sum()) - len(candidates) - 3
    if left >= FEWEST_LEFT or not two_level:
        table = variance_table(coded, response, candidates, block)
        active = {row.source for row in table if row.p_value < SIGNIFICANT} & set(candidates)
    else:
        active = {effect.word for effect in found if effect.active and len(effect.word) <= 2}
    parents = {letter for word in active for letter in word}
    return tuple(sorted(active | parents, key=lambda word: (len(word), word)))


def places(factors: tuple[Factor, ...]) -> Float[np.ndarray, "point factor"]:
    """A grid over all settings, coded; settings with words have their two levels only."""
    steps = sum(factor.words is None for factor in factors)
    most = MOST_PLACES / 2 ** (len(factors) - steps)
    levels = int(most ** (1.0 / steps) + 1e-9) if steps else 2
    levels = max(3, min(MOST_LEVELS, levels - (levels + 1) % 2))
    axes = [
        np.array([-1.0, 1.0]) if factor.words else np.linspace(-1.0, 1.0, levels)
        for factor in factors
    ]
    return np.array(list(itertools.product(*axes)))

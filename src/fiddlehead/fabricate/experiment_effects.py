"""Which settings matter: effects, half-normal places, Lenth's margin, analysis of variance.

Sources: Box, Hunter and Hunter 1978 (effects); Daniel 1959, Technometrics 1, 311 (half-normal
plot); Lenth 1989, Technometrics 31, 469 (pseudo standard error).
"""

from __future__ import annotations

import dataclasses
import itertools
import math

import numpy as np
from jaxtyping import Bool, Float

from fiddlehead.errors import ParameterError
from fiddlehead.fabricate.experiment_plan import LETTERS, column

CENTRE = 0.5
"""A run counts as a corner where every level is at least this far from the middle."""


@dataclasses.dataclass(frozen=True)
class Effect:
    """The change of the response from low to high.

    word : factor letters, ``"ab"`` for an interaction
    also : other effects this design cannot tell from it, three-letter words and shorter
    quantile : expected size in standard deviations if nothing mattered (half-normal plot)
    """

    word: str
    also: tuple[str, ...]
    value: float
    quantile: float
    active: bool


@dataclasses.dataclass(frozen=True)
class EffectsResult:
    """All effects of a two-level experiment, the largest first."""

    effects: tuple[Effect, ...]
    mean: float
    pseudo_standard_error: float
    margin: float
    """Effects beyond it are called active: Lenth's 95 % margin of error."""
    curvature: float | None
    """Mean of the centre points less that of the corners; ``None`` without centre points."""


def two_level_effects(
    coded: Float[np.ndarray, "run factor"], response: Float[np.ndarray, " run"]
) -> EffectsResult:
    """Effects from the corner runs, by least squares, so that lost runs only cost precision.

    Raises
    ------
    ParameterError : fewer different corners than factors
    """
    used = np.isfinite(response)
    corner = corners(coded) & used
    signs = np.sign(coded[corner])
    if len(np.unique(signs, axis=0)) <= coded.shape[1]:
        raise ParameterError(
            "too few different corners to tell the settings apart",
            where="experiment",
            found=f"{len(np.unique(signs, axis=0))} corners, {coded.shape[1]} settings",
            remedy="Print the coupons that are missing.",
        )
    classes = _classes(signs)
    matrix = np.column_stack([np.ones(len(signs)), *[column(signs, names[0]) for names in classes]])
    coefficients = np.linalg.lstsq(matrix, response[corner], rcond=None)[0]
    values = 2.0 * coefficients[1:]
    error, margin = lenth(values)
    middle = ~corners(coded) & used
    curvature = float(response[middle].mean() - coefficients[0]) if middle.any() else None
    order = np.argsort(-np.abs(values))
    quantiles = half_normal_quantiles(len(values))[::-1]
    return EffectsResult(
        effects=tuple(
            Effect(
                word=classes[place][0],
                also=tuple(word for word in classes[place][1:] if len(word) <= 3),
                value=float(values[place]),
                quantile=float(quantiles[rank]),
                active=bool(abs(values[place]) > margin),
            )
            for rank, place in enumerate(order)
        ),
        mean=float(coefficients[0]),
        pseudo_standard_error=error,
        margin=margin,
        curvature=curvature,
    )


def corners(coded: Float[np.ndarray, "run factor"]) -> Bool[np.ndarray, " run"]:
    """Which runs are corners of the two-level design; the others are centre points."""
    return np.asarray((np.abs(coded) > CENTRE).all(axis=1))


def _classes(signs: np.ndarray) -> list[list[str]]:
    """Effects that can be told apart, each with those it is mixed up with; short words first.

    A word joins an earlier class where its column is the same but for the sign on every run, and
    opens a new one only while the columns stay independent.
    """
    count = signs.shape[1]
    kept: list[list[str]] = []
    columns: list[np.ndarray] = [np.ones(len(signs))]
    for size in range(1, count + 1):
        for letters in itertools.combinations(LETTERS[:count], size):
            word = "".join(letters)
            contrast = column(signs, word)
            twin = [k for k, c in enumerate(columns) if abs(contrast @ c) == len(signs)]
            if twin:
                if twin[0] > 0:
                    kept[twin[0] - 1].append(word)
                continue
            if np.linalg.matrix_rank(np.column_stack([*columns, contrast])) > len(columns):
                columns.append(contrast)
                kept.append([word])
    return kept


def lenth(values: Float[np.ndarray, " effect"]) -> tuple[float, float]:
    """Pseudo standard error and 95 % margin of error of unreplicated effects (Lenth 1989)."""
    from scipy.stats import t

    size = np.abs(values)
    first = 1.5 * float(np.median(size))
    calm = size[size < 2.5 * first]
    error = 1.5 * float(np.median(calm)) if len(calm) else first
    return error, float(t.ppf(0.975, len(values) / 3.0)) * error


def half_normal_quantiles(count: int) -> Float[np.ndarray, " effect"]:
    """Expected sizes of ``count`` effects that are noise alone, rising, in standard deviations."""
    from scipy.stats import norm

    return np.asarray(norm.ppf(0.5 + 0.5 * (np.arange(count) + 0.5) / count))


@dataclasses.dataclass(frozen=True)
class VarianceRow:
    """One line of the analysis of variance."""

    source: str
    degrees_of_freedom: float
    sum_of_squares: float
    f_ratio: float
    p_value: float


def variance_table(
    coded: Float[np.ndarray, "run factor"],
    response: Float[np.ndarray, " run"],
    words: tuple[str, ...],
    block: Float[np.ndarray, " run"] | None = None,
) -> tuple[VarianceRow, ...]:
    """Analysis of variance of the named effects, block and curvature; what is left is the residual.

    Each source is judged after all others (type 2). ``words`` in factor letters; ``"aa"`` is a
    square.

    Raises
    ------
    ParameterError : no runs are left over to judge the scatter
    """
    import pandas as pd
    import statsmodels.formula.api as smf
    from statsmodels.stats.anova import anova_lm

    used = np.isfinite(response)
    table = {f"w_{word}": column(coded[used], word) for word in words}
    if block is not None and len(np.unique(block[used])) > 1:
        table["block"] = block[used]
    squares = any(len(set(word)) < len(word) for word in words)
    middle = ~corners(coded[used])
    if middle.any() and not middle.all() and not squares:
        table["curvature"] = middle.astype(float)
    if not table:
        values = response[used]
        total = float(((values - values.mean()) ** 2).sum())
        return (VarianceRow("residual", len(values) - 1.0, total, math.nan, math.nan),)
    terms = ["C(block)" if name == "block" else name for name in table]
    frame = pd.DataFrame({**table, "response": response[used]})
    fitted = smf.ols("response ~ " + " + ".join(terms), frame).fit()
    if fitted.df_resid < 1:
        raise ParameterError(
            "no runs are left over to judge the scatter",
            where="experiment",
            found=f"{len(frame)} runs, {len(terms)} sources",
            remedy="Print replicates, or read the half-normal plot instead.",
        )
    found = anova_lm(fitted, typ=2)
    return tuple(
        VarianceRow(
            source={"C(block)": "block", "Residual": "residual"}.get(name, name.removeprefix("w_")),
            degrees_of_freedom=float(row["df"]),
            sum_of_squares=float(row["sum_sq"]),
            f_ratio=float(row["F"]),
            p_value=float(row["PR(>F)"]),
        )
        for name, row in found.iterrows()
    )

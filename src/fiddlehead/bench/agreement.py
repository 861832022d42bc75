"""How well two series agree: differences, limits of agreement, concordance."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from jaxtyping import Float

from fiddlehead.errors import ParameterError


class Agreement(NamedTuple):
    """Two paired series, ``other`` against ``reference``."""

    bias: float
    """Mean of other - reference."""
    sd: float
    """Standard deviation of the differences (n - 1)."""
    low: float
    high: float
    """Limits of agreement, bias -+ 1.96 sd."""
    rmse: float
    mae: float
    mape_percent: float
    """Mean of |difference| over |reference|; NaN where a reference value is zero."""
    concordance: float
    """Lin's coefficient with moments over n."""
    concordance_unbiased: float
    """The same with moments over n - 1."""
    correlation: float
    pairs: int


def agreement(
    reference: Float[np.ndarray, " pair"], other: Float[np.ndarray, " pair"], *, width: float = 1.96
) -> Agreement:
    """Agreement of two paired series.

    Sources: Bland & Altman (1986), Lancet 327, 307-310; Lin (1989), Biometrics 45, 255-268.

    Raises
    ------
    ParameterError : fewer than two pairs
    """
    n = len(reference)
    if n < 2:
        raise ParameterError("agreement needs two pairs or more", found=str(n))
    apart = other - reference
    bias, sd = float(apart.mean()), float(apart.std(ddof=1))
    covariance = float(((reference - reference.mean()) * (other - other.mean())).mean())
    variances = float(reference.var() + other.var())
    shift = float((other.mean() - reference.mean()) ** 2)
    spread = float(reference.std() * other.std())
    scale = n / (n - 1)
    zero = bool((reference == 0).any())
    return Agreement(
        bias=bias,
        sd=sd,
        low=bias - width * sd,
        high=bias + width * sd,
        rmse=float(np.sqrt((apart**2).mean())),
        mae=float(np.abs(apart).mean()),
        mape_percent=np.nan if zero else 100.0 * float(np.abs(apart / reference).mean()),
        concordance=_ratio(2.0 * covariance, variances + shift),
        concordance_unbiased=_ratio(2.0 * scale * covariance, scale * variances + shift),
        correlation=_ratio(covariance, spread),
        pairs=n,
    )


def _ratio(above: float, below: float) -> float:
    return above / below if below > 0 else float("nan")

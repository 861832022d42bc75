"""Sobol indices against closed forms.

Sources: T. Ishigami and T. Homma, An importance quantification technique in uncertainty analysis
for computer models, ISUMA 1990, 398-403 (function; indices follow by integration, as in
A. Saltelli et al., Global Sensitivity Analysis, 2008); I. M. Sobol, g function: A. Saltelli and
I. M. Sobol 1995, indices from the product form.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from fiddlehead.study.effects import main_effects, sobol_indices
from fiddlehead.study.sampling import sobol_sequence
from fiddlehead.study.space import Range, Space
from fiddlehead.study.surrogate import Surrogate

NAMES = ("x1", "x2", "x3")
TOLERANCE = 0.02
"""Of indices from 8192 base points: twice the usual scatter of the estimators."""


def ishigami(unit: np.ndarray, a: float, b: float) -> np.ndarray:
    x = math.pi * (2.0 * unit - 1.0)
    return np.sin(x[:, 0]) + a * np.sin(x[:, 1]) ** 2 + b * x[:, 2] ** 4 * np.sin(x[:, 0])


def closed_form(a: float, b: float) -> tuple[list[float], list[float]]:
    """First and total indices."""
    first = 0.5 * (1.0 + b * math.pi**4 / 5.0) ** 2
    second = a**2 / 8.0
    pair = b**2 * math.pi**8 * 8.0 / 225.0
    whole = first + second + pair
    return [first / whole, second / whole, 0.0], [
        (first + pair) / whole, second / whole, pair / whole,
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("b", "written"),
    [
        (0.1, ((0.313905, 0.442411, 0.0), (0.557589, 0.442411, 0.243684))),
        (0.05, ((0.218519, 0.686895, 0.0), (0.313105, 0.686895, 0.094587))),
    ],
)
def test_ishigami(b: float, written: tuple[tuple[float, ...], tuple[float, ...]]) -> None:
    first, total = closed_form(7.0, b)
    assert (first, total) == (
        pytest.approx(written[0], abs=1e-6),
        pytest.approx(written[1], abs=1e-6),
    )
    found = sobol_indices(lambda unit: ishigami(unit, 7.0, b), NAMES, base=8192)
    assert found.first == pytest.approx(first, abs=TOLERANCE)
    assert found.total == pytest.approx(total, abs=TOLERANCE)
    assert np.all(np.abs(found.total - total) <= found.total_band + 1e-3)


def test_sobol_g() -> None:
    a = np.array([0.0, 1.0, 4.5, 9.0, 99.0, 99.0, 99.0, 99.0])
    found = sobol_indices(
        lambda unit: np.prod((np.abs(4.0 * unit - 2.0) + a) / (1.0 + a), axis=1),
        tuple(f"x{k}" for k in range(8)),
        base=8192,
    )
    own = 1.0 / (3.0 * (1.0 + a) ** 2)
    whole = np.prod(1.0 + own) - 1.0
    assert found.first == pytest.approx(own / whole, abs=TOLERANCE)
    total = own * np.prod(1.0 + own) / (1.0 + own) / whole
    assert found.total == pytest.approx(total, abs=TOLERANCE)
    assert found.first[:4] == pytest.approx([0.716192, 0.179048, 0.023676, 0.007162], abs=TOLERANCE)


def test_main_effects_of_ishigami_by_a_surrogate() -> None:
    """E[f | x2] = a sin(x2)^2, and x3 has no main effect; within 5 % of the function's range, 28,
    from 256 designs."""
    space = Space(tuple(Range(name, -math.pi, math.pi) for name in NAMES))
    unit = sobol_sequence(3, 256, 1)
    columns = {"f": ishigami(unit, 7.0, 0.1)}
    effects = main_effects(Surrogate(space, space.rows(unit), columns, ["f"]), "f")
    at = np.array(effects[1].at, float)
    assert effects[1].mean == pytest.approx(7.0 * np.sin(at) ** 2, abs=1.4)
    assert np.ptp(effects[2].mean) < 0.8

"""Two-level designs and a worked example.

Box, Hunter and Hunter, Statistics for Experimenters (1978) and NIST/SEMATECH e-Handbook of
Statistical Methods, table 5.3.3.4.7: runs and resolution of fractions (values from memory).
Box and Behnken 1960, Technometrics 2, 455: sizes of three-level designs (values from memory).
Montgomery, Design and Analysis of Experiments: filtration rate of a pilot plant, an unreplicated
2^4 (data, effects and sums of squares from memory; all of them fit together).
"""

from __future__ import annotations

import numpy as np
import pytest

from fiddlehead.fabricate.experiment_effects import two_level_effects, variance_table
from fiddlehead.fabricate.experiment_factors import FACTORS
from fiddlehead.fabricate.experiment_plan import make_plan

NUMERIC = tuple(factor for factor in FACTORS.values() if factor.words is None)

# factors, resolution, runs
FRACTIONS = [
    (3, 3, 4),
    (4, 4, 8),
    (5, 3, 8),
    (5, 5, 16),
    (6, 3, 8),
    (6, 4, 16),
    (6, 6, 32),
    (7, 3, 8),
    (7, 4, 16),
    (7, 7, 64),
    (8, 4, 16),
    (8, 5, 64),
]


@pytest.mark.parametrize(("count", "resolution", "runs"), FRACTIONS)
def test_fraction(count: int, resolution: int, runs: int) -> None:
    plan = make_plan(
        NUMERIC[:count],
        "fractional factorial",
        resolution=resolution,
        centre_points=0,
        replicates=1,
        blocks=1,
    )
    assert plan.coded.shape == (runs, count)
    assert plan.resolution == resolution
    gram = plan.coded.T @ plan.coded
    np.testing.assert_allclose(gram, runs * np.eye(count))  # orthogonal and balanced
    np.testing.assert_allclose(plan.coded.sum(axis=0), 0.0)
    # The resolution again, from the aliases: the two shortest words of any set add up to it.
    shortest = min(
        len(words[0]) + len(words[1])
        for words in (entry.split(" = ") for entry in plan.aliases)
        if len(words) > 1
    )
    assert shortest >= resolution
    main = next(entry.split(" = ") for entry in plan.aliases if entry.startswith("a ="))
    assert min(len(word) for word in main[1:]) == resolution - 1


def test_aliases_of_the_sixteen_run_fraction_of_six() -> None:
    """2^(6-2), e = abc, f = bcd: pairs are mixed up with pairs as in the printed table."""
    plan = make_plan(NUMERIC[:6], "fractional factorial", centre_points=0, replicates=1, blocks=1)
    pairs = {
        frozenset(word for word in entry.split(" = ") if len(word) == 2)
        for entry in plan.aliases
        if len(entry.split(" = ")[0]) == 2
    }
    printed = ["ab ce", "ac be", "ad ef", "ae bc df", "af de", "bd cf", "bf cd"]
    assert pairs == {frozenset(entry.split()) for entry in printed}


@pytest.mark.parametrize(("count", "edges"), [(3, 12), (4, 24), (5, 40)])
def test_box_behnken(count: int, edges: int) -> None:
    plan = make_plan(NUMERIC[:count], "Box-Behnken", centre_points=3, replicates=1, blocks=1)
    assert plan.coded.shape == (edges + 3, count)
    assert sum(plan.centre) == 3
    active = (plan.coded != 0).sum(axis=1)
    assert set(active) == {0, 2}
    np.testing.assert_allclose(plan.coded.sum(axis=0), 0.0)


FILTRATION = np.array([45, 71, 48, 65, 68, 60, 80, 65, 43, 100, 45, 104, 75, 86, 70, 96], float)
"""Standard order: temperature a fastest, pressure b, formaldehyde c, stirring d."""
CORNERS = np.array(
    [[a, b, c, d] for d in (-1, 1) for c in (-1, 1) for b in (-1, 1) for a in (-1, 1)], float
)
EFFECTS = {
    "a": 21.625, "b": 3.125, "c": 9.875, "d": 14.625, "ab": 0.125, "ac": -18.125, "ad": 16.625,
    "bc": 2.375, "bd": -0.375, "cd": -1.125, "abc": 1.875, "abd": 4.125, "acd": -1.625,
    "bcd": -2.625, "abcd": 1.375,
}  # fmt: skip


def test_filtration_rate_effects() -> None:
    found = two_level_effects(CORNERS, FILTRATION)
    assert {e.word: round(e.value, 9) for e in found.effects} == EFFECTS
    assert {e.word for e in found.effects if e.active} == {"a", "c", "d", "ac", "ad"}
    assert found.mean == pytest.approx(70.0625)
    assert found.pseudo_standard_error == pytest.approx(2.625)  # 1.5 times the median of the calm
    assert found.curvature is None


def test_filtration_rate_variance() -> None:
    table = variance_table(CORNERS, FILTRATION, ("a", "c", "d", "ac", "ad"))
    sums = {row.source: row.sum_of_squares for row in table}
    printed = {"a": 1870.5625, "c": 390.0625, "d": 855.5625, "ac": 1314.0625, "ad": 1105.5625}
    assert sums == pytest.approx({**printed, "residual": 195.125})
    assert sum(sums.values()) == pytest.approx(5730.9375)
    assert next(row.f_ratio for row in table if row.source == "a") == pytest.approx(95.86, abs=0.01)

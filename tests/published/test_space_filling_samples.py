"""What samples promise.

Sources: M. D. McKay, R. J. Beckman and W. J. Conover, Technometrics 21 (1979) 239-245 (Latin
hypercube: each of n equal parts of each axis once); I. M. Sobol, USSR Comput. Math. Math. Phys. 7
(1967) 86-112, with the directions of S. Joe and F. Y. Kuo, SIAM J. Sci. Comput. 30 (2008)
2635-2654; J. H. Halton, Numer. Math. 2 (1960) 84-90 for the equidistribution measure's ranking of
random points below sequences.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import qmc

from fiddlehead.study.sampling import latin_hypercube, sobol_sequence


@given(st.integers(1, 6), st.integers(1, 60), st.integers(0, 1000))
@settings(max_examples=30)
def test_latin_hypercube_hits_every_part_once(variables: int, designs: int, seed: int) -> None:
    points = latin_hypercube(variables, designs, seed)
    parts = np.floor(points * designs).astype(int)
    assert all(sorted(column) == list(range(designs)) for column in parts.T)


def test_first_points_of_the_sequence() -> None:
    assert sobol_sequence(3, 4, None).tolist() == [
        [0, 0, 0], [0.5, 0.5, 0.5], [0.75, 0.25, 0.25], [0.25, 0.75, 0.75],
    ]  # fmt: skip


@pytest.mark.parametrize("seed", [None, 1, 2])
def test_powers_of_two_fill_every_half_quarter_and_eighth_equally(seed: int | None) -> None:
    points = sobol_sequence(4, 64, seed)
    for cuts in (2, 4, 8, 64):
        for column in np.floor(points * cuts).astype(int).T:
            assert np.bincount(column, minlength=cuts).tolist() == [64 // cuts] * cuts


def test_both_fill_better_than_chance() -> None:
    """Centred discrepancy (F. J. Hickernell, Math. Comput. 67 (1998) 299-322)."""
    chance = np.median(
        [qmc.discrepancy(np.random.default_rng(k).random((128, 4))) for k in range(9)]
    )
    for draw in (latin_hypercube, sobol_sequence):
        assert qmc.discrepancy(draw(4, 128, 3)) < chance
    assert qmc.discrepancy(sobol_sequence(4, 128, 3)) < 0.3 * chance

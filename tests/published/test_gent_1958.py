"""Gent (1958), Rubber Chem. Technol. 31, 896-906: modulus from Shore A hardness.

The table holds Gent's relation and Ruess's ``log10 E = 0.0235 S - 0.6403`` evaluated independently.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from fiddlehead.errors import ParameterError
from fiddlehead.material.hardness import (
    estimate_from_hardness,
    gent_modulus_mpa,
    ruess_modulus_mpa,
)

TABLE = np.loadtxt(Path(__file__).parent / "data" / "shoreA_modulus.csv", delimiter=",", skiprows=2)


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"{row[0]:g}A")
def test_both_relations(row):
    hardness, gent, ruess, third = row
    assert gent_modulus_mpa(hardness) == pytest.approx(gent, abs=5.1e-6)
    assert ruess_modulus_mpa(hardness) == pytest.approx(ruess, abs=5.1e-6)
    assert estimate_from_hardness(hardness).shear_modulus_mpa == pytest.approx(third, abs=5.1e-6)


def test_the_logarithm_of_ruess_is_decimal():
    """60 Shore A: 5.884 MPa; with the natural logarithm it would be 2.159 MPa, a known slip."""
    assert ruess_modulus_mpa(60) == pytest.approx(5.884, abs=5e-4)
    assert math.exp(0.0235 * 60 - 0.6403) == pytest.approx(2.159, abs=5e-4)


def test_the_honest_band_holds_both_relations():
    for hardness in TABLE[:, 0]:
        guess = estimate_from_hardness(hardness)
        assert guess.low_mpa <= ruess_modulus_mpa(hardness) <= guess.high_mpa
        assert guess.high_mpa / guess.low_mpa == pytest.approx(4.0)


@pytest.mark.parametrize("hardness", [-5.0, 0.0, 19.9, 95.1, 100.0, math.nan, math.inf])
def test_hardness_the_scale_cannot_tell(hardness):
    with pytest.raises(ParameterError) as caught:
        estimate_from_hardness(hardness)
    assert caught.value.allowed == "20 to 95"

"""Ogden (1972), Proc. R. Soc. A 326, 565-584: three terms for Treloar's rubber.

Constants as in Holzapfel (2000), Nonlinear Solid Mechanics (from memory): mu = 0.63, 0.0012,
-0.01 MPa, alpha = 1.3, 5, -2. The stress table was computed independently from the closed form.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from fiddlehead.errors import ParameterError
from fiddlehead.material import card_from_constants
from fiddlehead.material.laws import Ogden3
from fiddlehead.material.response import nominal_stress_mpa

DATA = Path(__file__).parent / "data"
LAW = Ogden3(0.63, 1.3, 0.0012, 5.0, -0.01, -2.0)
CONSTANTS = {
    "mu1_mpa": 0.63,
    "alpha1": 1.3,
    "mu2_mpa": 0.0012,
    "alpha2": 5.0,
    "mu3_mpa": -0.01,
    "alpha3": -2.0,
}
LEAVES = tuple(CONSTANTS.values())
TABLE = {  # stretch: uniaxial, equibiaxial, planar, MPa
    1.5: (0.40162, 0.60198, 0.48156),
    2.0: (0.60272, 0.82161, 0.68562),
    3.0: (0.87993, 1.23070, 0.95243),
    5.0: (1.73667, 3.01901, 1.80538),
    7.0: (3.99522, 7.44006, 4.07346),
}


@pytest.mark.parametrize(("column", "mode"), list(enumerate(["uniaxial", "equibiaxial", "planar"])))
def test_nominal_stress(column, mode):
    expected = [row[column] for row in TABLE.values()]
    found = nominal_stress_mpa(LAW, mode, np.array(list(TABLE)))
    np.testing.assert_allclose(found, expected, rtol=0, atol=1e-5)


def test_initial_modulus_is_half_the_sum_of_mu_alpha():
    assert LAW.shear_modulus_mpa == pytest.approx(0.4225, rel=1e-12)


@pytest.mark.parametrize(
    ("mode", "file", "r2"),
    [("uniaxial", "UT", 0.9677), ("equibiaxial", "ET", 0.9957), ("planar", "PS", 0.9962)],
)
def test_against_the_experiment(mode, file, r2):
    """Coefficient of determination computed independently from the same points; mu as printed in
    1972: 6.3, 0.012, -0.1 kgf/cm²."""
    printed = Ogden3(*(0.0980665 * 10 * c if i % 2 == 0 else c for i, c in enumerate(LEAVES)))
    table = np.loadtxt(DATA / f"treloar1944_{file}.csv", delimiter=",", skiprows=3)
    stress = 0.0980665 * table[:, 1]
    error = np.asarray(nominal_stress_mpa(printed, mode, table[:, 0])) - stress
    assert 1 - (error @ error) / np.sum((stress - stress.mean()) ** 2) == pytest.approx(
        r2, abs=1e-4
    )


def test_the_other_convention_is_converted_and_none_is_refused():
    """W = Σ 2 mu'/alpha² (...) with mu' = mu alpha / 2 is the same, its shear modulus Σ mu'."""
    other = dict(CONSTANTS)
    for p in (1, 2, 3):
        other[f"mu{p}_mpa"] = CONSTANTS[f"mu{p}_mpa"] * CONSTANTS[f"alpha{p}"] / 2
    cards = [
        card_from_constants(
            "ogden_3", values, name="rubber", date="2000-01-01", ogden_convention=convention
        )
        for values, convention in ((CONSTANTS, "mu/alpha"), (other, "2mu/alpha^2"))
    ]
    for key, value in CONSTANTS.items():
        assert cards[0].constants[key] == value
        assert cards[1].constants[key] == pytest.approx(value, rel=1e-14)
    assert cards[1].shear_modulus_mpa == pytest.approx(sum(other[f"mu{p}_mpa"] for p in (1, 2, 3)))
    with pytest.raises(ParameterError, match="convention"):
        card_from_constants("ogden_3", CONSTANTS, name="rubber", date="2000-01-01")

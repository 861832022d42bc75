"""Meunier et al. (2008), Polymer Testing 27, 765-777: unfilled silicone, tension and compression.

Digitised by others, one transcription: used for the import of a curve through both branches, not
for tight numbers.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from fiddlehead.material import CurveFile, characterise, read_curves, reduce_curves

FILE = CurveFile(
    path=Path(__file__).parent / "data" / "meunier_2008_UT.csv",
    strain_column="stretch",
    strain_unit="stretch",
    stress_column="nominal_stress_MPa",
)


def test_both_branches_survive_reduction():
    (curve,) = reduce_curves(read_curves(FILE), cycle="first pull", use_strain=1.0, points=40)
    assert curve.stretch.min() == 0.49
    assert curve.stretch.max() == 2.17
    assert np.all(np.sign(curve.nominal_stress_mpa) == np.sign(curve.stretch - 1.0))


def test_stable_law_meets_both_branches():
    found = characterise(read_curves(FILE), cycle="first pull", use_strain=0.6)
    fit = found.fit(found.recommendation.law_name)
    assert fit.stability.stable
    assert fit.relative_error < 0.10
    assert 0.6 < 3 * fit.shear_modulus_mpa < 1.4  # the paper gives about 1 MPa (from memory)
    assert not any("Compression was not tested" in text for text in found.recommendation.warnings)
    assert found.curves[0].strain_range == pytest.approx((-0.42, 0.76))

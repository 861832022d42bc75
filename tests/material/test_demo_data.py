"""The invented tests of the demo: reproducible, marked as invented, and good for a stable law."""

from __future__ import annotations

import importlib.util
from pathlib import Path

import numpy as np
import pytest

from fiddlehead.material import CurveFile, characterise, read_curves
from fiddlehead.material.response import nominal_stress_mpa

DEMO = Path(__file__).resolve().parents[2] / "examples" / "greenware"
NAMES = [*(f"pull_{n}.csv" for n in range(1, 6)), "planar.csv"]


@pytest.fixture(scope="module")
def inventor():
    spec = importlib.util.spec_from_file_location("invent_tests", DEMO / "invent_tests.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def tests():
    pulls = [
        curve
        for name in NAMES[:5]
        for curve in read_curves(
            CurveFile(
                path=DEMO / "tensile" / name,
                extension_column="extension_mm",
                force_column="force_N",
                specimen="ISO 37 type 2",
                width_mm=4.02,
                thickness_mm=2.05,
            )
        )
    ]
    planar = read_curves(
        CurveFile(
            path=DEMO / "tensile" / "planar.csv",
            mode="planar",
            strain_column="strain",
            strain_unit="percent",
            stress_column="nominal stress",
            specimen_column="specimen",
        )
    )
    return [*pulls, *planar]


def test_same_seed_same_bytes(inventor, tmp_path):
    written = inventor.invent(tmp_path)
    assert [path.name for path in written] == NAMES
    for path in written:
        assert path.read_bytes() == (DEMO / "tensile" / path.name).read_bytes()


@pytest.mark.parametrize("name", NAMES)
def test_every_file_says_it_is_invented(name):
    assert (DEMO / "tensile" / name).read_text().startswith("# INVENTED DATA. No test was made")


def test_conditioned_tests_give_the_imagined_law_back(tests, inventor):
    found = characterise(tests)
    uniaxial, planar = found.curves
    assert (uniaxial.specimens, planar.specimens) == (5, 3)
    assert uniaxial.cycles == planar.cycles == 4
    assert uniaxial.residual_strain == pytest.approx(inventor.SETS[-1], abs=1e-3)
    assert 0.2 < uniaxial.softening < 0.35
    assert 0.05 < uniaxial.hysteresis_loss < 0.2
    name = found.recommendation.law_name
    fit = found.fit(name)
    assert name == "yeoh"
    assert fit.stability.stable
    assert 3 * fit.shear_modulus_mpa == pytest.approx(6 * inventor.CONDITIONED_MPA[0], rel=0.03)
    from fiddlehead.material.laws import Yeoh, law_from_constants

    stretch = np.linspace(1.02, 1.6, 30)
    for mode in ("uniaxial", "planar", "equibiaxial"):
        np.testing.assert_allclose(
            nominal_stress_mpa(law_from_constants(name, fit.constants), mode, stretch),
            nominal_stress_mpa(Yeoh(*inventor.CONDITIONED_MPA), mode, stretch),
            rtol=0.05,
        )


def test_first_pull_is_stiffer_and_said_so(tests):
    laws = ["neo_hookean", "yeoh"]
    service = characterise(tests, laws=laws)
    virgin = characterise(tests, laws=laws, cycle="first pull")
    assert virgin.fit("yeoh").shear_modulus_mpa > 1.3 * service.fit("yeoh").shear_modulus_mpa
    assert any("first pull" in text for text in virgin.recommendation.warnings)
    assert not any("first pull" in text for text in service.recommendation.warnings)

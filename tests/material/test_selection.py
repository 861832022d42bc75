"""The recommendation: stable before close, simple before clever, and every caution spoken."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fiddlehead.errors import ParameterError
from fiddlehead.material.fit import fit_law
from fiddlehead.material.laws import MooneyRivlin2, Ogden2, Yeoh
from fiddlehead.material.selection import characterise, recommend, why_unstable
from tests.material.made import specimens_of


def test_the_law_that_made_the_data_is_recommended_without_a_caution():
    found = characterise(specimens_of(Yeoh(2.0, -0.12, 0.012)))
    assert found.recommendation.law_name == "yeoh"
    assert found.recommendation.warnings == ()
    assert "stable" in found.recommendation.reason
    assert found.fit("yeoh").relative_error < 0.02
    assert found.use_strain == 0.6


def test_simple_data_get_a_simple_law():
    """Exact data: laws that hold the true one as a special case fit no better, so it is taken."""
    exact = specimens_of(MooneyRivlin2(1.5, 0.3), specimens=1, noise=0.0, samples=25)
    found = characterise(exact)
    assert found.fit("mooney_rivlin_5").relative_error < 1e-9
    assert found.recommendation.law_name == "mooney_rivlin_2"


def test_closest_law_is_passed_over_when_unstable():
    """Softening data: the polynomial that follows them closest loses stability when ballooning."""
    law = Ogden2(40.0, 0.2, -0.05, -0.5)
    found = characterise(
        specimens_of(law, modes=("uniaxial",), noise=0.0),
        use_strain=0.9,
        laws=["mooney_rivlin_5", "neo_hookean"],
    )
    closest = min(found.fits, key=lambda fit: fit.aicc)
    assert closest.law_name == "mooney_rivlin_5"
    assert not closest.stability.stable
    assert found.recommendation.law_name == "neo_hookean"
    assert "not usable: Mooney-Rivlin, 5 constants (unstable in" in found.recommendation.reason


def test_fewest_constants_among_equals():
    found = characterise(specimens_of(MooneyRivlin2(1.5, 0.3)), laws=["mooney_rivlin_3"])
    three = found.fits[0]
    two = fit_law("mooney_rivlin_2", found.curves)
    tied = recommend([three, replace(two, aicc=three.aicc + 1.9)], found.curves, 0.6)
    assert tied.law_name == "mooney_rivlin_2"
    assert "fewest constants" in tied.reason
    apart = recommend([three, replace(two, aicc=three.aicc + 2.1)], found.curves, 0.6)
    assert apart.law_name == "mooney_rivlin_3"


def test_no_stable_law_is_said_not_hidden():
    found = characterise(specimens_of(Yeoh(2.0, -0.12, 0.012)), laws=["neo_hookean"])
    check = replace(found.fits[0].stability, positive_modulus=False)
    advice = recommend([replace(found.fits[0], stability=check)], found.curves, 0.6)
    assert advice.law_name is None
    assert "No fitted law is stable" in advice.reason


CAUTIONS = {
    "use beyond data": ({"top": 1.3}, {}, "The data reach"),
    "first pull": ({"conditioned": False}, {"cycle": "first pull"}, "Fitted on a first pull"),
    "no compression": ({"modes": ("uniaxial", "planar")}, {}, "Compression was not tested"),
    "shallow compression": ({}, {"use_strain": 1.2}, "Compression was tested to"),
    "uniaxial only": ({"modes": ("uniaxial", "compression")}, {}, "Only uniaxial data"),
    "few specimens": ({"specimens": 2}, {}, "ISO 37 asks for three"),
}


@pytest.mark.parametrize("caution", CAUTIONS)
def test_cautions(caution):
    data, options, words = CAUTIONS[caution]
    found = characterise(
        specimens_of(Yeoh(2.0, -0.12, 0.012), **data), laws=["neo_hookean", "yeoh"], **options
    )
    assert any(words in text for text in found.recommendation.warnings)


def test_uniaxial_data_and_a_law_in_both_invariants_names_the_safer_choice():
    found = characterise(
        specimens_of(MooneyRivlin2(1.2, 0.5), modes=("uniaxial",), noise=0.001),
        laws=["neo_hookean", "mooney_rivlin_2"],
    )
    assert found.recommendation.law_name == "mooney_rivlin_2"
    assert any("neo-Hooke is the safer choice" in text for text in found.recommendation.warnings)


def test_a_loose_fit_is_pointed_out():
    found = characterise(specimens_of(Yeoh(2.0, -0.5, 0.2)), laws=["neo_hookean"])
    assert any("misses the data" in text for text in found.recommendation.warnings)


def test_unknown_law_is_named_before_any_work():
    with pytest.raises(ParameterError, match="no law of this name"):
        characterise(specimens_of(Yeoh(2.0, -0.12, 0.012)), laws=["jeoh"])


def test_why_unstable_in_words():
    fit = fit_law("yeoh", characterise(specimens_of(Yeoh(2.0, -0.12, 0.012)), laws=["yeoh"]).curves)
    assert why_unstable(fit) == "Yeoh (stable)"
    lost = replace(fit.stability, limits={**fit.stability.limits, "planar": 1.234})
    assert why_unstable(replace(fit, stability=lost)) == "Yeoh (unstable in planar at stretch 1.23)"

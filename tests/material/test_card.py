"""Material cards: made three ways, written, read, and mistrusted where that is due."""

from __future__ import annotations

import subprocess
import sys
import tomllib
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fiddlehead.errors import ParameterError
from fiddlehead.material import (
    CATALOGUE,
    bulk_to_shear_from_poisson,
    card_from_constants,
    card_from_hardness,
    card_from_tests,
    card_text,
    characterise,
    read_card,
    write_card,
)
from fiddlehead.material.card import MaterialCard
from fiddlehead.material.laws import NeoHookean, Yeoh
from fiddlehead.material.typed import checked_constants, in_our_convention
from tests.material.made import specimens_of

DATE = "2026-11-25"
YEOH = {"c10_mpa": 2.0, "c20_mpa": -0.12, "c30_mpa": 0.012}


@pytest.fixture(scope="module")
def found():
    return characterise(
        specimens_of(Yeoh(2.0, -0.12, 0.012), modes=("uniaxial", "planar")),
        laws=["neo_hookean", "mooney_rivlin_2", "yeoh", "ogden_1"],
    )


def typed(**more):
    return card_from_constants("yeoh", YEOH, **{"name": "synthetic", "date": DATE, **more})


def test_from_tests_and_back(found, tmp_path):
    card = card_from_tests(found, name="printed elastomer", date=DATE)
    again = read_card(write_card(tmp_path / "card.toml", card))
    assert again == card
    assert card.law_name == found.recommendation.law_name == "yeoh"
    assert card.cycle == "conditioned"
    assert card.specimens == {"uniaxial": 3, "planar": 3}
    assert card.data_strain["uniaxial"][1] == pytest.approx(0.77, abs=0.02)
    assert [name for name, _ in card.files][:2] == ["uniaxial_0.csv", "uniaxial_1.csv"]
    assert set(card.deviations) == set(YEOH)
    assert again.law().shear_modulus_mpa == card.shear_modulus_mpa


def test_same_card_same_bytes(found, tmp_path):
    card = card_from_tests(found, name="printed elastomer", date=DATE)
    one, two = (write_card(tmp_path / name, card).read_bytes() for name in ("a.toml", "b.toml"))
    assert one == two
    assert DATE.encode() in one


def test_another_law_by_choice_is_noted(found):
    card = card_from_tests(found, name="x", date=DATE, law_name="neo_hookean")
    assert card.law_name == "neo_hookean"
    assert card.reason == "Chosen by the user."
    assert any("Yeoh was recommended" in text for text in card.warnings)
    with pytest.raises(ParameterError, match="was not fitted"):
        card_from_tests(found, name="x", date=DATE, law_name="gent")


def test_unstable_choice_is_allowed_with_a_warning_a_negative_modulus_is_not(found):
    fit = found.fit("neo_hookean")
    lost = replace(fit.stability, limits={**fit.stability.limits, "planar": 1.2})
    unstable = replace(found, fits=(replace(fit, stability=lost),))
    card = card_from_tests(unstable, name="x", date=DATE, law_name="neo_hookean")
    assert any("not stable over the use range: planar at stretch 1.2" in w for w in card.warnings)
    assert card.stability_limits == {"planar": 1.2}
    negative = replace(lost, positive_modulus=False)
    with pytest.raises(ParameterError, match="negative initial modulus"):
        card_from_tests(
            replace(found, fits=(replace(fit, stability=negative),)),
            name="x",
            date=DATE,
            law_name="neo_hookean",
        )


def test_nothing_to_recommend(found):
    advice = replace(found.recommendation, law_name=None, reason="No fitted law is stable.")
    with pytest.raises(ParameterError, match="no law can be recommended"):
        card_from_tests(replace(found, recommendation=advice), name="x", date=DATE)


def test_typed_constants(tmp_path):
    card = typed()
    assert card.shear_modulus_mpa == 4.0
    assert card.youngs_modulus_mpa == 12.0
    assert card.bulk_modulus_mpa == 2000.0
    assert card.bulk_source == "common practice, no source"
    assert card.density_source == "value from memory"
    assert card.relative_error is None
    assert read_card(write_card(tmp_path / "card.toml", card)) == card
    assert any("no test data" in text for text in card.warnings)


def test_typed_law_that_turns_unstable_is_warned_about():
    soft = {"c10_mpa": 0.5, "c20_mpa": -0.05, "c30_mpa": 0.002}
    card = card_from_constants("yeoh", soft, name="x", date=DATE, use_strain=0.9)
    assert any("equibiaxial at stretch 1.61" in text for text in card.warnings)


BAD_CONSTANTS = {
    "missing": ("yeoh", {"c10_mpa": 2.0, "c20_mpa": 0.0}, "needs a finite number for c30_mpa"),
    "unknown": ("yeoh", {**YEOH, "c40_mpa": 1.0}, "no such constant"),
    "NaN": ("yeoh", {**YEOH, "c10_mpa": float("nan")}, "needs a finite number for c10_mpa"),
    "text": ("yeoh", {**YEOH, "c10_mpa": "2.0"}, "needs a finite number"),
    "true": ("yeoh", {**YEOH, "c10_mpa": True}, "needs a finite number"),
    "negative modulus": ("neo_hookean", {"mu_mpa": -1.0}, "no positive initial modulus"),
    "kPa typed": ("neo_hookean", {"mu_mpa": 4000.0}, "are the constants in MPa"),
    "GPa typed": ("neo_hookean", {"mu_mpa": 0.004}, "are the constants in MPa"),
    "unknown law": ("yeoh3", YEOH, "no law of this name"),
    "Gent limit": ("gent", {"mu_mpa": 4.0, "jm": 0.0}, "jm is out of range"),
    "locking": ("arruda_boyce", {"mu_mpa": 4.0, "locking_stretch": 0.9}, "locking_stretch is out"),
    "no convention": ("ogden_1", {"mu1_mpa": 5.0, "alpha1": 1.4}, "convention is stated"),
    "zero exponent": ("ogden_1", {"mu1_mpa": 5.0, "alpha1": 0.0}, "cannot be zero"),
}


@pytest.mark.parametrize("case", BAD_CONSTANTS)
def test_bad_constants(case):
    law_name, constants, message = BAD_CONSTANTS[case]
    with pytest.raises(ParameterError, match=message) as caught:
        card_from_constants(law_name, constants, name="x", date=DATE)
    assert caught.value.where


def test_unusual_modulus_may_be_confirmed():
    card = card_from_constants(
        "neo_hookean", {"mu_mpa": 4000.0}, name="x", date=DATE, unusual_modulus_confirmed=True
    )
    assert card.shear_modulus_mpa == 4000.0


@given(
    mu=st.floats(0.1, 10.0),
    alpha=st.floats(0.3, 8.0) | st.floats(-8.0, -0.3),
)
@settings(max_examples=30, deadline=None)
def test_both_ogden_conventions_are_one_material(mu, alpha):
    """2 mu/alpha² Σ(l^alpha - 1): its shear modulus is Σ mu whatever alpha."""
    ours = in_our_convention("ogden_1", {"mu1_mpa": mu, "alpha1": alpha}, "2mu/alpha^2")
    assert 0.5 * ours["mu1_mpa"] * ours["alpha1"] == pytest.approx(mu)
    assert ours["mu1_mpa"] / ours["alpha1"] == pytest.approx(2 * mu / alpha**2)


def test_convention_is_asked_of_no_other_law():
    assert in_our_convention("yeoh", YEOH, None) == YEOH


def test_constants_come_in_the_order_of_the_law():
    shuffled = dict(reversed(list(YEOH.items())))
    assert list(checked_constants("yeoh", shuffled)) == list(CATALOGUE["yeoh"].constants)


def test_from_hardness(tmp_path):
    """85 Shore A: 13.182 MPa by Gent (1958)."""
    card = card_from_hardness(85, name="x", date=DATE)
    assert card.youngs_modulus_mpa == pytest.approx(13.182, abs=5e-4)
    assert card.law() == NeoHookean(card.shear_modulus_mpa)
    assert any("between 6.59 and 26.4 MPa" in text for text in card.warnings)
    assert read_card(write_card(tmp_path / "card.toml", card)) == card


@given(st.floats(0.4, 0.4999))
def test_poisson_and_bulk_ratio_are_inverse(nu):
    card = replace(typed(), bulk_to_shear_ratio=bulk_to_shear_from_poisson(nu))
    assert card.poisson_ratio == pytest.approx(nu, rel=1e-9)


def test_bulk_ratio_of_a_thousand():
    """nu = (3K - 2mu)/(6K + 2mu): K/mu = 1000 gives 0.49950."""
    assert replace(typed(), bulk_to_shear_ratio=1000.0).poisson_ratio == pytest.approx(
        0.49950, abs=5e-6
    )


@pytest.mark.parametrize("nu", [0.3, 0.5, 0.49999, -1.0, float("nan")])
def test_poisson_out_of_range(nu):
    with pytest.raises(ParameterError, match="Poisson"):
        bulk_to_shear_from_poisson(nu)


def test_strain_beyond_the_data_is_warned_about(found):
    card = card_from_tests(found, name="x", date=DATE)
    assert card.beyond_data(0.5) is None
    assert "Strain of 95 % in use" in card.beyond_data(0.95)
    assert typed().beyond_data(5.0) is None  # there are no data to leave


def test_card_edited_by_hand_is_caught(tmp_path):
    path = write_card(tmp_path / "card.toml", typed())
    path.write_text(path.read_text().replace("c10_mpa = 2.0", "c10_mpa = 3.0"))
    card = read_card(path)
    with pytest.raises(ParameterError, match="not that of its constants"):
        card.law()


def test_ogden_card_in_the_other_convention_is_converted(tmp_path):
    card = card_from_constants(
        "ogden_1",
        {"mu1_mpa": 5.0, "alpha1": 1.6},
        name="x",
        date=DATE,
        ogden_convention="mu/alpha",
    )
    text = card_text(card)
    assert tomllib.loads(text)["ogden_convention"] == "mu/alpha"
    path = tmp_path / "card.toml"
    path.write_text(
        text.replace('"mu/alpha"', '"2mu/alpha^2"').replace("mu1_mpa = 5.0", "mu1_mpa = 4.0")
    )
    assert read_card(path).constants == pytest.approx(card.constants)
    path.write_text(text.replace('ogden_convention = "mu/alpha"\n', ""))
    with pytest.raises(ParameterError, match="convention is stated"):
        read_card(path)


SPOILT = {
    "not TOML": ("law = ", "= law", "not TOML"),
    "no law": ('law = "yeoh"\n', "", "missing"),
    "unknown law": ('law = "yeoh"', 'law = "yoeh"', "no law of this name"),
    "law a number": ('law = "yeoh"', "law = 3", "wrong kind"),
    "constant missing": ("c30_mpa = 0.012\n", "", "c30_mpa"),
    "constant text": ("c30_mpa = 0.012", 'c30_mpa = "0.012"', "c30_mpa"),
    "origin": ('origin = "constants"', 'origin = "hearsay"', "wrong kind"),
    "modulus negative": ("shear_modulus_mpa = 4.0", "shear_modulus_mpa = -4.0", "wrong kind"),
    "bulk NaN": ("bulk_to_shear_ratio = 500.0", "bulk_to_shear_ratio = nan", "wrong kind"),
    "density zero": ("density_g_per_cm3 = 1.2", "density_g_per_cm3 = 0.0", "wrong kind"),
    "no elastic": ("[elastic]", "[plastic]", "missing"),
    "warnings a number": ("warnings = [", "warnings = 3\nold = [", "wrong kind"),
    "mode": ("[range.data_strain]", "[range.data_strain]\nshear = [0.0, 1.0]", "wrong kind"),
    "span": ("[range.data_strain]", "[range.data_strain]\nplanar = [0.0]", "wrong kind"),
    "files": ("[range]", '[[files]]\nfile = "a"\n\n[range]', "missing"),
}


@pytest.mark.parametrize("case", SPOILT)
def test_spoilt_cards(tmp_path, case):
    old, new, message = SPOILT[case]
    text = card_text(typed())
    assert old in text
    path = tmp_path / "card.toml"
    path.write_text(text.replace(old, new, 1))
    with pytest.raises(ParameterError, match=message) as caught:
        read_card(path)
    assert "card.toml" in caught.value.where


def test_unreadable_cards(tmp_path):
    with pytest.raises(ParameterError, match="cannot read"):
        read_card(tmp_path / "nowhere.toml")
    path = tmp_path / "card.toml"
    path.write_bytes(b"\xff\xfe")
    with pytest.raises(ParameterError, match="not TOML"):
        read_card(path)


def test_reading_reducing_and_listing_load_no_jax(tmp_path):
    path = write_card(tmp_path / "card.toml", card_from_hardness(85, name="x", date=DATE))
    program = (
        "import sys, pathlib, fiddlehead.material as m\n"
        f"card = m.read_card(pathlib.Path({str(path)!r}))\n"
        "m.CATALOGUE, m.read_curves, m.reduce_curves, m.standard_specimens, m.card_from_hardness\n"
        "assert 'jax' not in sys.modules and 'scipy' not in sys.modules\n"
        "card.bulk_modulus_mpa\n"
        "assert 'jax' not in sys.modules\n"
        "card.law()\n"
        "assert 'jax' in sys.modules\n"
        "import jax\n"
        "assert jax.config.jax_enable_x64\n"
    )
    subprocess.run([sys.executable, "-c", program], check=True)


def test_every_public_name_loads():
    import fiddlehead.material as material

    for name in material.__all__:
        assert getattr(material, name) is not None
    with pytest.raises(AttributeError, match="no attribute"):
        getattr(material, "nonsense")  # noqa: B009
    assert isinstance(typed(), MaterialCard)

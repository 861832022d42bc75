"""Every law keeps the contract of an energy; the registry and the catalogue agree."""

from __future__ import annotations

import dataclasses
import itertools

import jax
import jax.numpy as jnp
import numpy as np
import pytest

from fiddlehead.material.catalogue import CATALOGUE, law_entry
from fiddlehead.material.laws import (
    LAWS,
    ArrudaBoyce,
    Gent,
    MooneyRivlin2,
    MooneyRivlin3,
    MooneyRivlin5,
    NeoHookean,
    Ogden1,
    Ogden2,
    Ogden3,
    Yeoh,
)
from fiddlehead.material.response import nominal_stress_mpa
from fiddlehead.testing.energy import EnergyContract


class TestNeoHookean(EnergyContract):
    __test__ = True
    energy = NeoHookean(4.0)


class TestMooneyRivlin2(EnergyContract):
    __test__ = True
    energy = MooneyRivlin2(1.6, 0.4)


class TestMooneyRivlin3(EnergyContract):
    __test__ = True
    energy = MooneyRivlin3(1.6, 0.4, 0.03)


class TestMooneyRivlin5(EnergyContract):
    __test__ = True
    energy = MooneyRivlin5(1.6, 0.4, 0.02, -0.03, 0.05)


class TestYeoh(EnergyContract):
    __test__ = True
    energy = Yeoh(2.0, -0.12, 0.012)


class TestOgden1(EnergyContract):
    __test__ = True
    energy = Ogden1(5.2, 1.4)


class TestOgden2(EnergyContract):
    __test__ = True
    energy = Ogden2(3.0, 1.4, -0.5, -3.0)


class TestOgden3(EnergyContract):
    __test__ = True
    energy = Ogden3(0.63, 1.3, 0.0012, 5.0, -0.01, -2.0)


class TestArrudaBoyce(EnergyContract):
    __test__ = True
    energy = ArrudaBoyce(4.0, 2.5)


class TestGent(EnergyContract):
    __test__ = True
    energy = Gent(4.0, 20.0)


def test_catalogue_and_registry_tell_the_same():
    assert set(CATALOGUE) == set(LAWS)
    for name, entry in CATALOGUE.items():
        assert tuple(f.name for f in dataclasses.fields(LAWS[name])) == entry.constants
        assert LAWS[name].source == entry.source


@pytest.mark.parametrize("name", CATALOGUE)
def test_catalogue_says_truly_what_a_law_depends_on(name):
    """First-invariant laws ignore I2; linear laws double their stress with their constants."""
    entry = law_entry(name)
    constants = [1.7 + 0.3 * i for i in range(len(entry.constants))]
    law = LAWS[name](*constants)
    if entry.first_invariant_only:
        assert float(law.density(3.5, 3.4)) == float(law.density(3.5, 3.9))
    stretch = np.array([0.8, 1.1, 1.4])
    once, twice = (
        np.asarray(nominal_stress_mpa(LAWS[name](*[f * c for c in constants]), "planar", stretch))
        for f in (1.0, 2.0)
    )
    assert np.allclose(twice, 2.0 * once, rtol=1e-12) == entry.linear


def test_jax_never_takes_one_law_for_another():
    """Structures of different laws must differ even with as many constants, or a program compiled
    for one is now and then run for the other (as JAX 0.10.2 does with ``register_dataclass``)."""
    structures = [
        jax.tree_util.tree_structure(LAWS[name](*([1.5] * len(entry.constants))))
        for name, entry in CATALOGUE.items()
    ]
    for one, other in itertools.combinations(structures, 2):
        assert one != other


def test_gent_beyond_its_limit_is_not_a_number_in_energy_and_slope():
    law = Gent(1.0, 2.0)
    assert np.isnan(float(law.density(jnp.asarray(5.5), 3.0)))
    assert np.isnan(float(jax.grad(law.density)(5.5, 3.0)))
    assert np.isfinite(float(jax.grad(law.density)(4.9, 3.0)))


def test_laws_are_frozen():
    with pytest.raises(dataclasses.FrozenInstanceError):
        NeoHookean(1.0).mu_mpa = 2.0

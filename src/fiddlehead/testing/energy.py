"""Contract of a hyperelastic law: what every energy must keep, whatever its form."""

from __future__ import annotations

import itertools
from pathlib import Path

import jax
import jax.numpy as jnp
import numpy as np
from jaxtyping import Array, Float

from fiddlehead.material.card import MaterialCard
from fiddlehead.material.card_file import read_card, write_card
from fiddlehead.material.catalogue import CATALOGUE
from fiddlehead.material.laws.base import LAWS, Energy
from fiddlehead.material.records import MODES
from fiddlehead.material.response import energy_density, nominal_stress_mpa


def isochoric_energy(law: Energy, stretches: Float[Array, "3"]) -> Float[Array, ""]:
    """Energy in MPa of the volume-preserving part of three principal stretches."""
    return energy_density(law, tuple(stretches / jnp.cbrt(jnp.prod(stretches))))


class EnergyContract:
    """Subclass, set ``energy`` to a law with sensible constants, and collect with pytest."""

    __test__ = False
    energy: Energy
    largest_stretch: float = 1.8

    def states(self) -> Float[np.ndarray, "state 3"]:
        """Principal stretches the contract is checked at: seeded, not volume preserving."""
        rng = np.random.default_rng(7)
        span = np.log(self.largest_stretch)
        return np.exp(rng.uniform(-span, span, size=(8, 3)) / 2)

    def test_rest_has_no_energy_and_no_stress(self) -> None:
        rest = jnp.ones(3)
        assert abs(float(isochoric_energy(self.energy, rest))) < 1e-12
        slope = jax.grad(isochoric_energy, argnums=1)(self.energy, rest)
        np.testing.assert_allclose(slope, 0.0, atol=1e-12 * float(self.energy.shear_modulus_mpa))

    def test_energy_forgets_the_order_of_directions_and_the_volume(self) -> None:
        for state in self.states():
            value = float(isochoric_energy(self.energy, jnp.asarray(state)))
            for order in itertools.permutations(range(3)):
                turned = 1.3 * jnp.asarray(state[list(order)])
                assert abs(float(isochoric_energy(self.energy, turned)) - value) < 1e-10

    def test_stress_is_the_slope_of_energy(self) -> None:
        gradient = jax.jit(jax.grad(isochoric_energy, argnums=1))
        value = jax.jit(isochoric_energy)
        for state in self.states():
            slope = gradient(self.energy, jnp.asarray(state))
            for i in range(3):
                step = np.zeros(3)
                step[i] = 1e-5
                ahead, behind = (value(self.energy, jnp.asarray(state + s)) for s in (step, -step))
                difference = (float(ahead) - float(behind)) / 2e-5
                scale = float(self.energy.shear_modulus_mpa) + abs(difference)
                assert abs(float(slope[i]) - difference) < 1e-7 * scale

    def test_tangent_is_symmetric_and_the_slope_of_stress(self) -> None:
        gradient = jax.jit(jax.grad(isochoric_energy, argnums=1))
        hessian = jax.jit(jax.hessian(isochoric_energy, argnums=1))
        for state in self.states():
            tangent = np.asarray(hessian(self.energy, jnp.asarray(state)))
            np.testing.assert_allclose(tangent, tangent.T, rtol=0, atol=1e-9 * abs(tangent).max())
            for i in range(3):
                step = np.zeros(3)
                step[i] = 1e-5
                ahead, behind = (
                    gradient(self.energy, jnp.asarray(state + s)) for s in (step, -step)
                )
                difference = (np.asarray(ahead) - np.asarray(behind)) / 2e-5
                np.testing.assert_allclose(
                    tangent[i], difference, rtol=0, atol=1e-6 * abs(tangent).max()
                )

    def test_small_strain_modulus(self) -> None:
        modulus = float(self.energy.shear_modulus_mpa)
        for mode, factor in {"uniaxial": 3.0, "planar": 4.0, "equibiaxial": 6.0}.items():
            strain = 1e-5
            ahead, behind = nominal_stress_mpa(
                self.energy,
                mode,  # type: ignore[arg-type]
                np.array([1.0 + strain, 1.0 - strain]),
            )
            assert (
                abs((float(ahead) - float(behind)) / (2 * strain) / (factor * modulus) - 1) < 1e-6
            )

    def test_stress_has_the_sign_of_strain_near_rest(self) -> None:
        for mode in MODES:
            stress = nominal_stress_mpa(self.energy, mode, np.array([0.97, 1.0, 1.03]))
            assert float(stress[0]) < 0.0 < float(stress[2])
            assert abs(float(stress[1])) < 1e-10

    def test_constants_are_leaves_in_catalogue_order(self) -> None:
        leaves = jax.tree_util.tree_leaves(self.energy)
        names = CATALOGUE[self.energy.name].constants
        assert [getattr(self.energy, name) for name in names] == leaves
        assert LAWS[self.energy.name] is type(self.energy)

    def test_one_program_serves_a_batch(self) -> None:
        factors = jnp.array([1.0, 1.1])
        batch = jax.tree_util.tree_map(lambda leaf: leaf * factors, self.energy)
        state = jnp.asarray(self.states()[0])
        both = jax.vmap(isochoric_energy, (0, None))(batch, state)
        alone = isochoric_energy(self.energy, state)
        assert both.shape == (2,)
        assert abs(float(both[0] - alone)) < 1e-12

    def test_saved_on_a_card_and_read_again(self, tmp_path: Path) -> None:
        names = CATALOGUE[self.energy.name].constants
        card = MaterialCard(
            name="contract",
            law_name=self.energy.name,
            constants={name: float(getattr(self.energy, name)) for name in names},
            shear_modulus_mpa=float(self.energy.shear_modulus_mpa),
            origin="constants",
            date="2000-01-01",
        )
        assert read_card(write_card(tmp_path / "card.toml", card)).law() == self.energy

"""The Gent law."""

from __future__ import annotations

from typing import Any

import jax.numpy as jnp

from fiddlehead.material.laws.base import InvariantEnergy, law


@law
class Gent(InvariantEnergy):
    """Two-constant law with a sharp limit of extensibility.

    ``W = -mu Jm/2 ln(1 - (I1-3)/Jm)``  [MPa]. Initial shear modulus ``mu``; ``Jm`` is the value
    of ``I1 - 3`` that cannot be reached.

    Beyond that limit the energy *and all its derivatives* are NaN: the derivative of the
    logarithm alone would be a finite number of the wrong sign, which a solver would believe.

    Source: Gent (1996), Rubber Chem. Technol. 69, 59-61.
    """

    name = "gent"
    source = "Gent (1996), Rubber Chem. Technol. 69, 59-61"
    mu_mpa: Any
    jm: Any

    def density(self, i1: Any, i2: Any) -> Any:
        room = 1.0 - (i1 - 3.0) / self.jm
        allowed = jnp.where(room > 0.0, 1.0, jnp.nan)
        return -0.5 * self.mu_mpa * self.jm * jnp.log(room) * allowed

    @property
    def shear_modulus_mpa(self) -> Any:
        return self.mu_mpa

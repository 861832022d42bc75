"""The neo-Hookean law."""

from __future__ import annotations

from typing import Any

from fiddlehead.material.laws.base import InvariantEnergy, law


@law
class NeoHookean(InvariantEnergy):
    """One-constant rubber law from Gaussian chain statistics.

    ``W = mu/2 (I1 - 3)``  [MPa]. Initial shear modulus ``mu``.

    Source: Treloar (1975), The Physics of Rubber Elasticity, 3rd ed., ch. 4 (textbook form).
    """

    name = "neo_hookean"
    source = "Treloar (1975), The Physics of Rubber Elasticity, 3rd ed., ch. 4"
    mu_mpa: Any

    def density(self, i1: Any, i2: Any) -> Any:
        return 0.5 * self.mu_mpa * (i1 - 3.0)

    @property
    def shear_modulus_mpa(self) -> Any:
        return self.mu_mpa

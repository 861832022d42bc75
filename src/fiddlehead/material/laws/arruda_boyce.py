"""The eight-chain law."""

from __future__ import annotations

from typing import Any

from fiddlehead.material.laws.base import InvariantEnergy, law

SERIES = (1 / 2, 1 / 20, 11 / 1050, 19 / 7000, 519 / 673750)
"""First five coefficients of the energy of a chain with the inverse Langevin function."""


@law
class ArrudaBoyce(InvariantEnergy):
    """Chains of limited length along the diagonals of a cube, first five terms of the series.

    ``W = mu Σ_k C_k (I1^k - 3^k) / λm^(2k-2)``, k = 1..5  [MPa]; ``λm`` is the stretch at which
    the chains lock. Initial shear modulus ``2 mu Σ_k C_k k (3/λm²)^(k-1)``, a little above ``mu``.
    The series stiffens towards ``λm`` but stays finite there.

    Source: Arruda & Boyce (1993), J. Mech. Phys. Solids 41, 389-412.
    """

    name = "arruda_boyce"
    source = "Arruda & Boyce (1993), J. Mech. Phys. Solids 41, 389-412"
    mu_mpa: Any
    locking_stretch: Any

    def density(self, i1: Any, i2: Any) -> Any:
        shrink = 1.0 / self.locking_stretch**2
        terms = (c * shrink ** (k - 1) * (i1**k - 3.0**k) for k, c in enumerate(SERIES, start=1))
        return self.mu_mpa * sum(terms)

    @property
    def shear_modulus_mpa(self) -> Any:
        ratio = 3.0 / self.locking_stretch**2
        terms = (c * k * ratio ** (k - 1) for k, c in enumerate(SERIES, start=1))
        return 2.0 * self.mu_mpa * sum(terms)

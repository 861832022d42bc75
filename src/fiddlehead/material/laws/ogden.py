"""The Ogden laws, with one, two or three terms.

Two conventions are in use and their constants differ. fiddlehead computes in the first:

- ``mu/alpha``:    ``W = Σ_p mu_p/alpha_p Σ_i (λ_i^alpha_p - 1)``, initial shear modulus
  ``½ Σ mu_p alpha_p`` (Ogden 1972)
- ``2mu/alpha^2``: ``W = Σ_p 2 mu_p/alpha_p² Σ_i (λ_i^alpha_p - 1)``, initial shear modulus
  ``Σ mu_p``

Each term must keep ``mu_p alpha_p > 0`` in the first convention to be stable on its own.
"""

from __future__ import annotations

from typing import Any

from fiddlehead.material.laws.base import StretchEnergy, law

SOURCE = "Ogden (1972), Proc. R. Soc. A 326, 565-584"


def _term(stretch: Any, mu_mpa: Any, alpha: Any) -> Any:
    return mu_mpa / alpha * (stretch**alpha - 1.0)


@law
class Ogden1(StretchEnergy):
    """One term: ``w(λ) = mu1/alpha1 (λ^alpha1 - 1)``  [MPa]; shear modulus ``½ mu1 alpha1``.

    Source: Ogden (1972), Proc. R. Soc. A 326, 565-584.
    """

    name = "ogden_1"
    source = SOURCE
    mu1_mpa: Any
    alpha1: Any

    def density_of_stretch(self, stretch: Any) -> Any:
        return _term(stretch, self.mu1_mpa, self.alpha1)

    @property
    def shear_modulus_mpa(self) -> Any:
        return 0.5 * self.mu1_mpa * self.alpha1


@law
class Ogden2(StretchEnergy):
    """Two terms of ``mu/alpha (λ^alpha - 1)``  [MPa]; shear modulus ``½ Σ mu alpha``.

    Source: Ogden (1972), Proc. R. Soc. A 326, 565-584.
    """

    name = "ogden_2"
    source = SOURCE
    mu1_mpa: Any
    alpha1: Any
    mu2_mpa: Any
    alpha2: Any

    def density_of_stretch(self, stretch: Any) -> Any:
        first = _term(stretch, self.mu1_mpa, self.alpha1)
        return first + _term(stretch, self.mu2_mpa, self.alpha2)

    @property
    def shear_modulus_mpa(self) -> Any:
        return 0.5 * (self.mu1_mpa * self.alpha1 + self.mu2_mpa * self.alpha2)


@law
class Ogden3(StretchEnergy):
    """Three terms of ``mu/alpha (λ^alpha - 1)``  [MPa]; shear modulus ``½ Σ mu alpha``.

    Source: Ogden (1972), Proc. R. Soc. A 326, 565-584.
    """

    name = "ogden_3"
    source = SOURCE
    mu1_mpa: Any
    alpha1: Any
    mu2_mpa: Any
    alpha2: Any
    mu3_mpa: Any
    alpha3: Any

    def density_of_stretch(self, stretch: Any) -> Any:
        first = _term(stretch, self.mu1_mpa, self.alpha1)
        second = _term(stretch, self.mu2_mpa, self.alpha2)
        return first + second + _term(stretch, self.mu3_mpa, self.alpha3)

    @property
    def shear_modulus_mpa(self) -> Any:
        two = self.mu1_mpa * self.alpha1 + self.mu2_mpa * self.alpha2
        return 0.5 * (two + self.mu3_mpa * self.alpha3)

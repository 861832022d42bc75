"""The Mooney-Rivlin laws: polynomials in both invariants, with two, three or five constants."""

from __future__ import annotations

from typing import Any

from fiddlehead.material.laws.base import InvariantEnergy, law


@law
class MooneyRivlin2(InvariantEnergy):
    """The two-constant law.

    ``W = c10 (I1-3) + c01 (I2-3)``  [MPa]. Initial shear modulus ``2 (c10 + c01)``.

    Source: Mooney (1940), J. Appl. Phys. 11, 582-592.
    """

    name = "mooney_rivlin_2"
    source = "Mooney (1940), J. Appl. Phys. 11, 582-592"
    c10_mpa: Any
    c01_mpa: Any

    def density(self, i1: Any, i2: Any) -> Any:
        return self.c10_mpa * (i1 - 3.0) + self.c01_mpa * (i2 - 3.0)

    @property
    def shear_modulus_mpa(self) -> Any:
        return 2.0 * (self.c10_mpa + self.c01_mpa)


@law
class MooneyRivlin3(InvariantEnergy):
    """The two-constant law and the mixed term.

    ``W = c10 (I1-3) + c01 (I2-3) + c11 (I1-3)(I2-3)``  [MPa].
    Initial shear modulus ``2 (c10 + c01)``.

    Source: Rivlin & Saunders (1951), Phil. Trans. R. Soc. A 243, 251-288 (the general series;
    this choice of terms is the usual one called three-constant).
    """

    name = "mooney_rivlin_3"
    source = "Rivlin & Saunders (1951), Phil. Trans. R. Soc. A 243, 251-288"
    c10_mpa: Any
    c01_mpa: Any
    c11_mpa: Any

    def density(self, i1: Any, i2: Any) -> Any:
        a, b = i1 - 3.0, i2 - 3.0
        return self.c10_mpa * a + self.c01_mpa * b + self.c11_mpa * a * b

    @property
    def shear_modulus_mpa(self) -> Any:
        return 2.0 * (self.c10_mpa + self.c01_mpa)


@law
class MooneyRivlin5(InvariantEnergy):
    """All terms up to the second power of the invariants.

    ``W = c10 (I1-3) + c01 (I2-3) + c20 (I1-3)² + c11 (I1-3)(I2-3) + c02 (I2-3)²``  [MPa].
    Initial shear modulus ``2 (c10 + c01)``. Fitted to uniaxial data alone it is seldom stable.

    Source: Rivlin & Saunders (1951), Phil. Trans. R. Soc. A 243, 251-288 (the general series).
    """

    name = "mooney_rivlin_5"
    source = "Rivlin & Saunders (1951), Phil. Trans. R. Soc. A 243, 251-288"
    c10_mpa: Any
    c01_mpa: Any
    c20_mpa: Any
    c11_mpa: Any
    c02_mpa: Any

    def density(self, i1: Any, i2: Any) -> Any:
        a, b = i1 - 3.0, i2 - 3.0
        first = self.c10_mpa * a + self.c01_mpa * b
        return first + self.c20_mpa * a * a + self.c11_mpa * a * b + self.c02_mpa * b * b

    @property
    def shear_modulus_mpa(self) -> Any:
        return 2.0 * (self.c10_mpa + self.c01_mpa)

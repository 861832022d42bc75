"""The Yeoh law."""

from __future__ import annotations

from typing import Any

from fiddlehead.material.laws.base import InvariantEnergy, law


@law
class Yeoh(InvariantEnergy):
    """Three-constant law in the first invariant only.

    ``W = c10 (I1-3) + c20 (I1-3)² + c30 (I1-3)³``  [MPa]. Initial shear modulus ``2 c10``.
    The usual shape is c20 < 0 < c30: softening, then stiffening.

    Source: Yeoh (1993), Rubber Chem. Technol. 66, 754-771.
    """

    name = "yeoh"
    source = "Yeoh (1993), Rubber Chem. Technol. 66, 754-771"
    c10_mpa: Any
    c20_mpa: Any
    c30_mpa: Any

    def density(self, i1: Any, i2: Any) -> Any:
        a = i1 - 3.0
        return a * (self.c10_mpa + a * (self.c20_mpa + a * self.c30_mpa))

    @property
    def shear_modulus_mpa(self) -> Any:
        return 2.0 * self.c10_mpa

"""A law from Shore A hardness alone: for those without a testing machine, with its honest error."""

from __future__ import annotations

import math
from dataclasses import dataclass

from fiddlehead.errors import ParameterError

SHORE_A_RANGE = (20.0, 95.0)
"""Hardness the scale can tell; softer and harder need another scale (common practice)."""

ERROR_FACTOR = 2.0
"""Modulus from hardness is known to within about this factor: the two published relations below
differ by 1.4 to 1.9 between 50 and 85 Shore A."""


@dataclass(frozen=True)
class HardnessEstimate:
    """Initial Young's modulus from hardness, MPa, with the band it may lie in."""

    shore_a: float
    youngs_modulus_mpa: float
    low_mpa: float
    high_mpa: float
    source: str

    @property
    def shear_modulus_mpa(self) -> float:
        """A third of Young's modulus (incompressible)."""
        return self.youngs_modulus_mpa / 3.0


def gent_modulus_mpa(shore_a: float) -> float:
    """Young's modulus from the indentation mechanics of the Shore A gauge, MPa.

    ``E = 0.0981 (56 + 7.62336 S) / (0.137505 (254 - 2.54 S))``

    Source: Gent (1958), Rubber Chem. Technol. 31, 896-906 (constants from memory).
    """
    return 0.0981 * (56.0 + 7.62336 * shore_a) / (0.137505 * (254.0 - 2.54 * shore_a))


def ruess_modulus_mpa(shore_a: float) -> float:
    """Young's modulus by the empirical ``log10 E = 0.0235 S - 0.6403``, MPa, for 20 to 80 Shore A.

    The logarithm is decimal; with the natural one 60 Shore A would be a third as stiff.

    Source: Ruess, as quoted by Larson (white paper on hardness of silicones, from memory).
    """
    return float(10.0 ** (0.0235 * shore_a - 0.6403))


def estimate_from_hardness(shore_a: float) -> HardnessEstimate:
    """Initial modulus from Shore A hardness: Gent's relation within a factor of 2.

    Raises
    ------
    ParameterError : hardness outside 20 to 95 Shore A
    """
    low, high = SHORE_A_RANGE
    if not (math.isfinite(shore_a) and low <= shore_a <= high):
        raise ParameterError(
            "this hardness cannot be turned into a modulus",
            where="shore_a",
            found=f"{shore_a:g}",
            allowed=f"{low:g} to {high:g}",
            remedy="Softer or harder materials need another scale, or better a tensile test.",
        )
    modulus = gent_modulus_mpa(shore_a)
    return HardnessEstimate(
        shore_a=shore_a,
        youngs_modulus_mpa=modulus,
        low_mpa=modulus / ERROR_FACTOR,
        high_mpa=modulus * ERROR_FACTOR,
        source="Gent (1958), Rubber Chem. Technol. 31, 896-906 (constants from memory)",
    )

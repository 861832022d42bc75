"""The material card: a law with its constants, where they hold and where they came from.

Reading and showing a card does not load JAX; ``card.law()`` does.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from fiddlehead.errors import ParameterError
from fiddlehead.material.records import Cycle, Mode

if TYPE_CHECKING:
    from fiddlehead.material.laws.base import Energy

COMMON_PRACTICE = "common practice, no source"
FROM_MEMORY = "value from memory"

DEFAULT_BULK_TO_SHEAR = 500.0
"""Bulk over shear modulus where it was not measured (common practice, no source: 100 to 1000)."""

DEFAULT_DENSITY_G_PER_CM3 = 1.2
"""Printed thermoplastic polyurethane (value from memory)."""


@dataclass(frozen=True, kw_only=True)
class MaterialCard:
    """A law ready to compute with.

    constants : by name, ``_mpa`` where there is a unit; Ogden constants in ``mu/alpha``
    deviations : standard deviations of fitted constants (missing where not determinable)
    shear_modulus_mpa : initial, from the constants
    use_strain : largest nominal strain the law was checked for, fraction
    data_strain : per tested mode the nominal strains covered (fractions)
    stability_limits : per mode the stretch at which stability is lost; modes without a loss
        between 0.12 and 8 are left out
    relative_error : root mean square relative stress error of the fit (None if not fitted)
    specimens : number per tested mode
    files : name and SHA-256 of every test file
    date : day the card was made, ISO 8601, as given by the caller
    """

    name: str
    law_name: str
    constants: Mapping[str, float]
    shear_modulus_mpa: float
    origin: Literal["tests", "constants", "hardness"]
    date: str
    deviations: Mapping[str, float] = field(default_factory=dict)
    bulk_to_shear_ratio: float = DEFAULT_BULK_TO_SHEAR
    bulk_source: str = COMMON_PRACTICE
    density_g_per_cm3: float = DEFAULT_DENSITY_G_PER_CM3
    density_source: str = FROM_MEMORY
    use_strain: float = 0.0
    data_strain: Mapping[Mode, tuple[float, float]] = field(default_factory=dict)
    stability_limits: Mapping[Mode, float] = field(default_factory=dict)
    weighting: str = ""
    relative_error: float | None = None
    largest_relative_error: float | None = None
    cycle: Cycle | None = None
    specimens: Mapping[Mode, int] = field(default_factory=dict)
    files: tuple[tuple[str, str], ...] = ()
    reason: str = ""
    warnings: tuple[str, ...] = ()

    @property
    def bulk_modulus_mpa(self) -> float:
        """Bulk modulus, MPa: the ratio times the initial shear modulus."""
        return self.bulk_to_shear_ratio * self.shear_modulus_mpa

    @property
    def poisson_ratio(self) -> float:
        """Initial Poisson's ratio from bulk and shear modulus."""
        ratio = self.bulk_to_shear_ratio
        return (3.0 * ratio - 2.0) / (6.0 * ratio + 2.0)

    @property
    def youngs_modulus_mpa(self) -> float:
        """Initial Young's modulus, MPa, taken as incompressible (three shear moduli)."""
        return 3.0 * self.shear_modulus_mpa

    def law(self) -> Energy:
        """The energy to compute with, a JAX pytree in double precision.

        Raises
        ------
        ParameterError : constants and shear modulus contradict each other (a card edited by hand)
        """
        from fiddlehead.material.laws import law_from_constants

        law = law_from_constants(self.law_name, self.constants)
        modulus = float(law.shear_modulus_mpa)
        if abs(modulus - self.shear_modulus_mpa) > 1e-6 * abs(modulus):
            raise ParameterError(
                "the shear modulus on this card is not that of its constants",
                where=f"material card {self.name!r}",
                found=f"{self.shear_modulus_mpa:.6g} MPa",
                allowed=f"{modulus:.6g} MPa",
                remedy="The constants were edited by hand: mend shear_modulus_mpa as well.",
            )
        return law

    def beyond_data(self, nominal_strain: float) -> str | None:
        """A warning in words when a strain (fraction) leaves the tested range, else None."""
        if not self.data_strain:
            return None
        reach = max(high for _, high in self.data_strain.values())
        if nominal_strain <= 1.02 * reach:
            return None
        return (
            f"Strain of {100 * nominal_strain:.0f} % in use, data to {100 * reach:.0f} %: beyond "
            "the data the law is a guess."
        )


def bulk_to_shear_from_poisson(poisson_ratio: float) -> float:
    """Bulk over shear modulus, ``2 (1 + nu) / (3 (1 - 2 nu))``.

    Raises
    ------
    ParameterError : not between 0.4 and 0.4999 (an elastomer that is not fully incompressible)
    """
    if not 0.4 <= poisson_ratio <= 0.4999:
        raise ParameterError(
            "this Poisson's ratio is not that of an elastomer the solver can take",
            where="poisson_ratio",
            found=f"{poisson_ratio:g}",
            allowed="0.4 to 0.4999",
            remedy="Printed elastomers lie between 0.48 and 0.4995.",
        )
    return 2.0 * (1.0 + poisson_ratio) / (3.0 * (1.0 - 2.0 * poisson_ratio))

"""Test curves and fits as plain frozen data: numpy in, numpy out, nothing to compute with."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from jaxtyping import Float

Mode = Literal["uniaxial", "planar", "equibiaxial", "compression"]
"""How a specimen is loaded; ``compression`` is uniaxial compression (stretch below 1)."""

MODES: tuple[Mode, ...] = ("uniaxial", "planar", "equibiaxial", "compression")

Cycle = Literal["first pull", "conditioned"]
"""Which loading branch was taken: the first one, or the last one after softening."""


PLAUSIBLE_MODULUS_MPA = (0.05, 500.0)
"""Initial modulus of elastomers, softest gel to hardest thermoplastic (common practice, no
source). Outside, units are asked about."""


@dataclass(frozen=True)
class TensileCurve:
    """One specimen as tested: every sample in time order, all cycles.

    stretch : current over original length, in the loading direction
    nominal_stress_mpa : force over original section (negative in compression), MPa
    zeroed : the file gave stress and strain, taken as they are; force-extension is zeroed later
    conditioned : the file holds only the loading branch after conditioning, as the user says
    """

    mode: Mode
    specimen: str
    stretch: Float[np.ndarray, " sample"]
    nominal_stress_mpa: Float[np.ndarray, " sample"]
    zeroed: bool
    conditioned: bool
    file: str
    sha256: str


@dataclass(frozen=True)
class ReducedCurve:
    """The loading branch of one mode: mean and scatter over specimens on one strain grid.

    stretch : measured from the unloaded length of the chosen cycle (set removed)
    nominal_stress_mpa : mean over specimens, on the unloaded section of that cycle, MPa
    scatter_mpa : sample standard deviation over specimens, MPa (zero with one specimen)
    cycles : fewest cycles any specimen was taken through
    residual_strain : mean set taken out, fraction of the original length
    hysteresis_loss : mean share of the loading work not given back (NaN if never unloaded)
    softening : mean of 1 - stress of the last over the first pull, at 80 % of the largest strain
    files : name and SHA-256 of every test file
    """

    mode: Mode
    cycle: Cycle
    stretch: Float[np.ndarray, " point"]
    nominal_stress_mpa: Float[np.ndarray, " point"]
    scatter_mpa: Float[np.ndarray, " point"]
    specimens: int
    cycles: int
    residual_strain: float
    hysteresis_loss: float
    softening: float
    files: tuple[tuple[str, str], ...]
    warnings: tuple[str, ...] = ()

    @property
    def strain_range(self) -> tuple[float, float]:
        """Smallest and largest nominal strain covered (fractions; 0 counts as covered)."""
        strain = self.stretch - 1.0
        return float(min(strain.min(), 0.0)), float(max(strain.max(), 0.0))


@dataclass(frozen=True)
class Stability:
    """Where a law is stable in the sense of Drucker (see ``material.stability``).

    limits : per mode the stretch at which stability is lost, ``None`` if not found in the search
    use_limits : per mode the stretch up to which stability was asked for
    search : the stretches between which a limit was sought
    """

    positive_modulus: bool
    limits: Mapping[Mode, float | None]
    use_limits: Mapping[Mode, float]
    search: tuple[float, float]

    def stable_in(self, mode: Mode) -> bool:
        """Whether one mode stays stable up to its use limit."""
        limit, use = self.limits[mode], self.use_limits[mode]
        if not self.positive_modulus:
            return False
        return limit is None or (limit < use if use < 1.0 else limit > use)

    @property
    def stable(self) -> bool:
        """Positive initial modulus, and stable over the use range in every mode."""
        return self.positive_modulus and all(self.stable_in(mode) for mode in self.limits)

    @property
    def losses(self) -> str:
        """In words, where stability is lost within the use range (empty if nowhere)."""
        if not self.positive_modulus:
            return "negative initial modulus"
        lost = (mode for mode in self.limits if not self.stable_in(mode))
        return ", ".join(f"{mode} at stretch {self.limits[mode]:.3g}" for mode in lost)


@dataclass(frozen=True)
class Fit:
    """One law fitted to the reduced curves.

    constants, deviations : value and standard deviation by name (NaN where not determinable)
    sum_of_squares : of the residuals the fit minimised (MPa² if absolute, unitless if relative)
    sum_of_squares_mpa2 : of the plain stress residuals, whatever the weighting
    relative_error : root mean square of the relative stress error over the fitted range
    aicc : corrected Akaike criterion of the minimised residuals (see ``fit.corrected_akaike``)
    """

    law_name: str
    constants: Mapping[str, float]
    deviations: Mapping[str, float]
    weighting: Literal["relative", "absolute"]
    sum_of_squares: float
    sum_of_squares_mpa2: float
    relative_error: float
    largest_relative_error: float
    aicc: float
    points: int
    shear_modulus_mpa: float
    stability: Stability


@dataclass(frozen=True)
class Recommendation:
    """The chosen law, why, and what the user must know before trusting it."""

    law_name: str | None
    reason: str
    warnings: tuple[str, ...]


@dataclass(frozen=True)
class Characterisation:
    """All that was learnt from a set of tests: curves, every fit, the advice."""

    curves: tuple[ReducedCurve, ...]
    fits: tuple[Fit, ...]
    recommendation: Recommendation
    use_strain: float

    def fit(self, law_name: str) -> Fit:
        """The fit of one law by name (``KeyError`` if it was not fitted)."""
        return {fit.law_name: fit for fit in self.fits}[law_name]


@dataclass(frozen=True)
class ResponseCurve:
    """Stress of a law along one mode, for figures."""

    label: str
    mode: Mode
    stretch: Float[np.ndarray, " point"]
    nominal_stress_mpa: Float[np.ndarray, " point"] = field(repr=False)

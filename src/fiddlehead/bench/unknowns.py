"""Unknowns of a printed finger before and after the data, and what must be said about them."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import numpy as np
from jaxtyping import Float

from fiddlehead.bench.records import STIFFNESS
from fiddlehead.errors import ParameterError

LEARNT = 0.5
"""An unknown whose variance the data does not bring below this part of the prior's is not known."""
ALIKE = 0.9
"""Two unknowns whose estimates correlate more than this act alike on the curve."""


@dataclasses.dataclass(frozen=True)
class Unknown:
    """One unknown with its prior: a factor on the stiffness, or mm added to a thickness."""

    name: str
    prior: float
    prior_sd: float

    @property
    def unit(self) -> str:
        """``""`` for a factor, ``mm`` for a thickness."""
        return "" if self.name == STIFFNESS else "mm"


PRIORS: dict[str, Unknown] = {
    STIFFNESS: Unknown(STIFFNESS, 1.0, 0.15),
    "wall_thickness": Unknown("wall_thickness", 0.0, 0.1),
    "base_thickness": Unknown("base_thickness", 0.0, 0.15),
}
"""Priors as printed fingers usually come out; common practice, no source."""


def prior_of(text: str) -> Unknown:
    """A prior as it is typed: ``wall_thickness=0.05:0.02`` (value : standard deviation).

    Raises
    ------
    ParameterError : no such unknown, no numbers, or a standard deviation that is not positive
    """
    name, _, numbers = text.partition("=")
    value, _, sd = numbers.partition(":")
    try:
        unknown = Unknown(name.strip(), float(value), float(sd))
    except ValueError:
        unknown = Unknown("", 0.0, 0.0)
    if unknown.name not in PRIORS or not 0 < unknown.prior_sd < np.inf:
        raise ParameterError(
            "this prior cannot be read",
            found=repr(text),
            allowed="NAME=VALUE:SD, for example wall_thickness=0.05:0.02; names: "
            + ", ".join(PRIORS),
        )
    return unknown


@dataclasses.dataclass(frozen=True, kw_only=True)
class Estimate:
    """One unknown after the data."""

    name: str
    unit: str
    value: float
    sd: float
    low: float
    high: float
    """95 % interval."""
    prior: float
    prior_sd: float
    learnt: float
    """Part of the prior variance that the data took away, 0 to 1."""


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class Calibration:
    """Adjusted unknowns, the curve they give, and how well it foretells what was held out."""

    estimates: tuple[Estimate, ...]
    definition: str
    pressure_kpa: Float[np.ndarray, " grid"]
    measured: Float[np.ndarray, " grid"]
    before: Float[np.ndarray, " grid"]
    """The prediction with the prior values."""
    after: Float[np.ndarray, " grid"]
    fitted: Float[np.ndarray, " grid"]
    """1 where a pressure was used for the adjustment, 0 where it was held out."""
    fit_error_percent: float
    """Root mean square over full scale, on the pressures used: no measure of trust."""
    held_out_error_percent: float
    """The same on the pressures held out; NaN without any."""
    held_out_before_percent: float
    """The same for the prediction before calibrating."""
    correlation: Float[np.ndarray, "unknown unknown"]
    warnings: tuple[str, ...]
    rounds: int

    def value(self, name: str) -> float:
        """The estimate of one unknown; its neutral value where it was not adjusted."""
        for estimate in self.estimates:
            if estimate.name == name:
                return estimate.value
        return 1.0 if name == STIFFNESS else 0.0


def doubts(
    estimates: Sequence[Estimate],
    information: Float[np.ndarray, "unknown unknown"],
    *,
    still_moving: bool,
    nothing_held: bool,
) -> list[str]:
    """What a reader must be told about these estimates.

    Parameters
    ----------
    information : inverse covariance that the data alone gives
    still_moving : the last round still changed an unknown
    """
    found = []
    if still_moving:
        found.append("still moving after the last round: the numbers are not final")
    for one in estimates:
        if one.learnt < LEARNT:
            found.append(
                f"{_words(one)}: the data says little about it; the value rests on its prior"
            )
        if abs(one.value - one.prior) > 2.5 * one.prior_sd:
            found.append(
                f"{_words(one)}: {one.value:.3g} {one.unit} is far from what was expected; "
                "something else may be wrong".replace("  ", " ")
            )
    for i, one in enumerate(estimates):
        for j in range(i):
            size = np.sqrt(information[i, i] * information[j, j])
            alike = abs(information[i, j]) / size if size > 0 else 0.0
            if alike > ALIKE:
                found.append(
                    f"{_words(estimates[j])} and {_words(one)} act alike on this curve (similarity "
                    f"{alike:.2f}): only their combination is known; measure one of them"
                )
    if nothing_held:
        found.append("nothing was held out: the error of the fit is no measure of trust")
    return found


def _words(one: Estimate) -> str:
    return one.name.replace("_", " ")

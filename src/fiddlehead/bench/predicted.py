"""Predicted curves with the band that material and print scatter leave open."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np
from jaxtyping import Float

from fiddlehead.bench.records import CHORD, TIP_TANGENT, Predicted
from fiddlehead.errors import ParameterError
from fiddlehead.trials.records import BendResult, BlockResult

KPA = 1e3


class Scatter(NamedTuple):
    """One uncertain input: its standard deviation and how the curve answers to it."""

    words: str
    sd: float
    slope: Float[np.ndarray, " step"]
    """Change of the value per unit of the input, at each step."""


def bend_curve(result: BendResult, definition: str) -> Float[np.ndarray, " step"]:
    """The bending angle of a result under one definition, degrees.

    Raises
    ------
    ParameterError : no such definition
    """
    curves = {TIP_TANGENT: result.tip_angle_deg, CHORD: result.chord_angle_deg}
    if definition not in curves:
        raise ParameterError(
            "no such bending angle", found=repr(definition), allowed=" or ".join(map(repr, curves))
        )
    return curves[definition]


def stiffness_slope(
    pressure: Float[np.ndarray, " step"], value: Float[np.ndarray, " step"], *, force: bool
) -> Float[np.ndarray, " step"]:
    """Change of a curve per unit relative change of the material's stiffness; exact.

    Multiplying all moduli and the pressure by one factor leaves every shape as it is and
    multiplies forces by the factor (dimensional analysis), so ``angle(p; c) = angle(p / c; 1)``
    and ``force(p; c) = c force(p / c; 1)``.
    """
    slope = np.gradient(value, pressure, edge_order=2 if len(pressure) > 2 else 1)
    return (value if force else 0.0) - pressure * slope


def predicted_bend(
    result: BendResult,
    definition: str,
    *,
    stiffness_sd: float = 0.0,
    others: Mapping[str, Scatter] | None = None,
    source: str = "",
) -> Predicted:
    """Bending angle over pressure with its band.

    Parameters
    ----------
    stiffness_sd : relative standard deviation of the material's stiffness
    others : further uncertain inputs, taken as independent

    Raises
    ------
    ParameterError : no such definition
    """
    value = bend_curve(result, definition)
    pressure = KPA * result.pressure_mpa
    slope = stiffness_slope(pressure, value, force=False)
    material = Scatter("stiffness of the material", stiffness_sd, slope)
    return _banded("angle_deg", definition, pressure, value, material, others or {}, source)


def predicted_block(
    result: BlockResult,
    *,
    stiffness_sd: float = 0.0,
    others: Mapping[str, Scatter] | None = None,
    source: str = "",
) -> Predicted:
    """Blocked force over pressure with its band, as :func:`predicted_bend`."""
    pressure = KPA * result.pressure_mpa
    slope = stiffness_slope(pressure, result.force_n, force=True)
    material = Scatter("stiffness of the material", stiffness_sd, slope)
    return _banded("force_n", "", pressure, result.force_n, material, others or {}, source)


def _banded(
    quantity: str,
    definition: str,
    pressure: Float[np.ndarray, " step"],
    value: Float[np.ndarray, " step"],
    material: Scatter,
    others: Mapping[str, Scatter],
    source: str,
) -> Predicted:
    parts = [part for part in (material, *others.values()) if part.sd > 0]
    variance = sum(((part.sd * part.slope) ** 2 for part in parts), np.zeros(len(value)))
    return Predicted(
        quantity=quantity,
        definition=definition,
        pressure_kpa=pressure,
        value=value,
        sd=np.sqrt(variance),
        scatter=tuple(f"{part.words} (SD {part.sd:.3g})" for part in parts),
        source=source,
    )

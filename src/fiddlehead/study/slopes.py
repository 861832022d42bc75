"""Derivatives of a design's quantities by the study's variables, from the adjoint state."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from fiddlehead.errors import ParameterError
from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.study.catalogue import BEND, SIZE
from fiddlehead.study.pattern import Pattern
from fiddlehead.study.space import Row

ADJOINT = {
    "tip_angle_deg": ("tip_angle_deg", 1.0),
    "chord_angle_deg": ("chord_angle_deg", 1.0),
    "strain_peak_percent": ("strain_peak", 100.0),
    "strain_p95_percent": ("strain_p95", 100.0),
    "inflated_volume_cm3": ("cavity_volume_mm3", 1e-3),
}
"""Quantity: result of ``trials.sensitivity`` and the factor between their units."""
SMALL = 1e-4
"""Step of the differences that are taken of closed forms, relative to the value or 1."""


@dataclass(frozen=True)
class Slopes:
    """One design's quantities and their derivatives, ``of[quantity][variable]``."""

    values: Mapping[str, float]
    of: Mapping[str, Mapping[str, float]]
    reason: str = ""
    """Why there are none, in plain words; empty when there are."""


FREE = ("working_pressure_kpa",)
"""Variables that may be goals themselves."""


def without_slopes(quantities: Sequence[str]) -> list[str]:
    """The quantities that have no derivatives."""
    known = {*BEND.with_slopes, *SIZE.with_slopes, *FREE}
    return [name for name in quantities if name not in known]


def require_slopes(quantities: Sequence[str]) -> None:
    """Refuse quantities without derivatives.

    Raises
    ------
    ParameterError : there is one
    """
    missing = without_slopes(quantities)
    if missing:
        raise ParameterError(
            "there is no derivative of this quantity",
            found=", ".join(missing),
            allowed=", ".join((*BEND.with_slopes, *SIZE.with_slopes)),
            remedy="Use evolution, or a tolerance by simulations.",
        )


def slopes(pattern: Pattern, row: Row, quantities: Sequence[str], mesh: MeshSettings) -> Slopes:
    """Quantities of one design with their derivatives by every number in ``row``.

    Bending quantities come from one simulation and one linear solve each; sizes are closed forms.
    The way from variables to the engine's parameters is differenced, which is exact where it is
    linear, as it is for all sizes.

    Raises
    ------
    ParameterError, MeshError : no such design, or a quantity without derivatives
    """
    require_slopes(quantities)
    numbers = {n: float(v) for n, v in row.items() if isinstance(v, float)}
    values: dict[str, float] = {}
    found: dict[str, dict[str, float]] = {}
    bent = [name for name in quantities if name in ADJOINT]
    if bent:
        reason = _bent(pattern, row, numbers, bent, mesh, values, found)
        if reason:
            return Slopes({}, {}, reason)
    for name in quantities:
        if name not in ADJOINT:
            values[name] = _closed_form(pattern, row, name)
            found[name] = {
                variable: (
                    _closed_form(pattern, {**row, variable: at + _step(at)}, name)
                    - _closed_form(pattern, {**row, variable: at - _step(at)}, name)
                )
                / (2.0 * _step(at))
                for variable, at in numbers.items()
            }
    return Slopes(values, found)


def _step(value: float) -> float:
    return SMALL * max(abs(value), 1.0)


def _closed_form(pattern: Pattern, row: Row, name: str) -> float:
    from fiddlehead.study.trials.size import sizes

    design = pattern.design(row)
    if name == "working_pressure_kpa":
        return 1e3 * design.working_pressure_mpa
    return sizes(design)[name]


def _bent(
    pattern: Pattern,
    row: Row,
    numbers: Mapping[str, float],
    quantities: Sequence[str],
    mesh: MeshSettings,
    values: dict[str, float],
    found: dict[str, dict[str, float]],
) -> str:
    """Fill in what bending gives; says why when the path ended early."""
    from fiddlehead.trials.sensitivity import bend_sensitivity

    design = pattern.design(row)
    design.finger.validate()
    told = bend_sensitivity(
        design.finger,
        design.law,
        design.bulk_modulus_mpa,
        [design.working_pressure_mpa],
        mesh_settings=mesh,
    )
    if not told.history.complete:
        return f"bend: {told.history.reason}"
    moves = {}
    for variable, at in numbers.items():
        up = pattern.design({**row, variable: at + _step(at)}).vector()
        down = pattern.design({**row, variable: at - _step(at)}).vector()
        moves[variable] = {
            name: (up[name] - down[name]) / (2.0 * _step(at))
            for name in told.parameters
            if up[name] != down[name]
        }
    for name in quantities:
        result, factor = ADJOINT[name]
        place = told.results.index(result)
        values[name] = factor * float(told.value[-1, place])
        by = dict(zip(told.parameters, told.derivative[-1, place], strict=True))
        found[name] = {
            variable: factor * float(sum(by[p] * share for p, share in move.items()))
            for variable, move in moves.items()
        }
    return ""

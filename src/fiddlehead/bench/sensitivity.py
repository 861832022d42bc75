"""How bending answers to the unknowns of a printed finger: curves and their slopes.

All slopes come from the adjoint state of one path (``trials.sensitivity``).
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from jaxtyping import Float

from fiddlehead.bench.records import CHORD, STIFFNESS, TIP_TANGENT
from fiddlehead.errors import ParameterError
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.material.laws.base import Energy
from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.trials.records import BendSensitivity
from fiddlehead.trials.sensitivity import bend_sensitivity

THICKNESSES: dict[str, tuple[str, ...]] = {
    "wall_thickness": (
        "wall_thickness_mm",
        "roof_thickness_mm",
        "side_wall_thickness_mm",
    ),
    "base_thickness": ("base_thickness_mm",),
}
"""Unknowns that are thicknesses, and the parameters that grow with them: printed walls come out
thick or thin together; the base counts alone."""


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class SensitiveCurves:
    """Bending curves of one finger and their slopes.

    slopes : unknown to angle definition to change per unit: per mm of a thickness, per unit
        factor of the stiffness
    """

    pressure_mpa: Float[np.ndarray, " step"]
    tip_angle_deg: Float[np.ndarray, " step"]
    chord_angle_deg: Float[np.ndarray, " step"]
    slopes: Mapping[str, Mapping[str, Float[np.ndarray, " step"]]]

    def curve(self, definition: str) -> Float[np.ndarray, " step"]:
        """The bending angle under one definition."""
        return self.tip_angle_deg if definition == TIP_TANGENT else self.chord_angle_deg


def sensitivities(
    finger: FingerParameters,
    law: Energy,
    bulk_modulus_mpa: float,
    pressures_mpa: Any,
    unknowns: Sequence[str],
    *,
    mesh_settings: MeshSettings | None = None,
) -> SensitiveCurves:
    """Free bending and its slopes with respect to ``unknowns``.

    Parameters
    ----------
    pressures_mpa : rising gauge pressures, zero left out
    unknowns : ``stiffness``, ``wall_thickness``, ``base_thickness``

    Raises
    ------
    ParameterError, MeshError : an unknown of no such name, a finger that makes no sense, or a
        path that ends before the last pressure
    """
    for name in unknowns:
        if name != STIFFNESS and name not in THICKNESSES:
            raise ParameterError(
                "no such unknown", found=repr(name), allowed=", ".join([STIFFNESS, *THICKNESSES])
            )
    found = bend_sensitivity(
        finger, law, bulk_modulus_mpa, pressures_mpa, mesh_settings=mesh_settings
    )
    if not found.history.complete:
        raise ParameterError(
            "the finger cannot be followed to the last pressure",
            found=f"ends at {1e3 * found.history.pressure_reached_mpa:.4g} kPa",
            remedy="Calibrate on a smaller range of pressures. " + found.history.reason,
        )
    return SensitiveCurves(
        pressure_mpa=found.pressure_mpa,
        tip_angle_deg=_continued(found, "tip_angle_deg"),
        chord_angle_deg=_continued(found, "chord_angle_deg"),
        slopes={
            unknown: {
                definition: _slope(found, result, unknown)
                for definition, result in (
                    (TIP_TANGENT, "tip_angle_deg"),
                    (CHORD, "chord_angle_deg"),
                )
            }
            for unknown in unknowns
        },
    )


def _continued(found: BendSensitivity, result: str) -> Float[np.ndarray, " step"]:
    """An angle over the steps, also beyond 180 degrees."""
    angle = found.value[:, found.results.index(result)]
    return np.degrees(np.unwrap(np.radians(angle)))


def _slope(found: BendSensitivity, result: str, unknown: str) -> Float[np.ndarray, " step"]:
    if unknown == STIFFNESS:
        # all moduli and the pressure times one factor change no shape
        return -found.pressure_mpa * found.of(result, "pressure_mpa")
    return np.sum([found.of(result, size) for size in THICKNESSES[unknown]], axis=0)


def thicker(finger: FingerParameters, unknown: str, by_mm: float) -> FingerParameters:
    """The finger with all walls of one unknown changed by ``by_mm``.

    Walls grow to both sides of their drawn middle only as far as the drawing allows: the outer
    shape stays, the cavity gives.

    Raises
    ------
    ParameterError : the walls leave no cavity
    """
    changed = {name: getattr(finger, name) + by_mm for name in THICKNESSES[unknown]}
    new = dataclasses.replace(finger, **changed)
    problems = new.problems()
    if problems:
        raise ParameterError(
            f"no such finger: {problems[0].message}",
            where=unknown,
            found=f"{by_mm:+.3g} mm",
            remedy="Narrow the prior of this unknown.",
        )
    return new

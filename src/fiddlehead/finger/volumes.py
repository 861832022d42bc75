"""Exact volumes, mass and centre of mass, from the profile's areas and their reach across."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from jaxtyping import Float

from fiddlehead.errors import ParameterError
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.finger.profile import ProfileLayout, profile_layout


def material_volume(layout: ProfileLayout, parameters: Any, xp: Any = np) -> Any:
    """Volume of the solid of the whole finger, mm³, the inlet counted as filled.

    Parameters
    ----------
    layout : the finger's layout
    parameters : anything with the attributes of ``FingerParameters``; numbers or JAX values
    xp : ``numpy`` or ``jax.numpy``
    """
    solid, _ = _half_widths(layout, parameters, xp)
    return 2 * xp.sum(_areas(layout, parameters, xp) * solid)


def cavity_volume(layout: ProfileLayout, parameters: Any, xp: Any = np) -> Any:
    """Volume of the cavity of the whole finger, mm³, without the inlet."""
    _, void = _half_widths(layout, parameters, xp)
    return 2 * xp.sum(_areas(layout, parameters, xp) * void)


def material_volume_mm3(parameters: FingerParameters) -> float:
    """Volume of the solid of the whole finger, mm³, the inlet counted as filled."""
    return float(material_volume(profile_layout(parameters), parameters))


def cavity_volume_mm3(parameters: FingerParameters) -> float:
    """Volume of the cavity of the whole finger, mm³, without the inlet."""
    return float(cavity_volume(profile_layout(parameters), parameters))


def inlet_volume_mm3(parameters: FingerParameters) -> float:
    """Volume of the bore through the root block, mm³."""
    return math.pi / 4 * parameters.inlet_bore_mm**2 * parameters.root_length_mm


def mass_g(parameters: FingerParameters, density_g_per_cm3: float) -> float:
    """Mass of the printed finger, g, the inlet bored.

    Raises
    ------
    ParameterError : the density is not a positive number
    """
    if not (math.isfinite(density_g_per_cm3) and density_g_per_cm3 > 0):
        raise ParameterError(
            "no such density",
            where="material.density_g_per_cm3",
            found=str(density_g_per_cm3),
            allowed="more than 0; printed elastomers lie near 1.2",
        )
    volume = material_volume_mm3(parameters) - inlet_volume_mm3(parameters)
    return volume * density_g_per_cm3 / 1000


def centroid_mm(parameters: FingerParameters) -> Float[np.ndarray, " 3"]:
    """Centre of mass of the printed finger, mm, the inlet bored; z = 0 by symmetry."""
    layout = profile_layout(parameters)
    solid, _ = _half_widths(layout, parameters, np)
    corner, following, cross = _edges(layout, parameters, np)
    moment = np.sum((corner + following) * cross[..., None], axis=1) / 6
    total = 2 * np.sum(moment * solid[:, None], axis=0)
    bore = inlet_volume_mm3(parameters)
    middle = np.array([parameters.root_length_mm / 2, parameters.inlet_height_mm])
    x, y = (total - bore * middle) / (material_volume_mm3(parameters) - bore)
    return np.array([x, y, 0.0])


def _edges(layout: ProfileLayout, parameters: Any, xp: Any) -> tuple[Any, Any, Any]:
    """Start, end and cross product ``x y' - x' y`` of the four edges of every region."""
    corners = np.array([region.corners for region in layout.regions])
    corner = layout.vertices(parameters, xp)[corners]
    following = xp.roll(corner, -1, axis=1)
    cross = corner[..., 0] * following[..., 1] - following[..., 0] * corner[..., 1]
    return corner, following, cross


def _areas(layout: ProfileLayout, parameters: Any, xp: Any) -> Any:
    """Area of every region, mm², by the shoelace formula."""
    return xp.sum(_edges(layout, parameters, xp)[2], axis=1) / 2


def _half_widths(layout: ProfileLayout, parameters: Any, xp: Any) -> tuple[Any, Any]:
    """How far each region is solid and how far it is void across the half width, mm."""
    stations = layout.width_stations(parameters, xp)
    opens_to = np.array([layout.void_intervals(region) for region in layout.regions])
    void = stations[opens_to]
    return stations[-1] - void, void

"""Filament: from the lines' cross-section to length, mass and cost.

Textbook relation: the volume of plastic is that of the filament, ``A_line L_line = pi d²/4 E``.
"""

from __future__ import annotations

import math

from fiddlehead.errors import ParameterError


def stadium_area_mm2(width_mm: float, height_mm: float) -> float:
    """Cross-section of a free line with round sides, ``(w - h) h + pi h²/4``.

    Raises
    ------
    ParameterError : a line narrower than high, or sizes that are not positive
    """
    if not (0 < height_mm <= width_mm):
        raise ParameterError(
            "a line lies flat: it is at least as wide as high",
            where="print.line_width_mm",
            found=f"{width_mm:g} mm wide, {height_mm:g} mm high",
            allowed="a width of at least the layer height",
        )
    return (width_mm - height_mm) * height_mm + math.pi * height_mm**2 / 4.0


def line_spacing_mm(width_mm: float, height_mm: float) -> float:
    """Distance at which stadium-shaped lines fill a layer: their area over the layer height."""
    return stadium_area_mm2(width_mm, height_mm) / height_mm


def filament_length_mm(volume_mm3: float, diameter_mm: float) -> float:
    """Length of filament with that volume, ``4 V / (pi d²)``."""
    return 4.0 * volume_mm3 / (math.pi * diameter_mm**2)

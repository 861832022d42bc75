"""How the finger will be printed, as far as its shape must respect it."""

from __future__ import annotations

import dataclasses
import math
from typing import Literal, get_args

from fiddlehead.errors import ParameterError

BuildOrientation = Literal["side", "upright", "base_down"]
"""``side``: lying on a side wall, the section in the plane of the layers. ``upright``: standing
on the root, tip up. ``base_down``: the gripping face on the plate."""


@dataclasses.dataclass(frozen=True, kw_only=True)
class PrintSettings:
    """Lines, layers and orientation. The limits are common practice for soft filament, without a
    source: change them to what your printer does."""

    line_width_mm: float = 0.4
    """Width of one extruded line."""
    layer_height_mm: float = 0.2
    """Height of one layer."""
    nozzle_diameter_mm: float = 0.4
    """Bore of the nozzle."""
    build_orientation: BuildOrientation = "side"
    """How the finger lies on the plate."""
    longest_bridge_mm: float = 8.0
    """Longest unsupported span that comes out tight."""
    steepest_overhang_deg: float = 45.0
    """Largest angle from the vertical that supports itself."""

    def __post_init__(self) -> None:
        if self.build_orientation not in get_args(BuildOrientation):
            raise ParameterError(
                "no such build orientation",
                where="print.build_orientation",
                found=repr(self.build_orientation),
                allowed=", ".join(get_args(BuildOrientation)),
            )
        for field in dataclasses.fields(self):
            value = getattr(self, field.name)
            if field.name == "build_orientation":
                continue
            if not isinstance(value, (int, float)) or not (math.isfinite(value) and value > 0):
                raise ParameterError(
                    "no such size",
                    where=f"print.{field.name}",
                    found=repr(value),
                    allowed="a number above 0",
                )

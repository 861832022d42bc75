"""The finger's walls as the printer sees them: so many lines wide or so many layers high."""

from __future__ import annotations

import dataclasses
import math
from typing import Literal

from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.finger.print_settings import PrintSettings


@dataclasses.dataclass(frozen=True)
class Wall:
    """One wall that separates air from the outside."""

    field: str
    """Parameter that sets its thickness."""
    label: str
    thickness_mm: float
    """Thickness normal to the wall."""
    unit: Literal["line", "layer"]
    """What it is built from in this orientation."""
    unit_mm: float
    slant: float
    """Printed thickness over true thickness: above 1 where the wall leans against the layers."""

    @property
    def printed_mm(self) -> float:
        """Thickness in the plane of the layers, or height in layers."""
        return self.thickness_mm * self.slant

    @property
    def scale(self) -> float:
        """True thickness of one line or layer."""
        return self.unit_mm / self.slant


def printed_walls(p: FingerParameters, s: PrintSettings) -> list[Wall]:
    """Every pressure wall in the chosen build orientation.

    A wall across the build direction consists of layers, every other wall of lines; a leaning
    wall is cut obliquely by the layers and shows wider by one over the sine of its slope.
    """
    lean = math.radians(p.flank_angle_deg)
    up = {"side": 2, "upright": 0, "base_down": 1}[s.build_orientation]
    walls = [
        (
            "wall_thickness_mm",
            "the flank",
            p.wall_thickness_mm,
            (math.sin(lean), math.cos(lean), 0),
        ),
        ("roof_thickness_mm", "the roof", p.roof_thickness_mm, (0, 1, 0)),
        ("base_thickness_mm", "the base", p.base_thickness_mm, (0, 1, 0)),
        ("side_wall_thickness_mm", "the side wall", p.side_wall_thickness_mm, (0, 0, 1)),
    ]
    found = []
    for field, label, thickness, normal in walls:
        slope = math.sqrt(max(1 - normal[up] ** 2, 0.0))
        flat = slope < 1e-6
        found.append(
            Wall(
                field=field,
                label=label,
                thickness_mm=thickness,
                unit="layer" if flat else "line",
                unit_mm=s.layer_height_mm if flat else s.line_width_mm,
                slant=1.0 if flat else 1 / slope,
            )
        )
    return found

"""The numbers that define a contact pad."""

from __future__ import annotations

import dataclasses
from typing import Any, Literal

CellKind = Literal["none", "solid", "hexagonal", "re-entrant", "rotating squares"]
LATTICES = ("hexagonal", "re-entrant", "rotating squares")
"""Kinds of cells with voids."""


@dataclasses.dataclass(frozen=True, kw_only=True)
class PadParameters:
    """A pad printed in one go with the finger, over its whole width.

    From the base layer, which is its back skin, down to the object: ribs; a middle skin if cells
    follow; cells; the contact skin. End walls close it at the root block and at the tip. Lengths
    in mm, angles in degrees.
    """

    rib_count: int = 0
    """Number of ribs; 0 for none."""
    rib_angle_deg: float = 60.0
    """Angle between a rib and the skins: 90 is upright, below 90 leans to the tip on its way to
    the contact skin, above 90 to the root."""
    rib_thickness_mm: float = 0.8
    """Thickness of a rib, measured normal to it."""
    rib_depth_mm: float = 5.0
    """Clear depth between the skins that the ribs span."""
    cells: CellKind = "none"
    """Kind of the layer on the contact side; ``solid`` fills the cells' place."""
    cell_count: int = 8
    """Cells along the pad; for rotating squares the number of squares."""
    cell_rows: int = 1
    """Rows of cells through the layer's depth."""
    cell_angle_deg: float = 25.0
    """Re-entrant and hexagonal: angle between a slanted strut and the finger's axis, inwards or
    outwards. Rotating squares: opening angle between neighbouring squares."""
    cell_depth_mm: float = 6.0
    """Clear depth of the layer of cells."""
    strut_thickness_mm: float = 0.8
    """Thickness of the cells' struts; for rotating squares the width of the necks that join
    them."""
    skin_thickness_mm: float = 0.8
    """Thickness of the contact skin, and of the middle skin where there is one."""
    end_wall_thickness_mm: float = 0.8
    """Thickness of the two walls that close the pad at its ends."""

    @property
    def has_ribs(self) -> bool:
        """Whether there are ribs."""
        return self.rib_count > 0

    @property
    def has_lattice(self) -> bool:
        """Whether there are cells with voids."""
        return self.cells in LATTICES

    @property
    def depth_mm(self) -> float:
        """Depth of the whole pad under the base layer."""
        return float(pad_depth(self, self.has_ribs, self.cells))

    def sizes(self) -> dict[str, float]:
        """The continuous parameters this pad makes use of, by name with ``pad_`` in front."""
        return {f"pad_{name}": float(getattr(self, name)) for name in used_sizes(self)}


SKIN = ("skin_thickness_mm",)
RIBS = ("rib_angle_deg", "rib_thickness_mm", "rib_depth_mm")
CELLS = ("cell_angle_deg", "cell_depth_mm", "strut_thickness_mm")
WALLS = ("end_wall_thickness_mm",)


def used_sizes(pad: Any) -> tuple[str, ...]:
    """Names of the continuous parameters that a pad with these counts and kinds makes use of.

    Parameters
    ----------
    pad : anything with ``rib_count`` and ``cells``
    """
    lattice = pad.cells in LATTICES
    return (
        *SKIN,
        *(RIBS if pad.rib_count else ()),
        *(CELLS if lattice else ("cell_depth_mm",) if pad.cells == "solid" else ()),
        *(WALLS if pad.rib_count or lattice else ()),
    )


def pad_depth(sizes: Any, ribs: bool, cells: CellKind) -> Any:
    """Depth of the whole pad, mm, from its sizes (numbers or JAX values)."""
    depth = sizes.skin_thickness_mm
    if ribs:
        depth = depth + sizes.rib_depth_mm
    if cells != "none":
        depth = depth + sizes.cell_depth_mm
    if ribs and cells != "none":
        depth = depth + sizes.skin_thickness_mm
    return depth

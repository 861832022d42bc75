"""The ``[pad]`` section; names as in ``finger.pad.PadParameters``."""

from __future__ import annotations

from fiddlehead.finger.pad.parameters import CellKind, PadParameters
from fiddlehead.project.fields import COMMON, DEMO, Section, entry


class PadSection(Section):
    """The contact pad on the gripping face; leave the section out for a bare finger."""

    rib_count: int = entry(
        PadParameters.rib_count,
        says="Number of compliant ribs between the base layer and the skin; 0 for none.",
        standing=DEMO,
        usual=(0, 10),
        ge=0,
        le=60,
    )
    rib_angle_deg: float = entry(
        PadParameters.rib_angle_deg,
        says="Angle between ribs and skins; 90 upright, less leans to the tip, more to the root.",
        standing=COMMON,
        usual=(30.0, 150.0),
        ge=20,
        le=160,
    )
    rib_thickness_mm: float = entry(
        PadParameters.rib_thickness_mm,
        says="Thickness of a rib; best a whole number of lines.",
        standing=COMMON,
        usual=(0.8, 1.6),
        gt=0,
        le=10,
    )
    rib_depth_mm: float = entry(
        PadParameters.rib_depth_mm,
        says="Clear depth that the ribs span.",
        standing=DEMO,
        usual=(2.0, 15.0),
        gt=0,
        le=60,
    )
    cells: CellKind = entry(
        "solid",
        says="Layer on the contact side: cells of one kind, or a plain layer to compare with.",
        standing=DEMO,
    )
    cell_count: int = entry(
        PadParameters.cell_count,
        says="Cells along the pad; for rotating squares the number of squares.",
        standing=DEMO,
        usual=(3, 24),
        ge=1,
        le=60,
    )
    cell_rows: int = entry(
        PadParameters.cell_rows,
        says="Rows of cells through the depth.",
        standing=DEMO,
        usual=(1, 3),
        ge=1,
        le=8,
    )
    cell_angle_deg: float = entry(
        PadParameters.cell_angle_deg,
        says="Re-entrant (or hexagonal) angle of the slanted struts; opening angle of squares.",
        standing=COMMON,
        usual=(10.0, 60.0),
        ge=5,
        le=85,
    )
    cell_depth_mm: float = entry(
        PadParameters.cell_depth_mm,
        says="Clear depth of the layer of cells.",
        standing=DEMO,
        usual=(0.8, 15.0),
        gt=0,
        le=60,
    )
    strut_thickness_mm: float = entry(
        PadParameters.strut_thickness_mm,
        says="Thickness of the cells' struts (necks of squares); best a whole number of lines.",
        standing=COMMON,
        usual=(0.4, 1.6),
        gt=0,
        le=10,
    )
    skin_thickness_mm: float = entry(
        PadParameters.skin_thickness_mm,
        says="Thickness of the contact skin, and of the skin between ribs and cells.",
        standing=COMMON,
        usual=(0.8, 1.6),
        gt=0,
        le=10,
    )
    end_wall_thickness_mm: float = entry(
        PadParameters.end_wall_thickness_mm,
        says="Thickness of the walls that close ribs and cells at both ends.",
        standing=COMMON,
        usual=(0.4, 1.6),
        gt=0,
        le=10,
    )

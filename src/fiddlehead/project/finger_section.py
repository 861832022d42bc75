"""The ``[finger]`` section; names as in ``finger.FingerParameters``."""

from __future__ import annotations

from fiddlehead.project.fields import COMMON, DEMO, Section, entry, published

BELLOWS_RANGE = "9, 11 and 13 bellows tested at 1 to 3 bar, doi:10.51393/j.jamst.2026004 (abstract)"
WALL_RANGE = "walls of 1.6, 2.0 and 2.4 mm tested, doi:10.51393/j.jamst.2026004 (abstract)"


class FingerSection(Section):
    """The bellows finger."""

    bellows_count: int = entry(
        7,
        says="Number of bellows.",
        standing=DEMO,
        usual=(3, 13),
        usual_standing=published(BELLOWS_RANGE),
        ge=1,
        le=40,
    )
    flank_angle_deg: float = entry(
        70.0,
        says="Angle between a flank and the finger axis; 90 is straight-sided, less is zig-zag.",
        standing=DEMO,
        usual=(40.0, 90.0),
        ge=20,
        le=90,
    )
    pitch_mm: float = entry(
        11.0,
        says="Distance from one bellows to the next.",
        standing=DEMO,
        usual=(4.0, 25.0),
        gt=0,
        le=100,
    )
    valley_gap_mm: float = entry(
        1.6,
        says="Outer gap between neighbouring bellows at the valley bottom.",
        standing=COMMON,
        usual=(0.6, 5.0),
        gt=0,
        le=50,
    )
    height_mm: float = entry(
        18.0,
        says="Outer height over the peaks, base layer included.",
        standing=DEMO,
        usual=(8.0, 35.0),
        gt=0,
        le=200,
    )
    valley_height_mm: float = entry(
        8.0,
        says="Outer height in the valleys and at the tip.",
        standing=DEMO,
        usual=(3.0, 20.0),
        gt=0,
        le=200,
    )
    wall_thickness_mm: float = entry(
        1.2,
        says="Thickness of the flanks, measured square to them; best a whole number of lines.",
        standing=COMMON,
        usual=(0.8, 2.4),
        usual_standing=published(WALL_RANGE) + "; thinner is common practice, no source",
        gt=0,
        le=20,
    )
    roof_thickness_mm: float = entry(
        1.2,
        says="Thickness of the flats at peaks and valleys.",
        standing=COMMON,
        usual=(0.8, 3.0),
        gt=0,
        le=20,
    )
    base_thickness_mm: float = entry(
        2.0,
        says="Thickness of the strain-limiting base layer; 1.5 to 2.5 walls.",
        standing=COMMON,
        usual=(0.8, 6.0),
        gt=0,
        le=40,
    )
    side_wall_thickness_mm: float = entry(
        1.2,
        says="Thickness of each side wall.",
        standing=COMMON,
        usual=(0.8, 3.0),
        gt=0,
        le=20,
    )
    width_mm: float = entry(
        20.0, says="Outer width.", standing=COMMON, usual=(10.0, 40.0), gt=0, le=200
    )
    channel_width_mm: float | None = entry(
        None,
        says="Width of the channel joining the chambers; left out = as wide as the chambers.",
        example="8.0",
        gt=0,
        le=200,
    )
    root_length_mm: float = entry(
        10.0,
        says="Length of the solid root block that is clamped.",
        standing=DEMO,
        usual=(4.0, 40.0),
        gt=0,
        le=200,
    )
    tip_length_mm: float = entry(
        5.0,
        says="Length of the tip block beyond the last flank.",
        standing=DEMO,
        usual=(1.0, 20.0),
        gt=0,
        le=100,
    )
    inlet_bore_mm: float = entry(
        4.0,
        says="Diameter of the air inlet through the root; 0 for none. Counts for the mass only.",
        standing=COMMON,
        usual=(2.0, 8.0),
        ge=0,
        le=50,
    )

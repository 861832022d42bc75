"""The ``[print]``, ``[loads]``, ``[mesh]`` and ``[tests]`` sections."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from fiddlehead.finger.print_settings import PrintSettings
from fiddlehead.project.fields import COMMON, DEMO, Section, entry, published

REACH = 0.65
"""Share of the finger's length at which an object touches when nothing is said."""


class PrintSection(Section):
    """How the finger will be printed; the check warns where the design does not suit it."""

    line_width_mm: float = entry(
        PrintSettings.line_width_mm,
        says="Width of one extruded line; walls are best whole numbers of it.",
        standing=COMMON,
        usual=(0.3, 0.8),
        gt=0,
        le=3,
    )
    layer_height_mm: float = entry(
        PrintSettings.layer_height_mm,
        says="Height of one layer; thinner layers seal better and take longer.",
        standing=COMMON,
        usual=(0.06, 0.4),
        gt=0,
        le=2,
    )
    nozzle_diameter_mm: float = entry(
        PrintSettings.nozzle_diameter_mm,
        says="Bore of the nozzle.",
        standing=COMMON,
        usual=(0.25, 0.8),
        gt=0,
        le=3,
    )
    build_orientation: Literal["side", "upright", "base_down"] = entry(
        PrintSettings.build_orientation,
        says="Lying on a side wall, standing on the root, or gripping face on the plate.",
        standing=COMMON,
    )
    longest_bridge_mm: float = entry(
        PrintSettings.longest_bridge_mm,
        says="Longest unsupported span your printer closes tight.",
        standing=COMMON,
        usual=(3.0, 15.0),
        gt=0,
        le=100,
    )
    steepest_overhang_deg: float = entry(
        PrintSettings.steepest_overhang_deg,
        says="Largest angle from the vertical that supports itself.",
        standing=COMMON,
        usual=(30.0, 60.0),
        gt=0,
        lt=90,
    )


class LoadsSection(Section):
    """Air pressure and the strain you allow."""

    working_pressure_kpa: float = entry(
        150.0,
        says="Gauge pressure at full work.",
        standing=published("1 to 3 bar, doi:10.51393/j.jamst.2026004 (abstract)"),
        usual=(20.0, 350.0),
        gt=0,
        le=1000,
    )
    pressure_steps: int = entry(
        10, says="Equal steps from zero to the working pressure.", ge=1, le=200
    )
    strain_limit_percent: float = entry(
        30.0,
        says="Largest principal (log) strain allowed in the layer plane, for more than 1e4 cycles.",
        standing="our proposal; calibrate on your own life tests",
        usual=(5.0, 100.0),
        gt=0,
        le=300,
    )
    strain_limit_across_layers_percent: float = entry(
        20.0,
        says="Largest log strain allowed across layer lines, where delamination starts.",
        standing="our proposal; calibrate on your own life tests",
        usual=(2.0, 60.0),
        gt=0,
        le=300,
    )


def _divisions(says: str) -> Any:
    return entry(None, says=says, example="# 2", ge=1, le=64)


class MeshSection(Section):
    """How finely the finger is divided: a named mesh, and single numbers on top of it."""

    preset: Literal["draft", "preview", "standard", "fine"] = entry(
        "standard",
        says="For many designs, for a first look, the default, or twice as fine along every edge.",
    )
    columns_root: int | None = _divisions("Elements along the root block.")
    columns_land: int | None = _divisions("Elements along each bellows' peak.")
    columns_valley: int | None = _divisions("Elements along each valley.")
    columns_tip: int | None = _divisions("Elements along the tip block.")
    rows_pad: int | None = _divisions("Elements through a plain pad.")
    columns_pad: int | None = _divisions("Elements across each rib and half strut of a pad.")
    rows_skin: int | None = _divisions("Elements through the skins of a pad.")
    rows_strut: int | None = _divisions("Elements along each rib and strut of a pad.")
    rows_base: int | None = _divisions("Elements through the base.")
    rows_channel: int | None = _divisions("Elements over the height of the channel.")
    rows_flank: int | None = _divisions("Elements along each flank.")
    rows_wall: int | None = _divisions("Elements through flanks and roofs.")
    layers_channel: int | None = _divisions("Layers from the mid-plane to the channel's side.")
    layers_chamber: int | None = _divisions("Layers from there to the side wall.")
    layers_side_wall: int | None = _divisions("Layers through the side wall.")


class BendSection(Section):
    """Free bending under rising pressure."""

    bending_angle: Literal["tip tangent", "chord"] = entry(
        "tip tangent",
        says="Which bending angle heads the report; the chord angle is about half of it.",
    )


Angle = Annotated[float, Field(ge=0, le=180)]
Angles = Annotated[tuple[Angle, ...], Field(strict=False, min_length=1)]


class BlockSection(Section):
    """Blocked force: the tip against a fixed frictionless plate under rising pressure."""

    preset_angles_deg: Angles = entry(
        (0.0,),
        words="a list of angles, 0 to 180°",
        says="Tip angles at which the plate meets the finger; 0 is the straight finger.",
    )
    tip_hold: Literal["plate", "held"] = entry(
        "plate",
        says="A smooth plate on which the tip may slide and turn, or an end face held across.",
    )
    contact_length_mm: float | None = entry(
        None,
        says="How far from the tip the plate reaches; left out = the tip block.",
        example="# 5.0",
        gt=0,
        le=300,
    )


Names = Annotated[tuple[str, ...], Field(strict=False, min_length=1)]


class PressSection(Section):
    """Pressing on objects of the library that do not move."""

    objects: Names = entry(
        ("bowl", "bottle", "tile edge"),
        words="names from the object library",
        says="What the finger presses on, one after the other.",
        standing=DEMO,
    )
    library: str | None = entry(
        None,
        words="path of a TOML file, from this folder",
        says="Your object library; left out = the demo's pieces of unfired ware.",
        example='# "objects.toml"',
    )
    orientation: Literal["upright", "across", "facing"] = entry(
        "upright",
        says="Where the object's z axis points: to the root, across the width, or to the finger.",
    )
    touch_at_percent: float = entry(
        100 * REACH,
        says="Where along the finger the object stands nearest; share of its length.",
        usual=(30.0, 90.0),
        gt=0,
        le=100,
    )
    clearance_mm: float = entry(
        0.0, says="How far the object stands from the straight finger.", ge=0, le=100
    )
    contact_threshold_kpa: float = entry(
        1.0,
        says="Contact pressure from which area counts as touching.",
        standing=COMMON,
        usual=(0.2, 5.0),
        gt=0,
        le=100,
    )


class TestsSection(Section):
    """The simulated tests."""

    __test__ = False  # not a pytest class

    bend: BendSection = BendSection()
    block: BlockSection = BlockSection()
    press: PressSection = PressSection()

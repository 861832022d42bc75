"""The ``[mount]``, ``[printer]`` and ``[base]`` sections: held, fed, marked, printed, carried."""

from __future__ import annotations

from typing import Literal

from fiddlehead.fabricate.base import BaseParameters
from fiddlehead.fabricate.fittings import Fittings
from fiddlehead.fabricate.process import Process
from fiddlehead.project.fields import COMMON, MEMORY, Section, entry

DEFAULT = Fittings()


class MountSection(Section):
    """How the printed finger is mounted, fed with air and marked."""

    mount: Literal["dovetail", "plain"] = entry(
        "dovetail", says="A rail that slides into the base, or a plain root block to clamp."
    )
    port: Literal["bore", "barb", "thread", "none"] = entry(
        "bore",
        says="Inlet flush for the base's O-ring, printed hose barb, hole for a screwed fitting, "
        "or none.",
    )
    dovetail_neck_width_mm: float | None = entry(
        None,
        says="Width of the rail at its neck; left out = half the root's height.",
        example="# 8.0",
        gt=0,
        le=100,
    )
    dovetail_depth_mm: float | None = entry(
        None,
        says="How far the rail stands out; left out = a fifth of the height, 4 mm at most.",
        example="# 3.5",
        gt=0,
        le=30,
    )
    locking_pin_mm: float | None = entry(
        None,
        says="Diameter of the locking pin; 0 for none; left out = 3 mm where there is room.",
        example="# 3.0",
        ge=0,
        le=10,
    )
    hose_bore_mm: float = entry(
        DEFAULT.hose_bore_mm, says="Inner diameter of the hose a barb carries.", gt=0, le=30
    )
    barb_on: Literal["side", "root face"] = entry(
        DEFAULT.barb_on,
        says="Barb on the side of the root block (no support when printed on the other side), or "
        "on its root face.",
    )
    thread: Literal["M5", "M6", "G1/8", "G1/4"] = entry(
        "M5", says="Thread of the screwed fitting.", standing=MEMORY
    )
    thread_form: Literal["tapped", "self-forming"] = entry(
        DEFAULT.thread_form,
        says="Hole of the size for a tap, or narrower: the fitting presses its thread into "
        "elastomer.",
        standing=COMMON,
    )
    fillet_radius_mm: float = entry(
        DEFAULT.fillet_radius_mm,
        says="Radius of the section's inner corners; 0 for sharp ones.",
        standing=COMMON,
        usual=(0.0, 2.0),
        ge=0,
        le=10,
    )
    serial: str = entry("", says="Engraved into the back of the root block.")


MACHINE = Process()


class PrinterSection(Section):
    """The printer's room and motion, the filament, and what you ask of walls that hold air."""

    plate_width_mm: float = entry(
        MACHINE.plate_width_mm, says="Width of the printing plate.", standing=COMMON, gt=0, le=2000
    )
    plate_depth_mm: float = entry(
        MACHINE.plate_depth_mm, says="Depth of the printing plate.", standing=COMMON, gt=0, le=2000
    )
    print_height_mm: float = entry(
        MACHINE.print_height_mm, says="Greatest height of a print.", standing=COMMON, gt=0, le=2000
    )
    wall_speed_mm_per_s: float = entry(
        MACHINE.wall_speed_mm_per_s,
        says="Speed along walls; soft filament wants it slow.",
        standing=COMMON,
        usual=(10.0, 40.0),
        gt=0,
        le=500,
    )
    travel_speed_mm_per_s: float = entry(
        MACHINE.travel_speed_mm_per_s,
        says="Speed between lines.",
        standing=COMMON,
        usual=(50.0, 300.0),
        gt=0,
        le=1000,
    )
    acceleration_mm_per_s2: float = entry(
        MACHINE.acceleration_mm_per_s2,
        says="Acceleration along walls.",
        standing=COMMON,
        usual=(100.0, 5000.0),
        gt=0,
        le=50000,
    )
    filament_diameter_mm: float = entry(
        MACHINE.filament_diameter_mm,
        says="Diameter of the filament.",
        standing=COMMON,
        usual=(1.7, 2.9),
        gt=0,
        le=5,
    )
    flow_percent: float = entry(
        100.0 * MACHINE.flow,
        says="Extruded over nominal volume; somewhat above 100 closes walls.",
        standing=COMMON,
        usual=(95.0, 115.0),
        gt=0,
        le=200,
    )
    price_per_kg: float = entry(
        MACHINE.price_per_kg, says="Price of the filament, in your currency.", ge=0, le=10000
    )
    least_pressure_lines: int = entry(
        MACHINE.least_pressure_lines,
        says="Lines a wall that holds air must have.",
        standing=COMMON,
        usual=(2, 6),
        ge=1,
        le=20,
    )
    least_pressure_layers: int = entry(
        MACHINE.least_pressure_layers,
        says="Solid layers a roof or floor that holds air must have.",
        standing=COMMON,
        usual=(3, 10),
        ge=1,
        le=40,
    )


BASE = BaseParameters()


class BaseSection(Section):
    """The base that carries the fingers; how many there are is said in [air]."""

    pattern: Literal["six", "free"] = entry(
        BASE.pattern, says="Six slots, the unused ones blanked, or as many slots as fingers."
    )
    pitch_radius_mm: float = entry(
        BASE.pitch_radius_mm,
        says="From the axis to the gripping faces at the root; about the object's radius.",
        standing=COMMON,
        usual=(20.0, 80.0),
        ge=1,
        le=300,
    )
    splay_deg: float = entry(
        BASE.splay_deg,
        says="How far the fingers lean outwards.",
        standing=COMMON,
        usual=(0.0, 15.0),
        ge=0,
        le=30,
    )
    air: Literal["manifold", "separate"] = entry(
        BASE.air, says="One feed that serves all slots, or a port in the rim for each."
    )
    flange: Literal[
        "31.5-4-M5", "40-4-M6", "50-4-M6", "63-4-M6", "80-6-M8", "100-6-M8", "125-6-M10"
    ] = entry(BASE.flange, says="Wrist flange after ISO 9409-1.", standing=MEMORY)
    feed_thread: Literal["M5", "M6", "G1/8", "G1/4"] = entry(
        BASE.feed_thread, says="Thread of the manifold's feed.", standing=MEMORY
    )
    port_thread: Literal["M5", "M6", "G1/8", "G1/4"] = entry(
        BASE.port_thread, says="Thread of separate ports.", standing=MEMORY
    )
    channel_mm: float = entry(
        BASE.channel_mm,
        says="Width of the air channels.",
        standing=COMMON,
        usual=(2.0, 5.0),
        ge=1,
        le=10,
    )
    play_mm: float = entry(
        BASE.play_mm,
        says="Room around the sliding rail; try it on your printer.",
        standing=COMMON,
        usual=(0.05, 0.4),
        ge=0,
        le=1,
    )

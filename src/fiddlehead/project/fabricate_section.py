"""The ``[mount]`` section: how a finger is held, fed and marked."""

from __future__ import annotations

from typing import Literal

from fiddlehead.fabricate.fittings import Fittings
from fiddlehead.project.fields import COMMON, MEMORY, Section, entry

DEFAULT = Fittings()


class MountSection(Section):
    """How the printed finger is mounted, fed with air and marked."""

    mount: Literal["dovetail", "plain"] = entry(
        "dovetail", says="A rail that slides into the base, or a plain root block to clamp."
    )
    port: Literal["bore", "barb", "thread", "none"] = entry(
        "bore",
        says="Inlet flush for the base's O-ring, printed hose barb, bore for a thread, or none.",
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
    thread: Literal["M5", "M6", "G1/8", "G1/4"] = entry(
        "M5", says="Thread to be tapped into the port.", standing=MEMORY
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

"""The base that carries the fingers: how they stand around the axis, and whether that fits.

Axes of the gripper: z along its axis to the wrist, fingers below z = 0. A finger's gripping face
looks at the axis from ``pitch_radius_mm``; splay tilts its tip outwards.
"""

from __future__ import annotations

import dataclasses
import math
from typing import Literal, get_args

import numpy as np
from jaxtyping import Float

from fiddlehead.errors import ParameterError
from fiddlehead.fabricate.fittings import Dovetail, Fittings, rail_height_mm
from fiddlehead.fabricate.flange import FLANGES, SCREWS, Flange, flange
from fiddlehead.fabricate.threads import THREADS
from fiddlehead.finger.parameters import FingerParameters

Pattern = Literal["free", "six"]
Air = Literal["manifold", "separate"]

SIX_SLOTS: dict[int, tuple[int, ...]] = {
    2: (0, 3),
    3: (0, 2, 4),
    4: (0, 1, 3, 4),
    5: (0, 1, 2, 3, 4),
    6: (0, 1, 2, 3, 4, 5),
}
"""Which of six slots carry fingers; the others are blanked."""
WALL_MM = 3.0
"""Least material between cuts in the base; chosen by us."""
SEAL_MM = 4.0
"""Material above a slot's floor: the O-ring's groove and as much again; chosen by us."""
CORD_MM, GROOVE_DEPTH_MM, GROOVE_WIDTH_MM = 1.5, 1.1, 2.0
"""O-ring cord and its face groove: about a quarter squeezed; common practice, no source."""
CLAMP_MM = 10.0
"""Material under a screw's head; chosen by us."""
RIM_MM = 3.0


@dataclasses.dataclass(frozen=True, kw_only=True)
class BaseParameters:
    """A modular base. Angles in degrees."""

    fingers: int = 3
    pattern: Pattern = "six"
    """``six``: six slots, unused ones blanked. ``free``: as many slots as fingers."""
    pitch_radius_mm: float = 35.0
    splay_deg: float = 0.0
    air: Air = "manifold"
    """``manifold``: one feed in the rim serves all. ``separate``: a port in the rim per slot."""
    flange: str = "50-4-M6"
    feed_thread: str = "M5"
    port_thread: str = "M5"
    channel_mm: float = 3.0
    play_mm: float = 0.15
    """Room around the rail; a sliding fit, common practice, no source: try it on your printer."""

    @property
    def slots(self) -> int:
        """Number of slots."""
        return 6 if self.pattern == "six" else self.fingers

    @property
    def used(self) -> tuple[int, ...]:
        """Numbers of the slots that carry fingers."""
        return SIX_SLOTS[self.fingers] if self.pattern == "six" else tuple(range(self.fingers))

    def angles_rad(self) -> Float[np.ndarray, " slot"]:
        """Direction of every slot around the axis."""
        return 2.0 * np.pi * np.arange(self.slots) / self.slots


@dataclasses.dataclass(frozen=True, eq=False)
class BaseLayout:
    """Sizes of a base that follow from the finger and its parameters, mm.

    screws_rad : where the wrist's screws are, turned away from the channels
    """

    parameters: BaseParameters
    finger: FingerParameters
    rail: Dovetail
    interface: Flange
    radius: float
    slot_top: float
    channel_height: float
    thickness: float
    screws_rad: Float[np.ndarray, " screw"]

    @property
    def seat_mm(self) -> float:
        """y of the rail's middle on the finger."""
        return rail_height_mm(self.finger)

    def place(self, slot: int) -> Float[np.ndarray, "3 4"]:
        """Rotation and shift from the finger's axes to the gripper's."""
        angle = self.parameters.angles_rad()[slot]
        splay = math.radians(self.parameters.splay_deg)
        radial = np.array([math.cos(angle), math.sin(angle), 0.0])
        tangent = np.array([-math.sin(angle), math.cos(angle), 0.0])
        up = np.array([0.0, 0.0, 1.0])
        along = -math.cos(splay) * up + math.sin(splay) * radial
        outward = math.cos(splay) * radial + math.sin(splay) * up
        origin = self.parameters.pitch_radius_mm * radial
        return np.column_stack([along, outward, -tangent, origin])

    @property
    def feed_rad(self) -> float:
        """Direction of a manifold's feed: between the first two slots."""
        return math.pi / self.parameters.slots


def base_layout(
    parameters: BaseParameters, finger: FingerParameters, fittings: Fittings
) -> BaseLayout:
    """Work out a base.

    Raises
    ------
    ParameterError : finger and slot do not match, or something runs into something else
    """
    _check_values(parameters)
    _check_match(finger, fittings)
    p, rail = parameters, fittings.dovetail
    interface = flange(p.flange)
    splay = math.radians(p.splay_deg)
    seat = rail_height_mm(finger)
    reach = rail.head_width_mm / 2 + p.play_mm
    slot_top = (rail.depth_mm + p.play_mm) * math.cos(splay) + (seat + reach) * math.sin(splay)
    port = THREADS[p.feed_thread if p.air == "manifold" else p.port_thread].tap_drill_mm
    channel = max(slot_top + SEAL_MM + p.channel_mm / 2, slot_top + 2.0 + port / 2)
    thickness = channel + max(port / 2 + 2.5, p.channel_mm + 2.5)
    back = p.pitch_radius_mm + finger.height_mm * math.cos(splay) + RIM_MM
    radius = max(math.hypot(back, finger.width_mm / 2 + RIM_MM), interface.outer / 2)
    layout = BaseLayout(
        parameters=p,
        finger=finger,
        rail=rail,
        interface=interface,
        radius=math.ceil(radius),
        slot_top=slot_top,
        channel_height=channel,
        thickness=max(math.ceil(2 * thickness) / 2, CLAMP_MM + 2.0),
        screws_rad=_screw_directions(p, interface),
    )
    _check_room(layout)
    return layout


def _wrong(field: str, message: str, found: str, allowed: str, remedy: str) -> ParameterError:
    return ParameterError(
        message, where=f"base.{field}", found=found, allowed=allowed, remedy=remedy
    )


def _check_values(p: BaseParameters) -> None:
    choices = {
        "pattern": get_args(Pattern),
        "air": get_args(Air),
        "flange": tuple(FLANGES),
        "feed_thread": tuple(THREADS),
        "port_thread": tuple(THREADS),
    }
    for field, allowed in choices.items():
        if getattr(p, field) not in allowed:
            raise _wrong(
                field, "no such choice", repr(getattr(p, field)), ", ".join(allowed), "Choose."
            )
    if p.fingers not in SIX_SLOTS:
        raise _wrong(
            "fingers",
            "a base carries two to six fingers",
            str(p.fingers),
            "2 to 6",
            "Change air.fingers in the project file.",
        )
    limits = {
        "pitch_radius_mm": (1.0, 300.0),
        "splay_deg": (0.0, 30.0),
        "channel_mm": (1.0, 10.0),
        "play_mm": (0.0, 1.0),
    }
    for field, (low, high) in limits.items():
        value = getattr(p, field)
        if not (math.isfinite(value) and low <= value <= high):
            raise _wrong(field, "no such size", f"{value:g}", f"{low:g} to {high:g}", "Change it.")


def _check_match(finger: FingerParameters, fittings: Fittings) -> None:
    fittings.validate(finger)
    if fittings.mount != "dovetail":
        raise _wrong(
            "pattern",
            "the finger has no rail that fits a slot",
            f"mount.mount = {fittings.mount}",
            "dovetail",
            "Give the finger a dovetail, or clamp it without this base.",
        )
    if fittings.port != "bore" or finger.inlet_bore_mm == 0:
        raise _wrong(
            "air",
            "the finger cannot be fed through the slot",
            f"mount.port = {fittings.port}",
            "bore",
            "Give the finger an inlet that ends flush at its rail.",
        )
    groove = finger.inlet_bore_mm + 2.0 + 2.0 * GROOVE_WIDTH_MM
    face = min(fittings.dovetail.head_width_mm, finger.width_mm)
    if groove + 1.0 > face:
        raise _wrong(
            "air",
            "the O-ring around the inlet is larger than the rail's face",
            f"{groove:.3g} mm across",
            f"{face - 1.0:.3g} mm or less",
            "Widen the rail or narrow the inlet.",
        )


def _screw_directions(p: BaseParameters, interface: Flange) -> Float[np.ndarray, " screw"]:
    """Screws turned so that the nearest channel is as far away as can be."""
    channels = p.angles_rad()
    if p.air == "manifold":
        channels = np.append(channels, math.pi / p.slots)
    pitch = 2.0 * np.pi / interface.screws
    screws = pitch * np.arange(interface.screws)
    turns = np.linspace(0.0, pitch, 73)

    def nearest(turn: float) -> float:
        apart = np.angle(np.exp(1j * (screws[:, None] + turn - channels)))
        return float(np.abs(apart).min())

    return screws + max(turns, key=nearest)


def _check_room(layout: BaseLayout) -> None:
    p, finger = layout.parameters, layout.finger
    half = math.pi / p.slots
    inner = p.pitch_radius_mm + layout.seat_mm - layout.rail.head_width_mm / 2
    needed = finger.width_mm / 2 + WALL_MM
    if p.slots > 2 and inner * math.tan(half) < needed:
        least = needed / math.tan(half) - inner + p.pitch_radius_mm
        raise _wrong(
            "pitch_radius_mm",
            "neighbouring slots run into each other",
            f"{p.pitch_radius_mm:g} mm with {p.slots} slots",
            f"{math.ceil(least * 10) / 10:g} mm or more",
            "Enlarge the pitch radius, or take fewer slots or narrower fingers.",
        )
    if p.slots > 2 and 2 * p.pitch_radius_mm * math.sin(half) < finger.width_mm + 1.0:
        least = (finger.width_mm + 1.0) / (2 * math.sin(half))
        raise _wrong(
            "pitch_radius_mm",
            "neighbouring fingers touch at their roots",
            f"{p.pitch_radius_mm:g} mm with {p.slots} slots",
            f"{math.ceil(least * 10) / 10:g} mm or more",
            "Enlarge the pitch radius, or take fewer slots.",
        )
    screw = SCREWS[layout.interface.thread]
    circle = layout.interface.pitch_circle / 2
    if circle + screw.head / 2 + 1.5 > p.pitch_radius_mm - 1.0:
        raise _wrong(
            "flange",
            "the wrist's screws run into the slots",
            f"{p.flange} at pitch radius {p.pitch_radius_mm:g} mm",
            f"a pitch radius of {circle + screw.head / 2 + 2.5:.4g} mm or more for this flange",
            "Enlarge the pitch radius, or take a smaller flange with an adapter.",
        )
    channels = p.angles_rad()
    if p.air == "manifold":
        channels = np.append(channels, layout.feed_rad)
        apart = np.abs(np.angle(np.exp(1j * (layout.screws_rad[:, None] - channels)))).min()
        room = circle * math.sin(min(apart, math.pi / 2)) - screw.clearance / 2 - p.channel_mm / 2
        if room < 1.0:
            raise _wrong(
                "channel_mm",
                "the air channels run into the wrist's screws",
                f"{max(room, 0):.2g} mm of wall left",
                "1 mm or more",
                "Narrow the channels, take a larger flange, or a port for every slot.",
            )

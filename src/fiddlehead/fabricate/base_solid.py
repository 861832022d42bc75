"""The base as a solid: slots, seals, air channels, wrist screws; and the plug for unused slots."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
from jaxtyping import Float

from fiddlehead.fabricate import kernel
from fiddlehead.fabricate.base import (
    CLAMP_MM,
    GROOVE_DEPTH_MM,
    GROOVE_WIDTH_MM,
    BaseLayout,
)
from fiddlehead.fabricate.contour import straight
from fiddlehead.fabricate.fittings import Fittings
from fiddlehead.fabricate.flange import SCREWS
from fiddlehead.fabricate.records import Part
from fiddlehead.fabricate.solid import ACROSS, dovetail_section, pin_place_mm
from fiddlehead.fabricate.threads import THREADS

FLANGE_DOWN = np.array([[1.0, 0.0, 0.0], [0.0, -1.0, 0.0], [0.0, 0.0, -1.0]])
"""The base is printed on its flange face, slots upwards."""
PLUG_COVER_MM = 3.0
THREAD_MM = 9.0
"""Depth of a tapped port in the rim, chosen by us."""
PIN_DEPTH_MM, PIN_WALL_MM = 8.0, 1.2
"""Depth of the locating pin's hole, and what must be left over a channel; chosen by us."""


@dataclasses.dataclass(frozen=True, eq=False)
class ModelledPart:
    """A named shape and how it is printed."""

    name: str
    shape: kernel.Shape
    to_plate: Float[np.ndarray, "3 3"]

    def part(self) -> Part:
        """Its surface as triangles."""
        vertices, triangles = kernel.triangles(self.shape)
        return Part(self.name, vertices, triangles, self.to_plate)


def base_solid(layout: BaseLayout, fittings: Fittings) -> ModelledPart:
    """Model the base."""
    body = kernel.cylinder((0, 0, 0), (0, 0, 1), layout.radius, layout.thickness)
    cutters: list[kernel.Shape] = []
    for slot in range(layout.parameters.slots):
        cutters += [kernel.moved(shape, layout.place(slot)) for shape in _slot(layout, fittings)]
        cutters += _slot_air(layout, slot)
    if layout.parameters.air == "manifold":
        cutters += _feed(layout)
    cutters += _screw_holes(layout)
    return ModelledPart("base", kernel.cut(body, cutters), FLANGE_DOWN)


def _slot(layout: BaseLayout, fittings: Fittings) -> list[kernel.Shape]:
    """Cutters in the finger's axes: rail, seat of a splayed finger, O-ring, air, locking pin."""
    p, finger, rail = layout.parameters, layout.finger, layout.rail
    stop = -finger.width_mm / 2 - p.play_mm
    out = 2.0 * layout.radius
    section = dovetail_section(rail.neck_width_mm, rail.depth_mm, play=p.play_mm, lip=1.0)
    # Drawn across, its z runs against the finger's: the slot opens towards +z of the finger.
    along = kernel.prism(section, [], -out, -stop)
    placed = np.column_stack([ACROSS, (0.0, layout.seat_mm, 0.0)])
    shapes = [kernel.moved(along, placed)]
    if p.splay_deg > 0:
        low, high = -1.0, finger.height_mm + 1.0
        seat = straight([(0.0, low), (out, low), (out, high), (0.0, high)])
        shapes.append(kernel.prism(seat, [], stop, out))
    floor = -(rail.depth_mm + p.play_mm)
    bore = finger.inlet_bore_mm / 2
    middle = (floor + 1.0, layout.seat_mm, 0.0)
    inner = bore + 1.0
    ring = kernel.cut(
        kernel.cylinder(middle, (-1, 0, 0), inner + GROOVE_WIDTH_MM, 1.0 + GROOVE_DEPTH_MM),
        [kernel.cylinder(middle, (-1, 0, 0), inner, 1.0 + GROOVE_DEPTH_MM)],
    )
    shapes.append(ring)
    if rail.pin_mm:
        y, z = pin_place_mm(finger, fittings)
        start = (floor + 1.0, y, z)
        shapes.append(kernel.cylinder(start, (-1, 0, 0), rail.pin_mm / 2, 3.0 * layout.thickness))
    return shapes


def _slot_air(layout: BaseLayout, slot: int) -> list[kernel.Shape]:
    """The bore up from the slot's floor, and its channel to the axis or to the rim."""
    p, place = layout.parameters, layout.place(slot)
    rotation, origin = place[:, :3], place[:, 3]
    up = -rotation[:, 0]
    floor = origin + rotation @ np.array([-layout.rail.depth_mm + 1.0, layout.seat_mm, 0.0])
    length = (layout.channel_height - floor[2]) / up[2]
    end = floor + length * up
    bore = kernel.cylinder(floor, up, layout.finger.inlet_bore_mm / 2, length)
    reach = float(np.hypot(*end[:2]))
    angle = p.angles_rad()[slot]
    if p.air == "manifold":
        return [bore, _channel(layout, angle, 0.0, reach + p.channel_mm / 2)]
    port = THREADS[p.port_thread].tap_drill_mm / 2
    return [
        bore,
        _channel(layout, angle, reach - p.channel_mm / 2, layout.radius + 1.0),
        _rim_port(layout, angle, port),
    ]


def base_stoppers(layout: BaseLayout) -> Part:
    """Stoppers on every slot's bore and in every port, so that a check can tell the air inside."""
    p = layout.parameters
    closed = []
    for slot in range(p.slots):
        floor = -(layout.rail.depth_mm + p.play_mm)
        plug = kernel.cylinder(
            (floor, layout.seat_mm, 0.0), (-1, 0, 0), layout.finger.inlet_bore_mm / 2 + 0.05, 1.0
        )
        closed.append(kernel.moved(plug, layout.place(slot)))
    ports = [layout.feed_rad] if p.air == "manifold" else list(p.angles_rad())
    thread = p.feed_thread if p.air == "manifold" else p.port_thread
    radius = THREADS[thread].tap_drill_mm / 2
    closed += [_rim_bar(layout, angle, radius + 0.05, layout.radius - 2.0, 1.0) for angle in ports]
    parts = [kernel.triangles(shape) for shape in closed]
    first = np.cumsum([0, *(len(vertices) for vertices, _ in parts)])
    return Part(
        "stoppers",
        np.concatenate([vertices for vertices, _ in parts]),
        np.concatenate([corners + n for (_, corners), n in zip(parts, first, strict=False)]),
    )


def _feed(layout: BaseLayout) -> list[kernel.Shape]:
    port = THREADS[layout.parameters.feed_thread].tap_drill_mm / 2
    return [
        _channel(layout, layout.feed_rad, 0.0, layout.radius + 1.0),
        _rim_port(layout, layout.feed_rad, port),
    ]


def _rim_port(layout: BaseLayout, angle: float, radius: float) -> kernel.Shape:
    return _rim_bar(layout, angle, radius, layout.radius - THREAD_MM, THREAD_MM + 5.0)


def _rim_bar(
    layout: BaseLayout, angle: float, radius: float, start: float, length: float
) -> kernel.Shape:
    direction = np.array([math.cos(angle), math.sin(angle), 0.0])
    middle = direction * start + np.array([0.0, 0.0, layout.channel_height])
    return kernel.cylinder(middle, direction, radius, length)


def _channel(layout: BaseLayout, angle: float, start: float, end: float) -> kernel.Shape:
    """A radial channel of teardrop section: its tip points upwards in print, which is -z here."""
    r = layout.parameters.channel_mm / 2
    round_part = np.linspace(-np.pi / 4, 5 * np.pi / 4, 24)
    # x across, y up against z; the tip closes the open side of the arc
    points = [(r * math.cos(t), r * math.sin(t)) for t in round_part]
    section = straight([*points, (0.0, -r * math.sqrt(2.0))])
    bar = kernel.prism(section, [], start, end)
    radial = np.array([math.cos(angle), math.sin(angle), 0.0])
    up = np.array([0.0, 0.0, 1.0])
    rotation = np.column_stack([np.cross(up, radial), up, radial])
    return kernel.moved(bar, np.column_stack([rotation, (0.0, 0.0, layout.channel_height)]))


def _screw_holes(layout: BaseLayout) -> list[kernel.Shape]:
    """Through holes with their heads sunk from below, and the pin's hole from the flange face."""
    screw = SCREWS[layout.interface.thread]
    circle = layout.interface.pitch_circle / 2
    top = layout.thickness
    holes = []
    for angle in layout.screws_rad:
        x, y = circle * math.cos(angle), circle * math.sin(angle)
        holes.append(kernel.cylinder((x, y, -1.0), (0, 0, 1), screw.clearance / 2, top + 2.0))
        sunk = top - CLAMP_MM
        holes.append(kernel.cylinder((x, y, -1.0), (0, 0, 1), screw.head / 2 + 0.5, sunk + 1.0))
    holes.append(_pin_hole(layout, circle))
    return holes


def _pin_hole(layout: BaseLayout, circle: float) -> kernel.Shape:
    """The wrist's locating pin, between two screws, where it is farthest from the channels."""
    p, radius = layout.parameters, layout.interface.pin / 2
    channels = p.angles_rad()
    if p.air == "manifold":
        channels = np.append(channels, layout.feed_rad)
    places = layout.screws_rad + math.pi / layout.interface.screws
    apart = np.abs(np.angle(np.exp(1j * (places[:, None] - channels)))).min(axis=1)
    angle = float(places[apart.argmax()])
    clear = circle * math.sin(min(float(apart.max()), math.pi / 2)) - radius - p.channel_mm
    room = layout.thickness - (2.0 if clear > PIN_WALL_MM or p.air == "separate" else
                               layout.channel_height + p.channel_mm / 2 + PIN_WALL_MM)  # fmt: skip
    depth = min(PIN_DEPTH_MM, room)
    start = (circle * math.cos(angle), circle * math.sin(angle), layout.thickness - depth)
    return kernel.cylinder(start, (0, 0, 1), radius, depth + 1.0)


def blanking_plug(layout: BaseLayout) -> ModelledPart:
    """A rail with a cover: closes an unused slot and presses on its O-ring."""
    rail, width = layout.rail, layout.finger.width_mm
    section = dovetail_section(rail.neck_width_mm, rail.depth_mm)
    body = kernel.prism(section, [], -width / 2, width / 2)
    half = rail.head_width_mm / 2
    cover = straight([(-half, 0.0), (half, 0.0), (half, PLUG_COVER_MM), (-half, PLUG_COVER_MM)])
    shape = kernel.fuse(body, [kernel.prism(cover, [], -width / 2, width / 2)])
    return ModelledPart("blanking plug", shape, np.eye(3))


def assembled(
    layout: BaseLayout, finger: kernel.Shape, plug: kernel.Shape
) -> list[tuple[str, kernel.Shape]]:
    """Fingers and plugs in their slots, in the gripper's axes."""
    seat = np.column_stack([ACROSS, (0.0, layout.seat_mm, 0.0)])
    found = []
    for slot in range(layout.parameters.slots):
        used = slot in layout.parameters.used
        shape = finger if used else kernel.moved(plug, seat)
        name = f"finger {slot + 1}" if used else f"plug {slot + 1}"
        found.append((name, kernel.moved(shape, layout.place(slot))))
    return found

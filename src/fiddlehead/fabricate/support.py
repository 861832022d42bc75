"""What carries each layer: bridges with their spans, overhangs, islands that start in the air."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import shapely
from jaxtyping import Float
from shapely import affinity
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from fiddlehead.fabricate.chambers import Air
from fiddlehead.fabricate.findings import Spot
from fiddlehead.fabricate.layers import Layers, areas, common, grown, minus, polygons
from fiddlehead.fabricate.process import Process

DIRECTIONS = 12
"""Directions tried for the lines of a bridge, evenly over half a turn."""
TOUCH_MM = 1e-3
"""Areas closer than this touch: overlays are rounded to a grid finer than that."""
ANCHORED = 0.9
"""Share of the lines over a gap that must find hold at both ends for it to be a bridge."""


@dataclasses.dataclass(frozen=True, eq=False)
class Hanging:
    """An unsupported place in a layer.

    span : longest unsupported line of a bridge in its best direction, mm; None for a ledge
    reach : how far the place sticks out from what carries it, mm
    inside : over a closed chamber
    """

    layer: int
    area: Polygon
    span: float | None
    reach: float
    inside: bool


def hanging_places(layers: Layers, air: Air) -> tuple[list[Hanging], list[Spot]]:
    """All places steeper than the limit, and the islands."""
    process = layers.process
    hanging: list[Hanging] = []
    islands: list[Spot] = []
    least = (0.25 * process.line_width_mm) ** 2
    for number in range(1, len(layers.sections)):
        above, below = layers.sections[number], layers.sections[number - 1]
        bare = areas(minus(above, below))
        if bare.is_empty:
            continue
        for piece in polygons(above):
            if common(piece, below).area < TOUCH_MM**2:
                inside = common(air.inside[number - 1], piece).area > 0.5 * piece.area
                islands.append(Spot("island", number, piece, piece.area, inside))
        steep = minus(bare, grown(below, process.tread_mm * 1.02 + 1e-3))
        for piece in polygons(bare):
            over = areas(common(steep, piece))
            if over.area < least or piece.distance(below) > TOUCH_MM:
                continue
            if any(piece.intersects(island.area) for island in islands if island.layer == number):
                continue
            inside = common(air.inside[number - 1], piece).area > 0.5 * piece.area
            points = shapely.get_coordinates(over)
            reach = float(shapely.distance(shapely.points(points), below).max())
            span = bridge_span(piece, below, process)
            hanging.append(Hanging(number, piece, span, reach, inside))
    return hanging, islands


def bridge_span(place: Polygon, below: BaseGeometry, process: Process) -> float | None:
    """Longest unsupported line over a place in the best of several directions, mm; None when too
    many lines find no hold at one end, whatever their direction."""
    spans = []
    edges = np.diff(shapely.get_coordinates(place.exterior), axis=0)
    longest = edges[np.argmax(np.linalg.norm(edges, axis=1))]
    start = float(np.degrees(np.arctan2(longest[1], longest[0])))  # square to it, among others
    for k in range(DIRECTIONS):
        ends, lengths = _chords(place, start + 180.0 * k / DIRECTIONS, process.line_width_mm)
        if not len(lengths):
            continue
        far = shapely.distance(shapely.points(ends.reshape(-1, 2)), below).reshape(-1, 2)
        held = (far < 0.25 * process.line_width_mm).all(axis=1)
        if lengths[held].sum() >= ANCHORED * lengths.sum():
            spans.append(float(lengths[held].max()))
    return min(spans) if spans else None


def _chords(
    place: Polygon, direction_deg: float, spacing: float
) -> tuple[Float[np.ndarray, "chord 2 2"], Float[np.ndarray, " chord"]]:
    """Ends and lengths of parallel lines across a place."""
    centre = place.centroid
    turned = affinity.rotate(place, -direction_deg, origin=centre)
    x0, y0, x1, y1 = turned.bounds
    count = max(3, math.ceil((y1 - y0) / spacing))
    levels = y0 + (np.arange(count) + 0.5) * (y1 - y0) / count
    hatch = shapely.linestrings([[(x0 - 1, y), (x1 + 1, y)] for y in levels])
    cut = affinity.rotate(
        shapely.multilinestrings(hatch).intersection(turned), direction_deg, centre
    )
    lines = shapely.get_parts(cut)
    lines = lines[(shapely.get_type_id(lines) == 1) & (shapely.length(lines) > 1e-6)]
    first, last = shapely.get_point(lines, 0), shapely.get_point(lines, -1)
    ends = np.stack([shapely.get_coordinates(first), shapely.get_coordinates(last)], axis=1)
    return ends, np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)


def unsupported(layers: Layers, hanging: list[Hanging]) -> list[Spot]:
    """Bridges that are too long, and ledges that step out too far over the layers they take."""
    process = layers.process
    spots = [
        Spot("long bridge", h.layer, h.area, h.span, h.inside)
        for h in hanging
        if h.span is not None and h.span > process.longest_bridge_mm + TOUCH_MM
    ]
    ledges = [h for h in hanging if h.span is None]
    chains: list[list[Hanging]] = []
    for ledge in ledges:
        home = next(
            (
                c
                for c in reversed(chains)
                if 0 < ledge.layer - c[-1].layer <= 2 and c[-1].area.distance(ledge.area) < 0.1
            ),
            None,
        )
        chains.append([ledge]) if home is None else home.append(ledge)
    for chain in chains:
        if _reach_in_all(layers, chain) <= process.longest_ledge_mm:
            continue
        for h in chain:
            steep = math.degrees(math.atan2(h.reach, process.layer_height_mm))
            spots.append(Spot("overhang", h.layer, h.area, steep, h.inside))
    return spots


def _reach_in_all(layers: Layers, chain: list[Hanging]) -> float:
    """How far a chain of ledges steps out, mm.

    Every ledge adds its reach to that of the ledges it stands on, unless it hangs from solid that
    has stood straight up since the chain began: then it counts from there.
    """
    firm = layers.sections[chain[0].layer - 1]
    level, out, most = chain[0].layer - 1, 0.0, 0.0
    for h in chain:
        for number in range(level + 1, h.layer + 1):
            firm = areas(common(firm, layers.sections[number]))
        level = h.layer
        out += h.reach
        if not firm.is_empty and h.area.distance(firm) <= TOUCH_MM:
            points = shapely.points(shapely.get_coordinates(h.area))
            out = min(out, float(shapely.distance(points, firm).max()))
        most = max(most, out)
    return most

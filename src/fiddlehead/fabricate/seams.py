"""Where loops may start: on bulk, away from walls that hold air, as long as there is such a place.

A loop's start and end meet in a seam, the likeliest pinhole; seams above each other are a straight
leak path (common practice, no source).
"""

from __future__ import annotations

import dataclasses

import numpy as np
import shapely
from shapely.geometry import LinearRing

from fiddlehead.fabricate.chambers import Air
from fiddlehead.fabricate.findings import Spot
from fiddlehead.fabricate.layers import Layers, polygons
from fiddlehead.fabricate.pressure_walls import FAR_LINES

LEAST_STRETCH_LINES = 3.0
"""Length away from pressure walls that a seam needs, in lines; chosen by us."""


@dataclasses.dataclass(frozen=True)
class Seam:
    """One loop along an edge of a layer and the best place for its seam."""

    layer: int
    place_mm: tuple[float, float]
    on_pressure_wall: bool


def seams_of(layers: Layers, air: Air) -> list[Seam]:
    """The best seam place of every edge loop that runs along a pressure wall."""
    found: list[Seam] = []
    w = layers.process.line_width_mm
    for number, section in enumerate(layers.sections):
        if air.inside[number].is_empty:
            continue
        for piece in polygons(section):
            for ring in (piece.exterior, *piece.interiors):
                seam = _seam(ring, air, number, w)
                if seam is not None:
                    found.append(seam)
    return found


def _seam(ring: LinearRing, air: Air, number: int, w: float) -> Seam | None:
    count = max(8, int(np.ceil(ring.length / w)))
    along = np.arange(count) / count
    points = shapely.line_interpolate_point(ring, along, normalized=True)
    borders_inside = shapely.distance(points[:1], air.inside[number])[0] < 1e-3
    other = air.outside[number] if borders_inside else air.inside[number]
    away = shapely.distance(points, other) / w
    if (away >= FAR_LINES).all():
        return None  # nowhere near a pressure wall
    safe = away >= FAR_LINES
    needed = int(np.ceil(LEAST_STRETCH_LINES * w / (ring.length / count)))
    start, length = _longest_run(safe)
    if length >= needed:
        best = points[(start + length // 2) % count]
        return Seam(number, (float(best.x), float(best.y)), False)
    best = points[int(np.argmax(away))]
    return Seam(number, (float(best.x), float(best.y)), True)


def _longest_run(safe: np.ndarray) -> tuple[int, int]:
    """Start and length of the longest run of true values on a closed ring."""
    if safe.all():
        return 0, len(safe)
    first = int(np.argmin(safe))
    turned = np.roll(safe, -first)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], turned.astype(int), [0]])))
    starts, ends = edges[::2], edges[1::2]
    if not len(starts):
        return 0, 0
    longest = int(np.argmax(ends - starts))
    return int(starts[longest] + first) % len(safe), int((ends - starts)[longest])


def seam_spots(seams: list[Seam], w: float) -> list[Spot]:
    """Seams that cannot avoid a pressure wall."""
    return [
        Spot("seam on pressure wall", s.layer, shapely.Point(s.place_mm).buffer(w), 1.0, True)
        for s in seams
        if s.on_pressure_wall
    ]

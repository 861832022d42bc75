"""Walls between the air inside and the air outside: how many lines and layers hold it back."""

from __future__ import annotations

import dataclasses

import numpy as np
import shapely
from jaxtyping import Bool, Float, Int
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from fiddlehead.fabricate.chambers import Air
from fiddlehead.fabricate.findings import Spot
from fiddlehead.fabricate.layers import Layers, areas, minus, opened, polygons
from fiddlehead.fabricate.lines import LINE_TOLERANCE, Lines

STOPPER_REACH_LINES = 9.0
"""Around a stopped inlet the wall belongs to the fitting and is not judged."""
FAR_LINES = 9.0
"""Walls thicker than this many lines count as bulk."""
LEAST_BOND = 0.5
"""Share of the required lines by which a pressure wall's layers must overlap; chosen by us."""


@dataclasses.dataclass(frozen=True, eq=False)
class WallSamples:
    """Points on the surface of closed chambers.

    points : on the plate, mm
    lines : lines between the chamber and the outside in the layer
    bond : overlap of this layer's wall with its neighbours', in lines
    stack : solid layers above or below to the outside, infinite where none lies there
    void : whether an open place that counts (``judged_voids``) lies in the wall
    """

    points: Float[np.ndarray, "sample 3"]
    layer: Int[np.ndarray, " sample"]
    lines: Float[np.ndarray, " sample"]
    bond: Float[np.ndarray, " sample"]
    stack: Float[np.ndarray, " sample"]
    void: Bool[np.ndarray, " sample"]

    def tightness(self, least_lines: int, least_layers: int) -> Float[np.ndarray, " sample"]:
        """Share of what a tight wall needs, 0 to 1; the scale is chosen by us.

        The least of lines over required lines, bond over its half, layers over required layers;
        halved where the wall is not a whole number of lines.
        """
        share = np.minimum(self.lines / least_lines, self.stack / least_layers)
        share = np.minimum(share, self.bond / (LEAST_BOND * least_lines))
        return np.clip(share, 0.0, 1.0) * np.where(self.void, 0.5, 1.0)


def wall_samples(layers: Layers, air: Air, drawn: list[Lines]) -> WallSamples:
    """Walk along every chamber's rim, a line width at a time, and over its roofs and floors."""
    rows = []
    w = layers.process.line_width_mm
    for number, inside in enumerate(air.inside):
        if inside.is_empty:
            continue
        rim = _rim_points(inside, w)
        fitting = _distance(shapely.points(rim), layers.stoppers[number])
        rim = rim[fitting > STOPPER_REACH_LINES * w]
        rows.append(_walls(layers, air, drawn, number, rim))
        for step in (1, -1):
            over = _roof_points(air, number, step, w)
            if len(over):
                rows.append(_roofs(layers, air, number, over, step))
    if not rows:
        empty = np.zeros(0)
        return WallSamples(np.zeros((0, 3)), empty.astype(int), empty, empty, empty, empty > 0)
    return WallSamples(*(np.concatenate(column) for column in zip(*rows, strict=True)))


def _rim_points(area: BaseGeometry, spacing: float) -> Float[np.ndarray, "point 2"]:
    found = []
    for ring in shapely.get_parts(area.boundary):
        count = max(4, int(np.ceil(ring.length / spacing)))
        along = (np.arange(count) + 0.5) / count
        found.append(
            shapely.get_coordinates(shapely.line_interpolate_point(ring, along, normalized=True))
        )
    return np.concatenate(found)


def _walls(
    layers: Layers, air: Air, drawn: list[Lines], number: int, rim: Float[np.ndarray, "point 2"]
) -> tuple:
    w = layers.process.line_width_mm
    points = shapely.points(rim)
    count = len(layers.sections)
    away = _distance(points, air.outside[number])
    beside = [_distance(points, air.outside[k]) for k in (number - 1, number + 1) if 0 <= k < count]
    bond = np.minimum.reduce([away, *beside]) / w
    counted = [v for v, on_wall in judged_voids(layers, air, drawn[number], number) if on_wall]
    open_inside = _distance(points, areas(MultiPolygon(counted))) < away
    z = np.full(len(rim), layers.heights[number])
    return (
        np.column_stack([rim, z]),
        np.full(len(rim), number),
        np.minimum(away / w, FAR_LINES),
        np.minimum(bond, FAR_LINES),
        np.full(len(rim), np.inf),
        open_inside,
    )


def judged_voids(layers: Layers, air: Air, lines: Lines, number: int) -> list[tuple[Polygon, bool]]:
    """Open places between the lines of a layer, each with whether it makes a pressure wall leak.

    It does where the wall it lies in has less than one whole line more than required.
    """
    p = layers.process
    thick = (p.least_pressure_lines + 1) * p.line_width_mm
    inside, outside = air.inside[number], air.outside[number]
    if inside.is_empty:
        return [(void, False) for void in polygons(lines.voids)]
    return [
        (void, void.distance(inside) + mean_width(void) + void.distance(outside) < thick)
        for void in polygons(lines.voids)
    ]


def mean_width(area: Polygon) -> float:
    """Mean width of a strip, mm: twice its area over its rim."""
    return float(2.0 * area.area / area.length)


def _distance(points: np.ndarray, area: BaseGeometry) -> Float[np.ndarray, " point"]:
    if area.is_empty:
        return np.full(len(points), np.inf)
    shapely.prepare(area)
    return shapely.distance(points, area)


def _roof_points(air: Air, number: int, step: int, w: float) -> Float[np.ndarray, "point 2"]:
    """A grid over what closes the chamber right above (step 1) or below (-1)."""
    other = number + step
    if not 0 <= other < len(air.inside):
        return np.zeros((0, 2))
    closed = areas(minus(air.inside[number], air.inside[other]))
    found = polygons(opened(closed, w / 2))
    if not found:
        return np.zeros((0, 2))
    spacing = 2.0 * w
    points = []
    for place in found:
        x0, y0, x1, y1 = place.bounds
        x, y = np.meshgrid(
            np.arange(x0 + w / 2, x1 + w / 2, spacing), np.arange(y0 + w / 2, y1 + w / 2, spacing)
        )
        inside = shapely.contains_xy(place, x.ravel(), y.ravel())
        points.append(np.column_stack([x.ravel(), y.ravel()])[inside])
    return np.concatenate(points)


def _roofs(
    layers: Layers, air: Air, number: int, over: Float[np.ndarray, "point 2"], step: int
) -> tuple:
    """Solid layers between the chamber and the outside, straight up or down."""
    most = 2 * layers.process.least_pressure_layers
    stack = np.full(len(over), np.inf)
    for solid in range(most + 1):
        at = number + step * (solid + 1)
        beyond = not 0 <= at < len(air.outside)
        reached = (
            np.ones(len(over), bool)
            if beyond
            else shapely.contains_xy(air.outside[at], over[:, 0], over[:, 1])
        )
        stack = np.where(np.isinf(stack) & reached, solid, stack)
        if beyond:
            break
    far = np.full(len(over), FAR_LINES)
    z = layers.heights[number] + step * layers.process.layer_height_mm / 2
    return (
        np.column_stack([over, np.full(len(over), z)]),
        np.full(len(over), number),
        far,
        far,
        stack,
        np.zeros(len(over), bool),
    )


def wall_spots(samples: WallSamples, layers: Layers) -> list[Spot]:
    """Places where a pressure wall, roof or layer bond is too thin."""
    p = layers.process
    tests = (
        ("thin pressure wall", samples.lines, p.least_pressure_lines - LINE_TOLERANCE),
        ("thin pressure roof", samples.stack, p.least_pressure_layers - 0.5),
        ("weak layer bond", samples.bond, LEAST_BOND * p.least_pressure_lines - LINE_TOLERANCE),
    )
    spots: list[Spot] = []
    for kind, value, least in tests:
        bad = value < least
        if kind == "weak layer bond":  # told once, as a thin wall
            bad &= samples.lines >= p.least_pressure_lines - LINE_TOLERANCE
        reach = (1.05 if kind == "thin pressure roof" else 0.75) * p.line_width_mm
        for number in np.unique(samples.layer[bad]):
            here = bad & (samples.layer == number)
            cover = shapely.union_all(
                shapely.buffer(shapely.points(samples.points[here, :2]), reach, quad_segs=2)
            )
            for place in polygons(cover):
                within = shapely.contains_xy(place, *samples.points[here, :2].T)
                if within.sum() < 2:
                    continue
                worst = float(value[here][within].min())
                spots.append(Spot(kind, int(number), place, worst, True))  # type: ignore[arg-type]
    return spots

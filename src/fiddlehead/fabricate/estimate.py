"""Print time, filament, mass and cost, from the lines every layer is drawn with."""

from __future__ import annotations

import dataclasses

import numpy as np
import shapely
from jaxtyping import Float
from shapely.geometry import MultiLineString
from shapely.geometry.base import BaseGeometry

from fiddlehead.fabricate.filament import filament_length_mm
from fiddlehead.fabricate.layers import Layers, polygons
from fiddlehead.fabricate.lines import Lines
from fiddlehead.fabricate.motion import path_time, straight_time
from fiddlehead.fabricate.process import Process


@dataclasses.dataclass(frozen=True)
class Estimate:
    """What a print takes.

    volume_mm3 : plastic drawn: covered area times layer height, flow not counted
    filament_mm, mass_g : with flow
    travel_s : moving between lines and starting them; part of time_s
    """

    layers: int
    time_s: float
    travel_s: float
    volume_mm3: float
    filament_mm: float
    mass_g: float
    cost: float


def estimate(layers: Layers, drawn: list[Lines]) -> Estimate:
    """Time and material of a part: loops, single lines, straight infill, travel, layer changes.

    A single line along a wall is as long as its area over its width; infill lines lie at 45° and
    change direction from layer to layer.
    """
    p = layers.process
    print_s = travel_s = 0.0
    volume = 0.0
    known: dict[tuple[int, float], tuple[float, int, Float[np.ndarray, "start 2"]]] = {}
    for number, (section, lines) in enumerate(zip(layers.sections, drawn, strict=True)):
        infill_deg = 45.0 if number % 2 else -45.0
        if (id(lines), infill_deg) not in known:  # equal layers take equal time
            known[id(lines), infill_deg] = _layer_time(lines, p, infill_deg)
        moving, starts, places = known[id(lines), infill_deg]
        print_s += moving
        hops = np.linalg.norm(np.diff(places, axis=0), axis=1) if len(places) > 1 else np.zeros(0)
        travel_s += float(
            straight_time(hops, p.travel_speed_mm_per_s, 4 * p.acceleration_mm_per_s2).sum()
        )
        travel_s += starts * p.restart_s + p.layer_change_s
        open_area = lines.voids.area + lines.uncovered.area
        volume += (section.area - open_area) * p.layer_height_mm
    filament = filament_length_mm(volume * p.flow, p.filament_diameter_mm)
    mass = volume * p.flow * p.density_g_per_cm3 / 1000.0
    return Estimate(
        layers=len(layers.sections),
        time_s=print_s + travel_s,
        travel_s=travel_s,
        volume_mm3=volume,
        filament_mm=filament,
        mass_g=mass,
        cost=mass / 1000.0 * p.price_per_kg,
    )


def _layer_time(
    lines: Lines, p: Process, infill_deg: float
) -> tuple[float, int, Float[np.ndarray, "start 2"]]:
    """Printing time of a layer, number of line starts, and where they are in order."""
    v, a = p.wall_speed_mm_per_s, p.acceleration_mm_per_s2
    seconds = 0.0
    starts: list[np.ndarray] = []
    for loop in lines.loops:
        for ring in shapely.get_parts(loop):
            points = shapely.get_coordinates(ring)
            seconds += path_time(points, v, a, p.corner_speed_mm_per_s)
            starts.append(points[0])
    for single in polygons(lines.singles):
        length = single.area / p.line_width_mm
        seconds += float(straight_time(np.array([length]), v, a)[0])
        starts.append(shapely.get_coordinates(single)[0])
    hatch = infill_lines(lines.infill, p.line_width_mm, infill_deg)
    if len(hatch):
        seconds += float(
            straight_time(np.linalg.norm(hatch[:, 1] - hatch[:, 0], axis=1), v, a).sum()
        )
        starts.append(hatch[0, 0])
        # neighbours of an infill are drawn back and forth without a stop
    return seconds, len(starts), np.array(starts).reshape(-1, 2)


def infill_lines(
    area: BaseGeometry, spacing: float, direction_deg: float
) -> Float[np.ndarray, "line 2 2"]:
    """Parallel lines that fill an area: start and end of each, mm."""
    if area.is_empty:
        return np.zeros((0, 2, 2))
    centre = np.array(area.centroid.coords[0])
    reach = float(np.linalg.norm(shapely.get_coordinates(area) - centre, axis=1).max()) + spacing
    angle = np.deg2rad(direction_deg)
    along, across = (
        np.array([np.cos(angle), np.sin(angle)]),
        np.array([-np.sin(angle), np.cos(angle)]),
    )
    levels = np.arange(-reach + spacing / 2, reach, spacing)
    hatch = MultiLineString(
        [
            [centre + across * level - along * reach, centre + across * level + along * reach]
            for level in levels
        ]
    )
    cut = [g for g in shapely.get_parts(hatch.intersection(area)) if g.geom_type == "LineString"]
    return np.array([[g.coords[0], g.coords[-1]] for g in cut]).reshape(-1, 2, 2)

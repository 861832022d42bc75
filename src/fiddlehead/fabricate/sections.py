"""The finger's profile as plane polygons: what is solid over the whole width, what is hollow."""

from __future__ import annotations

import dataclasses

import shapely
from shapely.geometry import MultiPolygon, Polygon

from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.finger.profile import profile_layout


@dataclasses.dataclass(frozen=True)
class Hollow:
    """A cavity of constant section across ``-half_width .. half_width``, mm."""

    section: MultiPolygon
    half_width: float


@dataclasses.dataclass(frozen=True)
class Sections:
    """The finger as one outer prism less hollow prisms, nested from the mid-plane outwards.

    outer : section of the outer prism, open cells of a pad left out
    half_width : reach of the outer prism across the width, mm
    """

    outer: MultiPolygon
    half_width: float
    hollows: tuple[Hollow, ...]


def finger_sections(parameters: FingerParameters) -> Sections:
    """Join the profile's regions to polygons.

    Raises
    ------
    ParameterError : the parameters contradict each other
    """
    parameters.validate()
    layout = profile_layout(parameters)
    vertices = layout.vertices(parameters)
    stations = layout.width_stations(parameters)
    regions = layout.regions
    opens = [layout.void_intervals(region) for region in regions]
    quads = [Polygon(vertices[list(region.corners)]) for region in regions]
    solid = [q for q, n in zip(quads, opens, strict=True) if n < layout.interval_count]
    hollows = []
    for interval in range(layout.interval_count - 1):
        void = [
            q for q, n in zip(quads, opens, strict=True) if interval < n < layout.interval_count
        ]
        if void:
            hollows.append(Hollow(_joined(void), float(stations[interval + 1])))
    return Sections(_joined(solid), float(stations[-1]), tuple(hollows))


def _joined(quads: list[Polygon]) -> MultiPolygon:
    whole = shapely.union_all(quads)
    return whole if isinstance(whole, MultiPolygon) else MultiPolygon([whole])

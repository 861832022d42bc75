"""A part cut into layers: one plane section at the middle of every layer."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from functools import cached_property
from typing import TypeVar

import numpy as np
import shapely
from jaxtyping import Float
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from fiddlehead.errors import InputError, ParameterError
from fiddlehead.fabricate.process import Process
from fiddlehead.fabricate.records import Part

Result = TypeVar("Result")
ROOM_MM = 5.0
"""Air around the part that counts as outside."""
SPECK_MM2 = 1e-6
"""Smaller areas are rounding."""
SAME_MM2 = 1e-3
"""Layers that differ by less are equal."""
GRID_MM = 1e-5
"""Grid on which areas are overlaid."""
POINT_MM = 1e-4
"""Points closer than this to the line through their neighbours are left out."""


@dataclasses.dataclass(frozen=True, eq=False)
class Layers:
    """Sections of a part on the plate.

    sections : what is solid in each layer, from the plate up; equal ones are one object
    stoppers : what closes the inlets in each layer
    """

    part: Part
    process: Process
    sections: tuple[BaseGeometry, ...]
    stoppers: tuple[BaseGeometry, ...]

    @property
    def heights(self) -> Float[np.ndarray, " layer"]:
        """Height of the middle of every layer above the plate, mm."""
        return (np.arange(len(self.sections)) + 0.5) * self.process.layer_height_mm

    @cached_property
    def frame(self) -> Polygon:
        """A rectangle around everything."""
        low, high = self.part.vertices.min(axis=0), self.part.vertices.max(axis=0)
        return shapely.box(*(low[:2] - ROOM_MM), *(high[:2] + ROOM_MM))

    @property
    def volume_mm3(self) -> float:
        """Sum of areas times layer height."""
        return self.process.layer_height_mm * sum(s.area for s in self.sections)


def each_once(layers: Layers, draw: Callable[[BaseGeometry], Result]) -> list[Result]:
    """``draw(section)`` for every layer, done once for layers that are equal."""
    found: dict[int, Result] = {}
    for section in layers.sections:
        if id(section) not in found:
            found[id(section)] = draw(section)
    return [found[id(section)] for section in layers.sections]


def sliced(part: Part, process: Process, stopper: Part | None = None) -> Layers:
    """Cut a part, turned into its printing orientation, into layers.

    Parameters
    ----------
    part : in its own coordinates; ``part.to_plate`` says how it lies
    stopper : closes the inlet's mouth, in the same coordinates, so that the air inside can be told
        from the air outside

    Raises
    ------
    ParameterError : the part does not fit the printer, or is lower than a layer
    InputError : the surface bounds no solid
    """
    placed = part.on_plate()
    size = np.ptp(placed.vertices, axis=0)
    _must_fit(size, process)
    count = int(np.ceil(size[2] / process.layer_height_mm - 1e-6))
    heights = (np.arange(count) + 0.5) * process.layer_height_mm
    heights = np.minimum(heights, size[2] - 1e-6)
    stoppers = [Polygon()] * count
    if stopper is not None:
        turned = part.vertices @ part.to_plate.T
        low, high = turned.min(axis=0), turned.max(axis=0)
        origin = np.array([*(low + high)[:2] / 2.0, low[2]])
        closed = Part("stopper", stopper.vertices @ part.to_plate.T - origin, stopper.triangles)
        stoppers = _sections(closed, heights)
    return Layers(placed, process, tuple(_sections(placed, heights)), tuple(stoppers))


def _must_fit(size: Float[np.ndarray, " 3"], process: Process) -> None:
    room = (process.plate_width_mm, process.plate_depth_mm, process.print_height_mm)
    across, deep = sorted(size[:2], reverse=True), sorted(room[:2], reverse=True)
    if across[0] > deep[0] or across[1] > deep[1] or size[2] > room[2]:
        raise ParameterError(
            "the part is larger than the printer in this orientation",
            where="printer.plate_width_mm",
            found=" x ".join(f"{s:.4g}" for s in size) + " mm",
            allowed=" x ".join(f"{r:.4g}" for r in room) + " mm",
            remedy="Choose another build orientation, a larger printer or a smaller part.",
        )
    if size[2] < process.layer_height_mm:
        raise ParameterError(
            "a layer is higher than the part",
            where="print.layer_height_mm",
            found=f"{process.layer_height_mm:g} mm",
            allowed=f"{size[2]:.3g} mm or less",
        )


def plane_section(part: Part, axes: Float[np.ndarray, "3 3"], level: float) -> BaseGeometry:
    """What a plane cuts out of a part.

    Parameters
    ----------
    axes : rows: the plane's right, up and normal in part coordinates
    level : distance of the plane from the origin along its normal, mm

    Raises
    ------
    InputError : the surface bounds no solid
    """
    turned = dataclasses.replace(part, vertices=part.vertices @ axes.T)
    return _sections(turned, np.array([level]))[0]


def _sections(part: Part, heights: Float[np.ndarray, " layer"]) -> list[BaseGeometry]:
    from manifold3d import Error, Manifold, Mesh64

    body = Manifold(
        Mesh64(
            vert_properties=np.ascontiguousarray(part.vertices, dtype=np.float64),
            tri_verts=np.ascontiguousarray(part.triangles, dtype=np.uint64),
        )
    )
    if body.status() != Error.NoError:
        raise InputError(
            "this surface cannot be cut into layers: it bounds no solid",
            where=part.name,
            found=str(body.status()).rpartition(".")[2],
            remedy="Mend it where it was drawn.",
        )
    found: list[BaseGeometry] = []
    for height in heights:
        section = areas(_area(body.slice(float(height)).to_polygons()))
        found.append(next((old for old in reversed(found) if _same(section, old)), section))
    return found


def _same(one: BaseGeometry, other: BaseGeometry) -> bool:
    if abs(one.area - other.area) > SAME_MM2:
        return False
    return bool(shapely.symmetric_difference(one, other, grid_size=GRID_MM).area < SAME_MM2)


def _area(rings: list[Float[np.ndarray, "_ 2"]]) -> BaseGeometry:
    """What rings enclose, holes left out."""
    closed = [shapely.linearrings(ring) for ring in rings if len(ring) >= 3]
    if not closed:
        return Polygon()
    return shapely.make_valid(shapely.build_area(shapely.geometrycollections(closed)))


def areas(found: BaseGeometry) -> BaseGeometry:
    """Only the areas of a mixed result, specks left out."""
    kept = [p for p in polygons(shapely.simplify(found, POINT_MM)) if p.area > SPECK_MM2]
    return MultiPolygon(kept) if kept else Polygon()


def polygons(found: BaseGeometry) -> list[Polygon]:
    """All polygons in a geometry."""
    return [p for p in shapely.get_parts(found) if isinstance(p, Polygon) and not p.is_empty]


def grown(area: BaseGeometry, by: float) -> BaseGeometry:
    """The area offset outwards (inwards for negative ``by``), mm, corners kept sharp."""
    return area.buffer(by, join_style="mitre", mitre_limit=4.0)


def minus(area: BaseGeometry, other: BaseGeometry) -> BaseGeometry:
    """What is left of an area without another, on a grid: outlines that nearly coincide, as
    offsets there and back do, defeat the same operation in floating point."""
    return shapely.difference(area, other, grid_size=GRID_MM)


def common(area: BaseGeometry, other: BaseGeometry) -> BaseGeometry:
    """What two areas share, on the same grid."""
    return shapely.intersection(area, other, grid_size=GRID_MM)


def opened(area: BaseGeometry, radius: float) -> BaseGeometry:
    """Where something ``2 radius`` wide fits: eroded, grown again, corners kept."""
    return areas(common(grown(grown(area, -radius), radius), area))

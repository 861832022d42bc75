"""The printable solid of a finger, from the same regions as the drawing and the mesh."""

from __future__ import annotations

import dataclasses
import math
from functools import cached_property

import numpy as np
import shapely
from jaxtyping import Float
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from fiddlehead.errors import ParameterError
from fiddlehead.fabricate import kernel
from fiddlehead.fabricate.contour import Contour, corners_only, filleted, straight
from fiddlehead.fabricate.fittings import Fittings, default_fittings, rail_height_mm
from fiddlehead.fabricate.inlet import OVERRUN_MM, inlet, stopper
from fiddlehead.fabricate.lettering import lettering
from fiddlehead.fabricate.records import Part
from fiddlehead.fabricate.sections import Sections, finger_sections
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.finger.print_settings import BuildOrientation

TO_PLATE: dict[BuildOrientation, Float[np.ndarray, "3 3"]] = {
    "side": np.eye(3),
    "upright": np.array([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 0.0]]),
    "base_down": np.array([[0.0, 0.0, 1.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]]),
}
"""Rotation from the finger's axes to those of the plate, by build orientation."""

# Columns: where a flat drawing's x, y and its normal go in the finger's axes.
ON_BACK = np.array([[0, 1, 0], [0, 0, 1], [1, 0, 0]], float)  # x to z, y to x, normal to y
ACROSS = np.array([[0, 1, 0], [1, 0, 0], [0, 0, -1]], float)  # x to y, y to x, drawn across


@dataclasses.dataclass(frozen=True, eq=False)
class FingerSolid:
    """A finger as the kernel holds it.

    ledger : expected volume by what adds or takes it, mm³: profile, fillets, inlet, mount, port,
        engraving; the sum is compared with what the kernel measures
    """

    name: str
    parameters: FingerParameters
    fittings: Fittings
    shape: kernel.Shape
    ledger: dict[str, float]

    @cached_property
    def volume_mm3(self) -> float:
        """Volume as the kernel measures it."""
        return kernel.volume(self.shape)

    @property
    def expected_volume_mm3(self) -> float:
        """Volume by the formulas of plane geometry."""
        return sum(self.ledger.values())

    def mass_g(self, density_g_per_cm3: float) -> float:
        """Mass when printed without voids, g."""
        return self.volume_mm3 * density_g_per_cm3 / 1000.0

    def part(self, orientation: BuildOrientation = "side") -> Part:
        """The surface as triangles, to be printed in an orientation."""
        vertices, triangles = kernel.triangles(self.shape)
        return Part(self.name, vertices, triangles, TO_PLATE[orientation])

    def plug(self) -> Part | None:
        """A stopper in the inlet's mouth, so that a check can tell the air inside from outside."""
        shape = stopper(self.parameters, self.fittings)
        return None if shape is None else Part("stopper", *kernel.triangles(shape))


def finger_solid(
    parameters: FingerParameters, fittings: Fittings | None = None, name: str = "finger"
) -> FingerSolid:
    """Model a finger: prism of the profile less its cavities, inlet, mount, port and serial.

    Raises
    ------
    ParameterError : sizes contradict each other, or the fittings do not suit the finger
    """
    p = parameters.validate()
    f = (fittings or default_fittings(p)).validate(p)
    ledger: dict[str, float] = {}
    body, cutters = _prisms(finger_sections(p), f.fillet_radius_mm, ledger)
    added: list[kernel.Shape] = []
    if f.mount == "dovetail":
        added.append(_dovetail(p, f, ledger))
        cutters += _pin_hole(p, f, ledger)
    if p.inlet_bore_mm > 0 and f.port != "none":
        made = inlet(p, f)
        added += made.added
        cutters += made.bores
        ledger |= made.ledger
    if f.serial.strip():
        cutters += _engraving(p, f, ledger)
    shape = kernel.cut(kernel.fuse(body, added), cutters)
    return FingerSolid(name, p, f, shape, ledger)


def _prisms(
    sections: Sections, radius: float, ledger: dict[str, float]
) -> tuple[kernel.Shape, list[kernel.Shape]]:
    """The outer prism and the cavities; fills in the profile's and the fillets' volumes."""
    half = sections.half_width
    (outer, *more) = _rounded(sections.outer, radius, solid=True)
    if more:
        raise ParameterError("the profile falls into separate pieces", where="finger")
    volume = sections.outer.area * 2 * half
    fillets = outer.fillet_area * 2 * half
    rounded = [_rounded(hollow.section, radius, solid=False) for hollow in sections.hollows]
    reach = [hollow.half_width for hollow in sections.hollows]
    cutters = []
    for n, hollow in enumerate(sections.hollows):
        depth = 2 * (reach[n] - (reach[n - 1] if n else 0.0))
        volume -= hollow.section.area * depth
        fillets += sum(area.fillet_area for area in rounded[n]) * depth
        # A cavity further out may reach into the rounded corners of this one.
        fillets -= _beyond(rounded[n], [area for more in rounded[n + 1 :] for area in more]) * depth
        cutters += [area.prism(reach[n]) for area in rounded[n]]
    ledger["profile"], ledger["fillets"] = volume, fillets
    return outer.prism(half), cutters


@dataclasses.dataclass(frozen=True, eq=False)
class _Rounded:
    """A polygon with its inner corners rounded."""

    outer: Contour
    holes: tuple[Contour, ...]

    @property
    def fillet_area(self) -> float:
        """What the fillets add to the solid, mm²."""
        return self.outer.fillet_area + sum(hole.fillet_area for hole in self.holes)

    def area(self) -> BaseGeometry:
        """The polygon, arcs as chords."""
        return self.outer.polygon() - shapely.union_all([hole.polygon() for hole in self.holes])

    def prism(self, half: float) -> kernel.Shape:
        """Extruded to both sides of the mid-plane."""
        return kernel.prism(self.outer, self.holes, -half, half)


def _rounded(section: MultiPolygon, radius: float, *, solid: bool) -> list[_Rounded]:
    """Every polygon of a section of solid or of air."""
    return [
        _Rounded(
            filleted(_ring(polygon, None), radius, solid_outside=not solid),
            tuple(
                filleted(_ring(polygon, n), radius, solid_outside=solid)
                for n in range(len(polygon.interiors))
            ),
        )
        for polygon in section.geoms
    ]


def _beyond(inner: list[_Rounded], others: list[_Rounded]) -> float:
    """Area of ``others`` outside ``inner``, mm²."""
    if not others:
        return 0.0
    whole = shapely.union_all([area.area() for area in inner])
    return float((shapely.union_all([area.area() for area in others]) - whole).area)


def _ring(polygon: Polygon, hole: int | None) -> Float[np.ndarray, "point 2"]:
    """A ring counter-clockwise, collinear points left out."""
    ring = polygon.exterior if hole is None else polygon.interiors[hole]
    points = corners_only(np.asarray(ring.coords)[:, :2])
    return points if ring.is_ccw else points[::-1]


def dovetail_section(neck: float, depth: float, play: float = 0.0, lip: float = 0.0) -> Contour:
    """The rail's section: x across, y out of the face it stands on (negative); ``play`` is added
    all round, and the section reaches ``lip`` back over the face."""
    half, head = neck / 2 + play, neck / 2 + depth + play
    left = [(-half, lip), (-half, 0.0), (-head, -depth), (-head, -depth - play)]
    return straight([*left, *((-x, y) for x, y in reversed(left))])


def _dovetail(p: FingerParameters, f: Fittings, ledger: dict[str, float]) -> kernel.Shape:
    d = f.dovetail
    section = dovetail_section(d.neck_width_mm, d.depth_mm)
    ledger["mount"] = (d.neck_width_mm + d.depth_mm) * d.depth_mm * p.width_mm
    rail = kernel.prism(section, [], -p.width_mm / 2, p.width_mm / 2)
    return kernel.moved(rail, _placed(ACROSS, (0.0, rail_height_mm(p), 0.0)))


def pin_place_mm(p: FingerParameters, f: Fittings) -> tuple[float, float]:
    """y and z of the locking pin's axis: beside the inlet, near one side."""
    return rail_height_mm(p), p.width_mm / 2 - f.dovetail.pin_mm / 2 - 1.5


def _pin_hole(p: FingerParameters, f: Fittings, ledger: dict[str, float]) -> list[kernel.Shape]:
    d = f.dovetail
    if d.pin_mm == 0:
        return []
    depth = d.depth_mm + min(2.0, p.root_length_mm / 3)
    ledger["locking pin"] = -math.pi / 4 * d.pin_mm**2 * depth
    start = (-d.depth_mm - OVERRUN_MM, *pin_place_mm(p, f))
    return [kernel.cylinder(start, (1, 0, 0), d.pin_mm / 2, depth + OVERRUN_MM)]


def _engraving(p: FingerParameters, f: Fittings, ledger: dict[str, float]) -> list[kernel.Shape]:
    rim = max(f.stroke_width_mm, p.wall_thickness_mm)  # to the first chamber: a pressure wall
    text = lettering(
        f.serial.strip(),
        width_mm=p.width_mm - 2 * f.stroke_width_mm,
        height_mm=p.root_length_mm - 2 * rim,
        stroke_mm=f.stroke_width_mm,
    )
    ledger["engraving"] = -text.area * f.engraving_depth_mm
    place = _placed(ON_BACK, (p.root_length_mm / 2, p.height_mm, 0.0))
    return [
        kernel.moved(
            kernel.prism(
                straight(_ring(area, None)),
                [straight(_ring(area, n)) for n in range(len(area.interiors))],
                -f.engraving_depth_mm,
                OVERRUN_MM,
            ),
            place,
        )
        for area in text.geoms
    ]


def _placed(
    rotation: Float[np.ndarray, "3 3"], shift: tuple[float, float, float] = (0.0, 0.0, 0.0)
) -> kernel.Place:
    return np.column_stack([rotation, shift])

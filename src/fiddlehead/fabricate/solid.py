"""The printable solid of a finger, from the same regions as the drawing and the mesh."""

from __future__ import annotations

import dataclasses
import math
from functools import cached_property

import numpy as np
from jaxtyping import Float
from shapely.geometry import MultiPolygon, Polygon

from fiddlehead.errors import ParameterError
from fiddlehead.fabricate import kernel
from fiddlehead.fabricate.contour import Contour, corners_only, filleted, straight
from fiddlehead.fabricate.fittings import (
    BARB_GRIP,
    BARB_RIDGES,
    RIDGE_MM,
    TAP_DRILLS_MM,
    Fittings,
    default_fittings,
    rail_height_mm,
)
from fiddlehead.fabricate.lettering import lettering
from fiddlehead.fabricate.records import Part
from fiddlehead.fabricate.sections import Sections, finger_sections
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.finger.print_settings import BuildOrientation

OVERRUN_MM = 1.0
"""How far cutters reach beyond the faces they cut."""
LETTERS_RIM_MM = 0.5
THREAD_LENGTH_MM = 6.0
"""Depth of a tapped port, or the root block less its rim where that is shorter; chosen by us."""

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
        p, f = self.parameters, self.fittings
        if p.inlet_bore_mm == 0 or f.port == "none":
            return None
        wide, face = p.inlet_bore_mm / 2, 0.0
        if f.port == "thread":
            wide = TAP_DRILLS_MM[f.thread] / 2
        if f.mount == "dovetail":
            face = -f.dovetail.depth_mm
        stopper = kernel.cylinder((face, p.inlet_height_mm, 0.0), (1, 0, 0), wide + 0.05, 1.0)
        vertices, triangles = kernel.triangles(stopper)
        return Part("stopper", vertices, triangles)


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
        outer, bores = _inlet(p, f, ledger)
        added += outer
        cutters += bores
    if f.serial.strip():
        cutters += _engraving(p, f, ledger)
    shape = kernel.cut(kernel.fuse(body, added), cutters)
    return FingerSolid(name, p, f, shape, ledger)


def _prisms(
    sections: Sections, radius: float, ledger: dict[str, float]
) -> tuple[kernel.Shape, list[kernel.Shape]]:
    """The outer prism and the cavities; fills in the profile's and the fillets' volumes."""
    half = sections.half_width
    (outer, *more) = _prism(sections.outer, radius, half, solid=True)
    if more:
        raise ParameterError("the profile falls into separate pieces", where="finger")
    body, filled = outer
    fillets = filled * 2 * half
    volume = sections.outer.area * 2 * half
    cutters = []
    inner = 0.0
    for hollow in sections.hollows:
        depth = 2 * (hollow.half_width - inner)
        inner = hollow.half_width
        volume -= hollow.section.area * depth
        for shape, area in _prism(hollow.section, radius, hollow.half_width, solid=False):
            cutters.append(shape)
            fillets += area * depth
    ledger["profile"], ledger["fillets"] = volume, fillets
    return body, cutters


def _prism(
    section: MultiPolygon, radius: float, half: float, *, solid: bool
) -> list[tuple[kernel.Shape, float]]:
    """Prisms of every polygon of a section, each with the area its fillets add to the solid."""
    made = []
    for polygon in section.geoms:
        outer = filleted(_ring(polygon, None), radius, solid_outside=not solid)
        holes = [
            filleted(_ring(polygon, n), radius, solid_outside=solid)
            for n in range(len(polygon.interiors))
        ]
        area = outer.fillet_area + sum(hole.fillet_area for hole in holes)
        made.append((kernel.prism(outer, holes, -half, half), area))
    return made


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


def _inlet(
    p: FingerParameters, f: Fittings, ledger: dict[str, float]
) -> tuple[list[kernel.Shape], list[kernel.Shape]]:
    """What the inlet adds to the body, and its bores."""
    radius, axis = p.inlet_bore_mm / 2, p.inlet_height_mm
    face = -f.dovetail.depth_mm if f.mount == "dovetail" else 0.0
    added: list[kernel.Shape] = []
    if f.port == "barb":
        length = BARB_RIDGES * RIDGE_MM
        added.append(_barb(p, f, ledger))
        face = -length
    length = p.root_length_mm - face
    ledger["inlet"] = -math.pi * radius**2 * length
    start = (face - OVERRUN_MM, axis, 0.0)
    overrun = 2 * OVERRUN_MM if f.fillet_radius_mm == 0 else OVERRUN_MM
    bores = [kernel.cylinder(start, (1, 0, 0), radius, length + overrun)]
    if f.port == "thread":
        drill = TAP_DRILLS_MM[f.thread] / 2
        depth = min(THREAD_LENGTH_MM, length - 2.0)
        ledger["thread"] = -math.pi * (drill**2 - radius**2) * depth
        bores.append(kernel.cylinder(start, (1, 0, 0), drill, depth + OVERRUN_MM))
    return added, bores


def _barb(p: FingerParameters, f: Fittings, ledger: dict[str, float]) -> kernel.Shape:
    """Cones that narrow outwards, one after the other, on the root face."""
    neck, crest = f.hose_bore_mm / 2, f.hose_bore_mm / 2 * BARB_GRIP
    points = [(0.0, OVERRUN_MM), (0.0, -BARB_RIDGES * RIDGE_MM)]
    for ridge in reversed(range(BARB_RIDGES)):
        points += [(neck, -(ridge + 1) * RIDGE_MM), (crest, -ridge * RIDGE_MM - RIDGE_MM / 4)]
        points += [(neck, -ridge * RIDGE_MM)]
    points.append((neck, OVERRUN_MM))
    cone = math.pi / 3 * (neck**2 + neck * crest + crest**2) * RIDGE_MM
    ledger["barb"] = BARB_RIDGES * cone
    # Turned about y; then y to x at the height of the inlet.
    place = np.array([[0, 1, 0, 0], [0, 0, 1, p.inlet_height_mm], [1, 0, 0, 0]], float)
    return kernel.moved(kernel.turned(straight(points)), place)


def _engraving(p: FingerParameters, f: Fittings, ledger: dict[str, float]) -> list[kernel.Shape]:
    text = lettering(
        f.serial.strip(),
        width_mm=p.width_mm - 2 * LETTERS_RIM_MM,
        height_mm=p.root_length_mm - 2 * LETTERS_RIM_MM,
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

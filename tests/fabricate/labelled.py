"""Small parts whose troubles are known by construction; 0.4 mm lines, 0.2 mm layers.

Faces lie between layer middles, so that no label hangs on rounding.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from shapely import affinity
from shapely.geometry import Point, Polygon, box
from shapely.ops import unary_union

from fiddlehead.fabricate import kernel
from fiddlehead.fabricate.contour import straight
from fiddlehead.fabricate.printcheck import PrintCheck, print_check
from fiddlehead.fabricate.process import Process
from fiddlehead.fabricate.records import Part
from tests.fabricate.made import part_of, solid_of

PROCESS = Process(line_width_mm=0.4, layer_height_mm=0.2)
UPRIGHT = np.array([[1.0, 0.0, 0.0, 0.0], [0.0, 0.0, -1.0, 0.0], [0.0, 1.0, 0.0, 0.0]])
"""A section drawn in x and y, extruded, then stood up: its y becomes height."""

Shape = kernel.Shape


class Case(NamedTuple):
    """A shape, what must be found on it, and what stops its inlet."""

    make: Callable[[], Shape]
    troubles: frozenset[str]
    stopper: Callable[[], Shape] | None = None

    def check(self) -> PrintCheck:
        stopper: Part | None = part_of(self.stopper(), "stopper") if self.stopper else None
        return print_check(part_of(self.make()), PROCESS, stopper)


def wall(lines: float) -> Case:
    """A free wall 20 mm long and 6 mm high."""
    whole = abs(lines - round(lines)) <= 0.05
    trouble = frozenset() if whole else frozenset({"partial line"})
    return Case(lambda: solid_of(box(0, 0, 20, 0.4 * lines), 0, 6), trouble)


def standing(section: Polygon, depth: float = 8.0) -> Shape:
    """A section in x and height, extruded across."""
    return kernel.moved(solid_of(section, -depth / 2, depth / 2), UPRIGHT)


def bridge(span: float) -> Case:
    """A deck of 2 mm on two pillars."""
    deck = box(-4, 0, span + 4, 8).difference(box(0, -1, span, 6))
    trouble = frozenset({"long bridge"}) if span > 8 else frozenset()
    return Case(lambda: standing(deck), trouble)


def leaning(from_vertical: float) -> Case:
    """A thick wall that leans over by an angle from the vertical, 6 mm high on a broad foot."""
    run = 6 * math.tan(math.radians(from_vertical))
    section = Polygon([(-20, 0), (0, 0), (run, 6), (-20, 6)])
    trouble = frozenset({"overhang"}) if from_vertical > 46 else frozenset()
    return Case(lambda: standing(section), trouble)


def ledge(reach: float) -> Case:
    """A flat ledge without support."""
    section = unary_union([box(-8, 0, 0, 8), box(-8, 6, reach, 8)])
    trouble = frozenset({"overhang"}) if reach > 1 else frozenset()
    return Case(lambda: standing(section), trouble)


def chamber(
    *,
    side: float = 1.2,
    roof: float = 1.2,
    floor: float = 1.2,
    span: float = 5.0,
    inlet: bool = True,
    troubles: str = "",
) -> Case:
    """A box with a cavity ``span`` wide, 10 long and 5 high, its inlet in a thick end block."""

    def make() -> Shape:
        middle = side + span / 2  # of an end block so thick that the lines around the bore fit
        reach = max(6.0, middle)
        end = box(-12, middle - reach, 0, middle + reach)
        plan = box(0, 0, 10 + side, span + 2 * side).union(end)
        body = solid_of(plan, 0, floor + 5 + roof)
        cavity = solid_of(box(0, side, 10, side + span), floor, floor + 5)
        cutters = [cavity]
        if inlet:
            middle = (-13, side + span / 2, floor + 2.5)
            cutters.append(kernel.cylinder(middle, (1, 0, 0), 1.0, 14.0))
        return kernel.cut(body, cutters)

    def stopper() -> Shape:
        return kernel.cylinder((-12, side + span / 2, floor + 2.5), (1, 0, 0), 1.05, 1.0)

    return Case(make, frozenset(t for t in troubles.split(", ") if t), stopper if inlet else None)


def house() -> Case:
    """A chamber 16 wide under a roof pitched at 45°."""
    outer = Polygon([(0, 0), (19.2, 0), (19.2, 5), (9.6, 14.6), (0, 5)])
    inner = Polygon([(1.6, 1.6), (17.6, 1.6), (17.6, 5), (9.6, 13), (1.6, 5)])

    def make() -> Shape:
        body = kernel.moved(solid_of(outer, -8, 8), UPRIGHT)
        cavity = kernel.moved(solid_of(inner, -6.8, 3), UPRIGHT)
        bore = kernel.cylinder((9.6, -9, 5), (0, 1, 0), 1.0, 8.0)
        return kernel.cut(body, [cavity, bore])

    return Case(make, frozenset(), lambda: kernel.cylinder((9.6, -8, 5), (0, 1, 0), 1.05, 1.0))


def jogged(jog: float) -> Case:
    """A chamber whose right wall steps sideways half way up."""
    outer = unary_union([box(0, 0, 9.2, 4), box(0, 4, 9.2 + jog, 9.2)])
    inner = unary_union([box(1.2, 1.2, 8, 4), box(1.2, 4, 8 + jog, 8)])

    def make() -> Shape:
        body = kernel.moved(solid_of(outer, -10, 8), UPRIGHT)
        cavity = kernel.moved(solid_of(inner, -5, 5), UPRIGHT)
        return kernel.cut(body, [cavity, kernel.cylinder((4.6, 11, 3), (0, -1, 0), 1.0, 8.0)])

    trouble = frozenset({"weak layer bond"}) if jog > 0.7 else frozenset()
    return Case(make, trouble, lambda: kernel.cylinder((4.6, 10, 3), (0, -1, 0), 1.05, 1.0))


def pair(gap: float) -> Case:
    """Two blocks on a common foot with a gap between them."""
    section = unary_union([box(0, 0, 12 + gap, 2), box(0, 2, 6, 8), box(6 + gap, 2, 12 + gap, 8)])
    trouble = frozenset({"welded gap"}) if gap < 0.8 else frozenset()
    return Case(lambda: standing(section), trouble)


def rib(width: float) -> Case:
    """A fin on a block."""
    plan = unary_union([box(0, 0, 6, 6), box(5.9, 3, 12, 3 + width)])
    trouble = frozenset({"uncovered"}) if width < 0.38 else frozenset()
    return Case(lambda: solid_of(plan, 0, 4), trouble)


def cone(from_vertical: float) -> Case:
    """A cone that widens upwards from a foot of 6 mm radius."""
    run = 5 * math.tan(math.radians(from_vertical))
    profile = straight([(0, 0), (6, 0), (6 + run, 5), (0, 5)])
    trouble = frozenset({"overhang"}) if from_vertical > 46 else frozenset()
    return Case(lambda: kernel.moved(kernel.turned(profile), UPRIGHT), trouble)


def holed(hole: Polygon, troubles: str = "") -> Case:
    """A block with a hole across."""
    section = box(-16, 0, 16, 30).difference(hole)
    return Case(lambda: standing(section), frozenset(t for t in troubles.split(", ") if t))


def hanging() -> Case:
    """A portal of 6 mm span with a block that hangs from its deck and starts in the air."""
    section = box(-4, 0, 10, 10).difference(box(0, -1, 6, 8)).union(box(2, 4, 4, 9))
    return Case(lambda: standing(section), frozenset({"island"}))


def ball() -> Case:
    """A ball of 8 mm radius, cut flat 1 mm above its lowest point."""
    arc = [(8 * math.sin(t), 8 - 8 * math.cos(t)) for t in np.linspace(0.5, math.pi, 40)]
    profile = straight([(0, arc[0][1]), *arc])
    return Case(lambda: kernel.moved(kernel.turned(profile), UPRIGHT), frozenset({"overhang"}))


def teardrop(radius: float) -> Polygon:
    """A round hole with a 45° tip."""
    tip = Polygon([(-radius / 2**0.5, radius / 2**0.5), (0, radius * 2**0.5),
                   (radius / 2**0.5, radius / 2**0.5)])  # fmt: skip
    return affinity.translate(Point(0, 0).buffer(radius, 32).union(tip), 0, 13)


CASES: dict[str, Case] = {
    **{f"wall of {n} lines": wall(n) for n in (2, 2.3, 2.5, 2.7, 3, 3.03, 3.5, 4, 4.4, 5, 6)},
    **{f"bridge of {span} mm": bridge(span) for span in (4, 6, 7.5, 9, 12, 15)},
    **{f"wall leaning {angle}°": leaning(angle) for angle in (20, 40, 50, 60, 70)},
    **{f"ledge of {reach} mm": ledge(reach) for reach in (0.5, 0.9, 1.5, 3)},
    **{f"cone at {angle}°": cone(angle) for angle in (30, 55)},
    **{f"gap of {gap} mm": pair(gap) for gap in (0.3, 0.6, 0.9, 1.5)},
    **{f"fin of {width} mm": rib(width) for width in (0.25, 0.4, 0.8)},
    "solid cube": Case(lambda: solid_of(box(0, 0, 10, 10), 0, 10), frozenset()),
    "upright tube of 3 lines": Case(
        lambda: solid_of(Point(0, 0).buffer(8, 64).difference(Point(0, 0).buffer(6.8, 64)), 0, 10),
        frozenset(),
    ),
    "hanging block": hanging(),
    "ball": ball(),
    "round hole of 4 mm across": holed(affinity.translate(Point(0, 0).buffer(2, 32), 0, 13)),
    "round hole of 20 mm across": holed(
        affinity.translate(Point(0, 0).buffer(10, 64), 0, 13), "overhang"
    ),
    "teardrop hole of 20 mm across": holed(teardrop(10)),
    "good chamber": chamber(),
    "chamber without inlet": chamber(inlet=False, troubles="sealed pocket"),
    "chamber with walls of 2 lines": chamber(side=0.8, troubles="thin pressure wall"),
    "chamber with walls of 3.4 lines": chamber(side=1.36, troubles="partial line"),
    "chamber with a roof of 2 layers": chamber(roof=0.4, troubles="thin pressure roof"),
    "chamber with a floor of 3 layers": chamber(floor=0.6, troubles="thin pressure roof"),
    "chamber 9.5 wide": chamber(span=9.5, troubles="long bridge"),
    "chamber under a pitched roof": house(),
    "chamber wall that steps by 0.4 mm": jogged(0.4),
    "chamber wall that steps by 0.9 mm": jogged(0.9),
}


@functools.cache
def checked(name: str) -> PrintCheck:
    """The check of a case, made once."""
    return CASES[name].check()

"""Which lines a layer is drawn with, and what they leave open.

Wall loops are set in from every edge one line at a time. Where the rest is one line wide it takes
a single line; where it is wider than a line and narrower than two, or narrower than one, something
stays open and gets gap-filled: that is where walls leak. Beyond the last loop straight lines fill
the rest.
"""

from __future__ import annotations

import dataclasses

import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from fiddlehead.fabricate.layers import GRID_MM, areas, grown, minus, opened, polygons
from fiddlehead.fabricate.process import Process

LINE_TOLERANCE = 0.06
"""A wall is a whole number of lines within this share of a line (0.05, and rounding)."""
SMALLEST_VOID = 0.5
"""Open places smaller than this share of a line width squared are closed by the plastic's flow;
chosen by us."""

SMALLEST_FEATURE = 2.0
"""Thin features smaller than this many line widths squared are edges nobody misses; chosen by
us."""


@dataclasses.dataclass(frozen=True, eq=False)
class Lines:
    """What one layer is drawn with.

    loops : closed wall loops (their middles)
    singles : areas drawn with one line along their middle
    infill : area filled with straight lines
    voids : between the lines: gap-filled or open
    uncovered : thinner than a line, so that nothing is drawn there
    """

    loops: tuple[BaseGeometry, ...]
    singles: BaseGeometry
    infill: BaseGeometry
    voids: BaseGeometry
    uncovered: BaseGeometry


def lines_of(section: BaseGeometry, process: Process) -> Lines:
    """Draw a layer's section with lines."""
    w = process.line_width_mm
    rest = section
    loops: list[BaseGeometry] = []
    singles: list[BaseGeometry] = []
    voids: list[BaseGeometry] = []
    uncovered: BaseGeometry = Polygon()
    for number in range(process.most_loops):
        if rest.is_empty:
            break
        wide = opened(rest, (1.0 - LINE_TOLERANCE / 2) * w)
        narrow = areas(minus(rest, wide)) if not wide.is_empty else rest
        single = opened(narrow, (0.5 - LINE_TOLERANCE / 2) * w)
        between = areas(grown(single, -(0.5 + LINE_TOLERANCE / 2) * w))
        slivers = _real(areas(minus(narrow, single)), w)
        if number == 0:
            edges = [p for p in polygons(slivers) if p.area > SMALLEST_FEATURE * w * w]
            uncovered = MultiPolygon(edges) if edges else Polygon()
        else:
            voids.append(slivers)
        voids.append(_real(between, w))  # what a line along the middle leaves over
        singles.append(single)
        loops += [p.boundary for p in polygons(grown(wide, -w / 2))]
        rest = areas(grown(wide, -w))
    return Lines(
        loops=tuple(loops),
        singles=_joined(singles),
        infill=rest,
        voids=_joined(voids),
        uncovered=uncovered,
    )


def _real(found: BaseGeometry, w: float) -> BaseGeometry:
    """Without what is thinner than the tolerance or smaller than a line's end."""
    kept = [
        p for p in polygons(opened(found, LINE_TOLERANCE / 2 * w)) if p.area > SMALLEST_VOID * w * w
    ]
    return MultiPolygon(kept) if kept else Polygon()


def _joined(found: list[BaseGeometry]) -> BaseGeometry:
    whole = [f for f in found if not f.is_empty]
    return areas(shapely.union_all(whole, grid_size=GRID_MM)) if whole else Polygon()


def narrow_gaps(section: BaseGeometry, process: Process) -> BaseGeometry:
    """Air between solids narrower than two lines: neighbours that get welded together."""
    w = process.line_width_mm
    radius = (1.0 - LINE_TOLERANCE / 2) * w
    closed = grown(grown(section, radius), -radius)
    kept = [p for p in polygons(minus(closed, section)) if p.area > w * w]
    return areas(shapely.multipolygons(kept)) if kept else Polygon()

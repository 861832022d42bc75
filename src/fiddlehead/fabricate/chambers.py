"""The air in and around a part, layer by layer: what is outside, what is a closed chamber."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from fiddlehead.fabricate.layers import GRID_MM, Layers, areas, common, minus, polygons

TOUCH_MM2 = 1e-3
"""Air of two layers is connected where it overlaps by more."""


@dataclasses.dataclass(frozen=True)
class Chamber:
    """A closed space.

    first_layer, last_layer : from the plate up
    sealed : without any inlet: not even when the stoppers are taken out does air get in
    """

    number: int
    volume_mm3: float
    first_layer: int
    last_layer: int
    sealed: bool


@dataclasses.dataclass(frozen=True, eq=False)
class Air:
    """Air of every layer.

    outside, inside : areas per layer, stoppers counted as neither
    """

    outside: tuple[BaseGeometry, ...]
    inside: tuple[BaseGeometry, ...]
    chambers: tuple[Chamber, ...]


def air_of(layers: Layers) -> Air:
    """Find the closed chambers of a part whose inlets are stopped."""
    closed = [
        section if plug.is_empty else shapely.union(section, plug, grid_size=GRID_MM)
        for section, plug in zip(layers.sections, layers.stoppers, strict=True)
    ]
    pieces, body = _bodies(layers, closed)
    open_pieces, open_body = _bodies(layers, list(layers.sections))
    outside, inside = [], []
    for number in range(len(closed)):
        at = [k for k, (layer, _) in enumerate(pieces) if layer == number]
        outside.append(_union([pieces[k][1] for k in at if body[k] == 0]))
        inside.append(_union([pieces[k][1] for k in at if body[k] != 0]))
    chambers: list[Chamber] = []
    for found in sorted(set(body) - {0}):
        mine = [k for k in range(len(pieces)) if body[k] == found]
        volume = layers.process.layer_height_mm * sum(pieces[k][1].area for k in mine)
        largest = max(mine, key=lambda k: pieces[k][1].area)
        layer, piece = pieces[largest]
        sealed = any(
            open_body[k] != 0 and other.intersects(piece.representative_point())
            for k, (at_layer, other) in enumerate(open_pieces)
            if at_layer == layer
        )
        numbers = [pieces[k][0] for k in mine]
        chambers.append(Chamber(len(chambers) + 1, volume, min(numbers), max(numbers), sealed))
    return Air(tuple(outside), tuple(inside), tuple(chambers))


def _union(found: Sequence[Polygon]) -> BaseGeometry:
    return MultiPolygon(list(found)) if found else Polygon()


def _bodies(
    layers: Layers, solids: Sequence[BaseGeometry]
) -> tuple[list[tuple[int, Polygon]], list[int]]:
    """Pieces of air (layer, area) and the body each belongs to; body 0 is outside.

    Air is outside where it reaches the frame, or lies in the lowest or the highest layer of the
    part, since plate and sky lie beyond.
    """
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    pieces: list[tuple[int, Polygon]] = []
    links: list[tuple[int, int]] = []
    before: list[int] = []
    rim = layers.frame.boundary
    top = len(solids) - 1
    for number, solid in enumerate(solids):
        now = []
        for piece in polygons(areas(minus(layers.frame, solid))):
            now.append(len(pieces) + 1)
            pieces.append((number, piece))
            if number in (0, top) or piece.boundary.intersects(rim):
                links.append((0, now[-1]))
        if before and now:
            below = [pieces[k - 1][1] for k in before]
            above = [pieces[k - 1][1] for k in now]
            over, under = shapely.STRtree(below).query(above, predicate="intersects")
            for i, j in zip(over, under, strict=True):
                if common(above[i], below[j]).area > TOUCH_MM2:
                    links.append((now[i], before[j]))
        before = now
    i, j = np.array(links).T if links else (np.zeros(0, int), np.zeros(0, int))
    size = len(pieces) + 1
    graph = coo_matrix((np.ones(len(i)), (i, j)), shape=(size, size))
    label = connected_components(graph, directed=False)[1]
    return pieces, [0 if found == label[0] else int(found) + 1 for found in label[1:]]

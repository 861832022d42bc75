"""Named quadrilaterals: what every drawing of the finger and its pad is made of."""

from __future__ import annotations

import dataclasses
from typing import Literal

Void = Literal["", "channel", "chamber"]
Boundary = Literal["root", "tip", "underside", "outside", "void"]


@dataclasses.dataclass(frozen=True)
class Place:
    """What a region is, in words."""

    name: str
    """Where this is; for a void the name of the cavity."""
    void: Void = ""
    """"" for solid over the whole width; else the cavity that opens it near the mid-plane."""
    side_name: str = ""
    """Name of the solid beside a void: the side wall."""
    web_name: str = ""
    """Name of the solid between a narrow channel and the side wall."""


@dataclasses.dataclass(frozen=True)
class Region:
    """One quadrilateral of the profile, corners counter-clockwise.

    ``edges`` names what the first and the second edge run along, so that neighbours are divided
    alike: root, land, wall, valley, tip, column (along x); pad, base, channel, wall, flank, skin,
    strut, column (through).
    """

    place: Place
    corners: tuple[int, int, int, int]
    edges: tuple[str, str]

    @property
    def name(self) -> str:
        """Where this is, in words; for a void the name of the cavity."""
        return self.place.name

    @property
    def void(self) -> Void:
        """ "" for solid over the whole width; else the cavity that opens it."""
        return self.place.void


def boundary_loops(regions: tuple[Region, ...]) -> tuple[tuple[int, ...], ...]:
    """Closed loops of vertices around all regions together, the solid on the left.

    Edges of one region only, chained; loops start at their lowest vertex number.
    """
    edges = [
        (region.corners[e], region.corners[(e + 1) % 4]) for region in regions for e in range(4)
    ]
    directed = set(edges)
    follows = {start: end for start, end in edges if (end, start) not in directed}
    loops = []
    while follows:
        start = min(follows)
        loop, at = [start], follows.pop(start)
        while at != start:
            loop.append(at)
            at = follows.pop(at)
        loops.append(tuple(loop))
    return tuple(loops)

"""The finger's one description of shape: named quadrilaterals in the x-y plane, and their reach
across the width.

Everything reads this: mesh, drawing, volumes, printable solid. Vertices are functions of the
parameters; which vertices make which region depends only on the number of bellows and on whether
there is a pad. The regions stand in columns on seven lines:

      H    +------+-------+--+     +--+-------+--+        outer peak
           |      | roof  |  |     |  |       |  |
      H_i  +------+-------+--+     +--+-------+--+        inner peak
           | root |       |  |     |  |       |  |
           |      |chamber|  |     |  |       |  |        flanks
      H_v  +------+-------+--+-----+--+-------+--+-----+  outer valley
           |      |       |  |     |  |       |  | tip |
      H_vi +------+-------+--+-----+--+-------+--+-----+  inner valley
           |      |       |  |     |  |       |  |     |  channel
      t_b  +------+-------+--+-----+--+-------+--+-----+  floor
      0    +------+-------+--+-----+--+-------+--+-----+  base
                  +-------+--+-----+--+-------+--+-----+  pad
    station 0     1       2  3     4  5       6  7     8

Serendipity bricks keep their full order only as parallelograms (Lee and Bathe, 1993, IJNME 36).
So flanks end at level cuts, with a block of its own in every corner between a flank and a flat;
with flanks at 90 degrees all regions are rectangles.
"""

from __future__ import annotations

import dataclasses
from functools import cached_property, lru_cache
from typing import Any, Literal

import numpy as np
from jaxtyping import Float

from fiddlehead.finger.dimensions import dimensions
from fiddlehead.finger.parameters import FingerParameters

Void = Literal["", "channel", "chamber"]
Boundary = Literal["root", "tip", "underside", "outside"]
Line = Literal["pad", "base", "floor", "inner valley", "outer valley", "inner peak", "outer peak"]

ROWS: tuple[tuple[str, Line, Line], ...] = (
    ("pad", "pad", "base"),
    ("base", "base", "floor"),
    ("channel", "floor", "inner valley"),
    ("wall", "inner valley", "outer valley"),
    ("flank", "outer valley", "inner peak"),
    ("wall", "inner peak", "outer peak"),
)
"""From the bottom up: what a row of regions runs through, its lower and its upper line."""


def inner_stations(bellows: int) -> tuple[int, int]:
    """Stations of a bellows' proximal and distal flank inside, at the cavity (from bellows 0)."""
    return 4 * bellows + 1, 4 * bellows + 2


def outer_stations(bellows: int) -> tuple[int, int]:
    """Stations of a bellows' proximal and distal flank outside; bellows 0, which starts at the
    root block, has the root face for its proximal one."""
    return 4 * bellows, 4 * bellows + 3


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
    alike: root, land, wall, valley, tip (along x); pad, base, channel, wall, flank (through).
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


@dataclasses.dataclass(frozen=True)
class ProfileLayout:
    """Which regions a finger has and how they join: everything about the shape but the sizes."""

    bellows_count: int
    narrow_channel: bool
    has_pad: bool

    @property
    def last_station(self) -> int:
        """Station of the tip face."""
        return 4 * self.bellows_count

    @cached_property
    def _lines(self) -> dict[Line, range]:
        """Stations present on each line."""
        last = self.last_station
        lines: dict[Line, range] = {"pad": range(1, last + 1)} if self.has_pad else {}
        low: tuple[Line, ...] = ("base", "floor", "inner valley", "outer valley")
        lines |= {line: range(last + 1) for line in low}
        lines["inner peak"] = lines["outer peak"] = range(last)
        return lines

    @cached_property
    def _first(self) -> dict[Line, int]:
        """Vertex number of station 0 on each line (whether or not it exists)."""
        first: dict[Line, int] = {}
        count = 0
        for line, stations in self._lines.items():
            first[line] = count - stations.start
            count += len(stations)
        return first

    def vertex(self, line: Line, station: int) -> int:
        """Number of the vertex at a station of a line."""
        assert station in self._lines[line], f"no station {station} on the {line} line"
        return self._first[line] + station

    @cached_property
    def _place(self) -> tuple[tuple[Line, int], ...]:
        """Line and station of every vertex."""
        return tuple((line, k) for line, stations in self._lines.items() for k in stations)

    def boundary(self, start: int, end: int) -> Boundary:
        """Which outer face stands on the profile's edge between two vertices.

        The tip is the end of the tip block; the underside is the gripping face (the pad's when
        there is one).
        """
        lines, stations = zip(self._place[start], self._place[end], strict=True)
        if stations == (0, 0):
            return "root"
        if set(stations) == {self.last_station} and "pad" not in lines:
            return "tip"
        return "underside" if set(lines) == {next(iter(self._lines))} else "outside"

    def vertices(self, parameters: Any, xp: Any = np) -> Float[Any, "vertex 2"]:
        """x and y of all vertices, mm.

        Parameters
        ----------
        parameters : anything with the attributes of ``FingerParameters``; numbers or JAX values
        xp : ``numpy`` or ``jax.numpy``
        """
        p, d = parameters, dimensions(parameters, xp)
        sine, cosine = xp.sin(xp.deg2rad(p.flank_angle_deg)), xp.cos(xp.deg2rad(p.flank_angle_deg))
        shift, run, thick = d.miter_shift, d.flank_run, p.wall_thickness_mm / sine
        # Where each flank starts inside and ends outside, along x from its inner foot.
        valley = _ledge(xp, shift, thick, d.inner_valley) * xp.ones(self.bellows_count - 1)
        tip = xp.reshape(_ledge(xp, shift, thick, p.tip_length_mm + shift), (1,))
        feet = 0.0, xp.concatenate([valley, tip])
        peak = shift - run
        across: dict[Line, tuple[Any, tuple[Any, Any]]] = {
            "pad": (-p.pad_depth_mm, feet),
            "base": (0.0, feet),
            "floor": (p.base_thickness_mm, feet),
            "inner valley": (d.inner_valley_height, feet),
            "outer valley": (p.valley_height_mm, (-p.roof_thickness_mm * cosine / sine, shift)),
            "inner peak": (d.inner_height, (-run, thick - run)),
            "outer peak": (
                p.height_mm,
                (peak - _ledge(xp, shift, thick, d.inner_land + 2 * shift), peak),
            ),
        }
        distal = d.first_foot + p.pitch_mm * np.arange(self.bellows_count)  # inner feet
        proximal = distal + d.inner_valley  # of the next bellows
        ends = [xp.reshape(xp.asarray(x, dtype=float), (1,)) for x in (0, p.root_length_mm)]
        end = xp.reshape(xp.asarray(d.length), (1,))
        rows = []
        for line, stations in self._lines.items():
            y, (start, stop) = across[line]
            flanks = [distal + start, distal + stop, proximal - stop, proximal - start]
            x = xp.concatenate([*ends, xp.reshape(xp.stack(flanks, axis=1), (-1,))[:-2], end])
            x = x[stations.start : stations.stop]
            rows.append(xp.stack([x, y * xp.ones(len(stations))], axis=1))
        return xp.concatenate(rows)

    def width_stations(self, parameters: Any, xp: Any = np) -> Float[Any, " station"]:
        """z where the section changes: mid-plane, (channel,) chamber, outer face, mm."""
        chamber = dimensions(parameters, xp).chamber_width / 2
        channel = [parameters.channel_width_mm / 2] if self.narrow_channel else []
        stations = [0.0, *channel, chamber, parameters.width_mm / 2]
        return xp.stack([xp.asarray(z, dtype=float) for z in stations])

    @property
    def interval_count(self) -> int:
        """Number of intervals across the half width."""
        return 3 if self.narrow_channel else 2

    def void_intervals(self, region: Region) -> int:
        """How many intervals, counted from the mid-plane, are open in this region."""
        return {"": 0, "channel": 1, "chamber": self.interval_count - 1}[region.void]

    def name(self, region: Region, interval: int) -> str:
        """Where a region is in an interval across the width, in words."""
        if not region.void or interval < self.void_intervals(region):
            return region.name
        place = region.place
        return place.side_name if interval == self.interval_count - 1 else place.web_name

    @cached_property
    def regions(self) -> tuple[Region, ...]:
        """All regions, void and solid, from the root to the tip."""
        regions = self._column(0, "root", [None, *5 * [Place("root block")]])
        for i in range(self.bellows_count):
            regions += self._bellows(i)
            regions += self._valley(i) if i + 1 < self.bellows_count else self._tip()
        return tuple(regions)

    def _column(self, station: int, along: str, places: list[Place | None]) -> list[Region]:
        """Regions above each other, from the pad up, from ``station`` to the next."""
        v = self.vertex
        return [
            Region(
                place,
                (v(low, station), v(low, station + 1), v(high, station + 1), v(high, station)),
                (along, row),
            )
            for place, (row, low, high) in zip(places, ROWS, strict=False)
            if place is not None and (row != "pad" or self.has_pad)
        ]

    def _bellows(self, i: int) -> list[Region]:
        label = f"bellows {i + 1}"
        chamber = Place(f"chamber of {label}", "chamber", f"side wall of {label}")
        under: list[Place | None] = [Place(f"pad under {label}"), Place(f"base under {label}")]
        places = [*under, *3 * [chamber], Place(f"roof of {label}")]
        return self._column(inner_stations(i)[0], "land", places)

    def _valley(self, i: int) -> list[Region]:
        """From the distal flank of one bellows to the proximal flank of the next."""
        place = f"between bellows {i + 1} and {i + 2}"
        channel = Place(f"channel {place}", "channel", f"side wall {place}", f"web {place}")
        under = [Place(f"pad {place}"), Place(f"base {place}"), channel]
        distal, proximal = outer_stations(i)[1], outer_stations(i + 1)[0]
        return [
            *self._column(distal - 1, "wall", [*under, *_flank(i, f"bellows {i + 2}")]),
            *self._column(distal, "valley", [*under, Place(f"valley {place}")]),
            *self._column(proximal, "wall", [*under, *_flank(i + 1, f"bellows {i + 1}")]),
        ]

    def _tip(self) -> list[Region]:
        """The last bellows' distal flank and the tip block, which reaches under its foot."""
        tip, last = Place("tip block"), self.bellows_count - 1
        under = [Place("pad under the tip block"), tip, tip]
        distal = outer_stations(last)[1]
        return [
            *self._column(distal - 1, "wall", [*under, *_flank(last, "the tip")]),
            *self._column(distal, "tip", [*under, tip]),
        ]


def _flank(bellows: int, towards: str) -> list[Place]:
    """A flank from its foot in the valley to its corner at the peak."""
    label = f"of bellows {bellows + 1} towards {towards}"
    return [Place(f"foot {label}"), Place(f"flank {label}"), Place(f"flank {label}")]


def _ledge(xp: Any, shift: Any, thick: Any, flat: Any) -> Any:
    """Length along a flat of the block in its corner with a flank, mm.

    The block ends square to the flat where the flank's other face starts, ``shift`` away. Where a
    leaning flank is so thin that this leaves too little or nothing, it takes a quarter of the
    flank's level thickness, or of the flat if that is shorter, and its neighbour leans.
    """
    return xp.maximum(shift, xp.minimum(thick, flat) / 4)


@lru_cache(maxsize=64)
def _layout(bellows_count: int, narrow_channel: bool, has_pad: bool) -> ProfileLayout:
    return ProfileLayout(bellows_count, narrow_channel, has_pad)


def profile_layout(parameters: FingerParameters) -> ProfileLayout:
    """The layout of a finger; equal layouts are one object, so they can key caches."""
    return _layout(
        int(parameters.bellows_count), parameters.narrow_channel, parameters.pad_depth_mm > 0
    )

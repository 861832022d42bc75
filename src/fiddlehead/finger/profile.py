"""The finger's one description of shape: named quadrilaterals in the x-y plane, and their reach
across the width.

Everything reads this: mesh, drawing, volumes, printable solid. Vertices are functions of the
parameters; which vertices make which region depends only on the number of bellows and on the
kind and counts of the pad. The regions of the bellows stand in columns between the stations and
lines drawn in ``stations``; over a pad with ribs or cells some parts hold several columns, so
that the pad's feet find their place on the base layer.

Serendipity bricks keep their full order only as parallelograms (Lee and Bathe, 1993, IJNME 36).
So flanks end at level cuts, with a block of its own in every corner between a flank and a flat;
with flanks at 90 degrees all regions are rectangles, but for a base layer over ribs or cells.
"""

from __future__ import annotations

import dataclasses
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
from jaxtyping import Float

from fiddlehead.finger.dimensions import dimensions
from fiddlehead.finger.pad.columns import Proportions
from fiddlehead.finger.pad.layout import PadDrawing, PadLayout, pad_layout
from fiddlehead.finger.pad.parameters import pad_depth, used_sizes
from fiddlehead.finger.parameters import CONTINUOUS, FingerParameters
from fiddlehead.finger.regions import Boundary, Place, Region, boundary_loops
from fiddlehead.finger.stations import (
    ROWS,
    Line,
    inner_stations,
    outer_stations,
    part_of,
    station_places,
)


@dataclasses.dataclass(frozen=True)
class ProfileLayout:
    """Which regions a finger has and how they join: everything about the shape but the sizes."""

    bellows_count: int
    narrow_channel: bool
    pad: PadLayout | None = None

    @property
    def last_station(self) -> int:
        """Station of the tip face."""
        return 4 * self.bellows_count

    @property
    def size_names(self) -> tuple[str, ...]:
        """Names of all continuous parameters that this layout's shape depends on."""
        pad = used_sizes(self.pad) if self.pad else ()
        return (*CONTINUOUS, *(f"pad_{name}" for name in pad))

    @cached_property
    def _open_pad(self) -> PadLayout | None:
        """The pad when it has voids."""
        return None if self.pad is None or self.pad.plain else self.pad

    @cached_property
    def splits(self) -> tuple[int, ...]:
        """Columns from each station to the next."""
        if self._open_pad:
            return (1, *self._open_pad.base_splits)
        return self.last_station * (1,)

    @cached_property
    def _column(self) -> tuple[int, ...]:
        """Number of the column that starts at each station."""
        return tuple(int(n) for n in np.cumsum([0, *self.splits]))

    @cached_property
    def _lines(self) -> dict[Line, range]:
        """Columns whose first vertex is present on each line, and the last vertex."""
        last = self._column[-1]
        plain = self.pad is not None and self.pad.plain
        lines: dict[Line, range] = {"pad": range(1, last + 1)} if plain else {}
        low: tuple[Line, ...] = ("base", "floor", "inner valley", "outer valley")
        lines |= {line: range(last + 1) for line in low}
        lines["inner peak"] = lines["outer peak"] = range(self._column[-2] + 1)
        return lines

    @cached_property
    def _first(self) -> dict[Line, int]:
        """Vertex number of column 0 on each line (whether or not it exists)."""
        first: dict[Line, int] = {}
        count = 0
        for line, columns in self._lines.items():
            first[line] = count - columns.start
            count += len(columns)
        return first

    def vertex(self, line: Line, station: int) -> int:
        """Number of the vertex at a station of a line."""
        return self._at(line, self._column[station])

    def _at(self, line: Line, column: int) -> int:
        assert column in self._lines[line], f"no column {column} on the {line} line"
        return self._first[line] + column

    @cached_property
    def _place(self) -> tuple[tuple[Line, int], ...]:
        """Line and column of every vertex of the bellows, base and plain pad."""
        return tuple((line, k) for line, columns in self._lines.items() for k in columns)

    @cached_property
    def _pad_drawing(self) -> PadDrawing | None:
        if self._open_pad is None:
            return None
        return self._open_pad.draw(self._at("base", 1), len(self._place))

    @cached_property
    def gripping_ends(self) -> tuple[int, int]:
        """Vertices at the two ends of the gripping face, at the root and at the tip."""
        if self._pad_drawing:
            return self._pad_drawing.ends
        line, columns = next(iter(self._lines.items()))
        return self._at(line, columns.start), self._at(line, columns[-1])

    def boundary(self, start: int, end: int) -> Boundary:
        """Which outer face stands on the profile's edge between two vertices.

        The tip is the end of the tip block; the underside is the gripping face (the pad's when
        there is one); a void is a wall inside the pad.
        """
        if (start, end) in self._void_edges:
            return "void"
        drawing = self._pad_drawing
        if max(start, end) >= len(self._place):
            assert drawing is not None
            return "underside" if {start, end} <= drawing.contact else "outside"
        lines, columns = zip(self._place[start], self._place[end], strict=True)
        if columns == (0, 0):
            return "root"
        if set(columns) == {self._column[-1]} and "pad" not in lines:
            return "tip"
        lowest = drawing is None and set(lines) == {next(iter(self._lines))}
        return "underside" if lowest else "outside"

    @cached_property
    def void_loops(self) -> tuple[tuple[int, ...], ...]:
        """Vertices around every void of the pad, clockwise (the solid on the left)."""
        outer = self.vertex("base", 0)
        return tuple(loop for loop in boundary_loops(self.regions) if outer not in loop)

    @cached_property
    def _void_edges(self) -> frozenset[tuple[int, int]]:
        return frozenset(
            (loop[k - 1], loop[k]) for loop in self.void_loops for k in range(len(loop))
        )

    def vertices(self, parameters: Any, xp: Any = np) -> Float[Any, "vertex 2"]:
        """x and y of all vertices, mm.

        Parameters
        ----------
        parameters : anything with the attributes of ``FingerParameters``; numbers or JAX values
        xp : ``numpy`` or ``jax.numpy``
        """
        depth, over, under = 0.0, None, None
        if self.pad is not None:
            depth = pad_depth(parameters.pad, self.pad.rib_count > 0, self.pad.cells)
        if self._open_pad is not None and self._pad_drawing is not None:
            length = dimensions(parameters, xp).length
            over, under = self._open_pad.vertices(
                self._pad_drawing, parameters.pad, parameters.root_length_mm, length, xp
            )
        rows = []
        places = station_places(parameters, self.bellows_count, depth, xp)
        for line, columns in self._lines.items():
            stations, y = places[line]
            x = self._spread @ stations
            if line == "base" and over is not None:
                x = xp.concatenate([x[:1], over])
            x = x[columns.start : columns.stop]
            rows.append(xp.stack([x, y * xp.ones(len(columns))], axis=1))
        return xp.concatenate([*rows, under] if under is not None else rows)

    @cached_property
    def _spread(self) -> Float[np.ndarray, "column station"]:
        """Places of all columns from those of the stations: even steps in between."""
        found = np.zeros((self._column[-1] + 1, self.last_station + 1))
        for station, count in enumerate(self.splits):
            for k in range(count):
                column = self._column[station] + k
                found[column, station : station + 2] = 1 - k / count, k / count
        found[-1, -1] = 1.0
        return found

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
        """All regions, void and solid: from the root to the tip, then those of an open pad."""
        regions = self._stack(0, [None, *5 * [Place("root block")]])
        for i in range(self.bellows_count):
            regions += self._bellows(i)
            regions += self._valley(i) if i + 1 < self.bellows_count else self._tip()
        return (*regions, *(self._pad_drawing.regions if self._pad_drawing else ()))

    def _stack(self, station: int, places: list[Place | None]) -> list[Region]:
        """Regions above each other, from the pad up, in each column up to the next station."""
        v, part = self._at, part_of(station, self.bellows_count)
        along = "column" if self._open_pad and part in ("land", "valley", "tip") else part
        start, stop = self._column[station : station + 2]
        return [
            Region(place, (v(low, k), v(low, k + 1), v(high, k + 1), v(high, k)), (along, row))
            for k in range(start, stop)
            for place, (row, low, high) in zip(places, ROWS, strict=False)
            if place is not None and (row != "pad" or "pad" in self._lines)
        ]

    def _bellows(self, i: int) -> list[Region]:
        label = f"bellows {i + 1}"
        chamber = Place(f"chamber of {label}", "chamber", f"side wall of {label}")
        under: list[Place | None] = [Place(f"pad under {label}"), Place(f"base under {label}")]
        places = [*under, *3 * [chamber], Place(f"roof of {label}")]
        return self._stack(inner_stations(i)[0], places)

    def _valley(self, i: int) -> list[Region]:
        """From the distal flank of one bellows to the proximal flank of the next."""
        place = f"between bellows {i + 1} and {i + 2}"
        channel = Place(f"channel {place}", "channel", f"side wall {place}", f"web {place}")
        under = [Place(f"pad {place}"), Place(f"base {place}"), channel]
        distal, proximal = outer_stations(i)[1], outer_stations(i + 1)[0]
        return [
            *self._stack(distal - 1, [*under, *_flank(i, f"bellows {i + 2}")]),
            *self._stack(distal, [*under, Place(f"valley {place}")]),
            *self._stack(proximal, [*under, *_flank(i + 1, f"bellows {i + 1}")]),
        ]

    def _tip(self) -> list[Region]:
        """The last bellows' distal flank and the tip block, which reaches under its foot."""
        tip, last = Place("tip block"), self.bellows_count - 1
        under = [Place("pad under the tip block"), tip, tip]
        distal = outer_stations(last)[1]
        return [
            *self._stack(distal - 1, [*under, *_flank(last, "the tip")]),
            *self._stack(distal, [*under, tip]),
        ]


def _flank(bellows: int, towards: str) -> list[Place]:
    """A flank from its foot in the valley to its corner at the peak."""
    label = f"of bellows {bellows + 1} towards {towards}"
    return [Place(f"foot {label}"), Place(f"flank {label}"), Place(f"flank {label}")]


@lru_cache(maxsize=64)
def _layout(bellows_count: int, narrow_channel: bool, pad: PadLayout | None) -> ProfileLayout:
    return ProfileLayout(bellows_count, narrow_channel, pad)


def profile_layout(parameters: FingerParameters) -> ProfileLayout:
    """The layout of a finger; equal layouts are one object, so they can key caches."""
    p = parameters
    pad = None
    if p.pad is not None:
        above = Proportions(
            bellows_count=int(p.bellows_count),
            run_quarters=round(4 * float(p.dimensions.flank_run) / p.pitch_mm),
            tip_halves=min(max(round(2 * p.tip_length_mm / p.pitch_mm), 1), 40),
        )
        pad = pad_layout(p.pad, above, p.length_mm - p.root_length_mm)
    return _layout(int(p.bellows_count), p.narrow_channel, pad)

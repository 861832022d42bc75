"""The finger's one description of shape: named quadrilaterals in the x-y plane, and their reach
across the width.

Everything reads this: mesh, drawing, volumes, printable solid. Vertices are smooth functions of
the parameters; which vertices make which region depends only on the number of bellows and on
whether there is a pad.

      y                      peak line (outer and inner)
      H  +-------+----+            +----+
         | root  |    |\\          /|    |\\
         |       | v  | \\        / | v  | \\    flank rows
    H_v  |       | o  |  +------+  | o  |  +------+   outer foot line
         |       | i  |  valley    | i  |  | tip  |   foot line (inner)
    t_b  +-------+----+--+------+--+----+--+------+   floor line
      0  +-------+-----base------------------------+  base line
                 +-----pad-------------------------+  pad line

Stations along x are numbered alike on every line: 0 the root face, ``1 + 2i`` and ``2 + 2i`` the
proximal and distal flank of bellows ``i`` (counted from 0), ``2n + 1`` the tip face.
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
Line = Literal["pad", "base", "floor", "foot", "inner peak", "outer peak", "outer foot"]


@dataclasses.dataclass(frozen=True)
class Region:
    """One quadrilateral of the profile, corners counter-clockwise.

    ``edges`` names what the first and the second edge run along, so that neighbours are divided
    alike: root, land, valley, tip (along x); pad, base, channel, flank, wall (through).
    """

    name: str
    """Where this is, in words; for a void the name of the cavity."""
    corners: tuple[int, int, int, int]
    edges: tuple[str, str]
    void: Void = ""
    """"" for solid over the whole width; else the cavity that opens it near the mid-plane."""
    side_name: str = ""
    """Name of the solid beside a void: the side wall."""
    web_name: str = ""
    """Name of the solid between a narrow channel and the side wall."""


@dataclasses.dataclass(frozen=True)
class ProfileLayout:
    """Which regions a finger has and how they join: everything about the shape but the sizes."""

    bellows_count: int
    narrow_channel: bool
    has_pad: bool

    @cached_property
    def _lines(self) -> dict[Line, range]:
        """Stations present on each line."""
        last = 2 * self.bellows_count + 1
        lines: dict[Line, range] = {"pad": range(1, last + 1)} if self.has_pad else {}
        lines |= {line: range(last + 1) for line in ("base", "floor", "foot")}
        lines |= {line: range(last) for line in ("inner peak", "outer peak")}
        return lines | {"outer foot": range(2, last + 1)}

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
        if set(stations) == {2 * self.bellows_count + 1} and "pad" not in lines:
            return "tip"
        return "underside" if set(lines) == {next(iter(self._lines))} else "outside"

    def vertices(self, parameters: Any, xp: Any = np) -> Float[np.ndarray, "vertex 2"]:
        """x and y of all vertices, mm.

        Parameters
        ----------
        parameters : anything with the attributes of ``FingerParameters``; numbers or JAX values
        xp : ``numpy`` or ``jax.numpy``
        """
        p, d = parameters, dimensions(parameters, xp)
        distal = d.first_foot + p.pitch_mm * np.arange(self.bellows_count)  # inner feet
        proximal = distal[:-1] + d.inner_valley
        root, shift = p.root_length_mm, d.miter_shift
        inner_peak = _interleave(xp, root, proximal + d.flank_run, distal - d.flank_run)
        outer_peak = _interleave(
            xp, root, proximal + d.flank_run - shift, distal - d.flank_run + shift
        )
        foot = _interleave(xp, root, proximal, distal)
        outer_foot = _interleave(xp, root, proximal - shift, distal + shift)
        end = xp.reshape(xp.asarray(d.length), (1,))
        foot, outer_foot = xp.concatenate([foot, end]), xp.concatenate([outer_foot, end])
        across = {
            "pad": (foot, -p.pad_depth_mm),
            "base": (foot, 0.0),
            "floor": (foot, p.base_thickness_mm),
            "foot": (foot, d.inner_valley_height),
            "inner peak": (inner_peak, d.inner_height),
            "outer peak": (outer_peak, p.height_mm),
            "outer foot": (outer_foot, p.valley_height_mm),
        }
        rows = []
        for line, stations in self._lines.items():
            x, y = across[line]
            x = x[stations.start : stations.stop]
            rows.append(xp.stack([x, y * xp.ones(len(stations))], axis=1))
        return xp.concatenate(rows)

    def width_stations(self, parameters: Any, xp: Any = np) -> Float[np.ndarray, " station"]:
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
        return region.side_name if interval == self.interval_count - 1 else region.web_name

    @cached_property
    def regions(self) -> tuple[Region, ...]:
        """All regions, void and solid, from the root to the tip."""
        bellows = range(self.bellows_count)
        regions = self._root()
        for i in bellows:
            regions += self._bellows(i)
            regions += self._valley(i) if i + 1 < self.bellows_count else self._tip()
        return tuple(regions)

    def _between(self, lower: Line, upper: Line, station: int) -> tuple[int, int, int, int]:
        """Corners of the quadrilateral between two lines, from ``station`` to the next."""
        v = self.vertex
        return (v(lower, station), v(lower, station + 1), v(upper, station + 1), v(upper, station))

    def _root(self) -> list[Region]:
        rows: list[tuple[Line, Line, str]] = [
            ("base", "floor", "base"),
            ("floor", "foot", "channel"),
            ("foot", "inner peak", "flank"),
            ("inner peak", "outer peak", "wall"),
        ]
        return [
            Region("root block", self._between(lower, upper, 0), ("root", row))
            for lower, upper, row in rows
        ]

    def _pad(self, station: int, column: str, place: str) -> list[Region]:
        if not self.has_pad:
            return []
        return [Region(f"pad {place}", self._between("pad", "base", station), (column, "pad"))]

    def _bellows(self, i: int) -> list[Region]:
        left, right, label = 1 + 2 * i, 2 + 2 * i, f"bellows {i + 1}"
        chamber = f"chamber of {label}"
        side = f"side wall of {label}"
        v = self.vertex
        distal = (
            v("foot", right),
            v("outer foot", right),
            v("outer peak", right),
            v("inner peak", right),
        )
        regions = [
            *self._pad(left, "land", f"under {label}"),
            Region(f"base under {label}", self._between("base", "floor", left), ("land", "base")),
            Region(
                chamber, self._between("floor", "foot", left), ("land", "channel"), "chamber", side
            ),
            Region(
                chamber,
                self._between("foot", "inner peak", left),
                ("land", "flank"),
                "chamber",
                side,
            ),
            Region(
                f"roof of {label}",
                self._between("inner peak", "outer peak", left),
                ("land", "wall"),
            ),
            Region(self._flank_name(i, i + 1), distal, ("wall", "flank")),
        ]
        if i > 0:
            proximal = (
                v("outer foot", left),
                v("foot", left),
                v("inner peak", left),
                v("outer peak", left),
            )
            regions.insert(0, Region(self._flank_name(i, i - 1), proximal, ("wall", "flank")))
        return regions

    def _flank_name(self, i: int, towards: int) -> str:
        other = "the tip" if towards == self.bellows_count else f"bellows {towards + 1}"
        return f"flank of bellows {i + 1} towards {other}"

    def _valley(self, i: int) -> list[Region]:
        station, place = 2 + 2 * i, f"between bellows {i + 1} and {i + 2}"
        return [
            *self._pad(station, "valley", place),
            Region(f"base {place}", self._between("base", "floor", station), ("valley", "base")),
            Region(
                f"channel {place}",
                self._between("floor", "foot", station),
                ("valley", "channel"),
                "channel",
                f"side wall {place}",
                f"web {place}",
            ),
            Region(
                f"valley {place}", self._between("foot", "outer foot", station), ("valley", "wall")
            ),
        ]

    def _tip(self) -> list[Region]:
        station = 2 * self.bellows_count
        rows: list[tuple[Line, Line, str]] = [
            ("base", "floor", "base"),
            ("floor", "foot", "channel"),
            ("foot", "outer foot", "wall"),
        ]
        return [
            *self._pad(station, "tip", "under the tip block"),
            *(
                Region("tip block", self._between(lower, upper, station), ("tip", row))
                for lower, upper, row in rows
            ),
        ]


def _interleave(xp: Any, root: Any, proximal: Any, distal: Any) -> Any:
    """Stations 0 to 2n: the root face, then proximal and distal of each bellows in turn.

    The first bellows' proximal side is the root block's inner face.
    """
    head = xp.stack([xp.asarray(0.0), xp.asarray(root, dtype=float)])
    pairs = xp.reshape(xp.stack([distal[:-1], proximal], axis=1), (-1,))
    return xp.concatenate([head, pairs, distal[-1:]])


@lru_cache(maxsize=64)
def _layout(bellows_count: int, narrow_channel: bool, has_pad: bool) -> ProfileLayout:
    return ProfileLayout(bellows_count, narrow_channel, has_pad)


def profile_layout(parameters: FingerParameters) -> ProfileLayout:
    """The layout of a finger; equal layouts are one object, so they can key caches."""
    return _layout(
        int(parameters.bellows_count), parameters.narrow_channel, parameters.pad_depth_mm > 0
    )

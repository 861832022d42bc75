"""Where the walls of the bellows stand: stations along x on seven lines.

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
"""

from __future__ import annotations

from typing import Any, Literal

import numpy as np

from fiddlehead.finger.dimensions import dimensions

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


def part_of(station: int, bellows_count: int) -> str:
    """What lies between a station and the next: root, land, wall, valley or tip."""
    if station == 0:
        return "root"
    if station == 4 * bellows_count - 1:
        return "tip"
    return ("wall", "land", "wall", "valley")[station % 4]


def station_places(
    parameters: Any, bellows_count: int, pad_depth: Any, xp: Any = np
) -> dict[Line, tuple[Any, Any]]:
    """x of all stations on each line, and the line's y, mm.

    The peaks end at the last bellows; their last x stands for a station that no region uses.

    Parameters
    ----------
    parameters : anything with the attributes of ``FingerParameters``; numbers or JAX values
    pad_depth : depth of the pad, mm
    xp : ``numpy`` or ``jax.numpy``
    """
    p, d = parameters, dimensions(parameters, xp)
    sine, cosine = xp.sin(xp.deg2rad(p.flank_angle_deg)), xp.cos(xp.deg2rad(p.flank_angle_deg))
    shift, run, thick = d.miter_shift, d.flank_run, p.wall_thickness_mm / sine
    # Where each flank starts inside and ends outside, along x from its inner foot.
    valley = _ledge(xp, shift, thick, d.inner_valley) * xp.ones(bellows_count - 1)
    tip = xp.reshape(_ledge(xp, shift, thick, p.tip_length_mm + shift), (1,))
    feet = 0.0, xp.concatenate([valley, tip])
    peak = shift - run
    across: dict[Line, tuple[Any, tuple[Any, Any]]] = {
        "pad": (-pad_depth, feet),
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
    distal = d.first_foot + p.pitch_mm * np.arange(bellows_count)  # inner feet
    proximal = distal + d.inner_valley  # of the next bellows
    ends = [xp.reshape(xp.asarray(x, dtype=float), (1,)) for x in (0, p.root_length_mm)]
    end = xp.reshape(xp.asarray(d.length), (1,))
    found: dict[Line, tuple[Any, Any]] = {}
    for line, (y, (start, stop)) in across.items():
        flanks = [distal + start, distal + stop, proximal - stop, proximal - start]
        flat = xp.reshape(xp.stack(flanks, axis=1), (-1,))[:-2]
        found[line] = (xp.concatenate([*ends, flat, end]), y)
    return found


def _ledge(xp: Any, shift: Any, thick: Any, flat: Any) -> Any:
    """Length along a flat of the block in its corner with a flank, mm.

    The block ends square to the flat where the flank's other face starts, ``shift`` away. Where a
    leaning flank is so thin that this leaves too little or nothing, it takes a quarter of the
    flank's level thickness, or of the flat if that is shorter, and its neighbour leans.
    """
    return xp.maximum(shift, xp.minimum(thick, flat) / 4)

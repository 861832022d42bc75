"""Which columns of a skin the ribs and cells stand on: whole numbers that depend on counts only.

A skin is divided into columns once; what stands on its two faces need not agree. Each foot takes
the columns nearest to its place, in order, with at least one column between neighbours, so that
the skin's elements lean as little as possible.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from functools import lru_cache
from itertools import product

from fiddlehead.finger.stations import part_of

FREE = -1
"""Part number of columns on which nothing may stand."""
GOOD_SHIFT = 0.15
"""Largest sideways shift between a foot and its columns, in pitches, that ends the search."""


@dataclasses.dataclass(frozen=True)
class Columns:
    """Columns of a skin in the order of x: the middle of each, and the part it belongs to.

    A foot stands within one part. Places are shares of the pad's length.
    """

    middles: tuple[float, ...]
    parts: tuple[int, ...]


def stand(
    places: Sequence[float], widths: Sequence[int], columns: Columns
) -> tuple[tuple[int, ...], float] | None:
    """First column of every foot, and the largest shift; None when there is no room.

    The first and the last foot are the end walls and take the outermost columns. The sum of the
    squared shifts is least, found from the root to the tip, foot by foot (dynamic programming).

    Parameters
    ----------
    places : middle of every foot as a share of the length, rising
    widths : columns each foot takes
    """
    count, last = len(columns.middles), len(places) - 1
    best: list[dict[int, tuple[float, int]]] = []
    for foot, (place, width) in enumerate(zip(places, widths, strict=True)):
        ways: dict[int, tuple[float, int]] = {}
        starts = range(count - width + 1)
        if foot == 0:
            starts = range(1)
        elif foot == last:
            starts = range(count - width, count - width + 1)
        reached: tuple[float, int] | None = None
        previous = iter(sorted(best[-1].items())) if foot else iter(())
        waiting = next(previous, None)
        for start in starts:
            while waiting and waiting[0] + widths[foot - 1] < start:
                if reached is None or waiting[1][0] < reached[0]:
                    reached = (waiting[1][0], waiting[0])
                waiting = next(previous, None)
            parts = set(columns.parts[start : start + width])
            inner = foot not in (0, last)
            if (foot and reached is None) or (inner and (len(parts) > 1 or FREE in parts)):
                continue
            shift = sum(columns.middles[start : start + width]) / width - place
            cost = shift**2 if inner else 0.0
            ways[start] = (cost + (reached[0] if reached else 0.0), reached[1] if reached else -1)
        if not ways:
            return None
        best.append(ways)
    chosen = [next(iter(best[-1]))]
    for foot in range(last, 0, -1):
        chosen.append(best[foot][chosen[-1]][1])
    chosen.reverse()
    shifts = [
        abs(sum(columns.middles[s : s + w]) / w - place)
        for s, w, place in list(zip(chosen, widths, places, strict=True))[1:-1]
    ]
    return tuple(chosen), max(shifts, default=0.0)


MOST_EXTRA = 1.3
"""Columns tried beyond the fewest that hold all feet, as a factor."""
LAND, WALL, VALLEY = 0.6, 0.1, 0.2
"""Lengths of a bellows' parts at the base, in pitches, that columns are assigned by."""


@dataclasses.dataclass(frozen=True)
class Proportions:
    """What the columns of a base layer follow: counts, and ratios rounded so that fingers of
    similar shape share them."""

    bellows_count: int
    run_quarters: int
    """Length along x that a flank covers, in quarter pitches."""
    tip_halves: int
    """Length of the tip block, in half pitches."""


def base_columns(
    shape: Proportions, splits: tuple[int, int, int]
) -> tuple[Columns, tuple[int, ...]]:
    """Columns of the base layer over the pad, and how many each part has from station 1 on.

    Parameters
    ----------
    splits : columns of every land, valley and of the tip
    """
    lengths = {"land": LAND, "wall": WALL, "valley": VALLEY, "tip": shape.tip_halves / 2}
    counts = dict(zip(("land", "valley", "tip"), splits, strict=True)) | {"wall": 1}
    parts = [part_of(k, shape.bellows_count) for k in range(1, 4 * shape.bellows_count)]
    first = LAND - shape.run_quarters / 4  # the first bellows has no proximal flank
    whole = sum(lengths[part] for part in parts) - LAND + first
    middles, owners, at = [], [], 0.0
    for number, part in enumerate(parts):
        length = lengths[part] if number else first
        step = length / counts[part]
        middles += [(at + step * (k + 0.5)) / whole for k in range(counts[part])]
        owners += counts[part] * [FREE if part == "wall" else number]
        at += length
    return Columns(tuple(middles), tuple(owners)), tuple(counts[part] for part in parts)


@lru_cache(maxsize=64)
def base_columns_for(
    places: tuple[float, ...], widths: tuple[int, ...], shape: Proportions
) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Columns of the parts of the base layer, few but enough, and where the feet stand on them."""
    pitches = shape.bellows_count - 0.3 + shape.tip_halves / 2
    best: tuple[float, tuple[int, ...], tuple[int, ...]] | None = None
    enough = 0
    for tried in sorted(product(range(2, 8 + 2 * sum(widths)), (1, 2, 3)), key=sum):
        land, valley = tried
        tip = max(2, round(land * shape.tip_halves / 2))
        columns, splits = base_columns(shape, (land, valley, tip))
        if best and len(columns.middles) > MOST_EXTRA * enough:
            break
        standing = stand(places, widths, columns)
        if standing is None:
            continue
        enough = enough or len(columns.middles)
        starts, shift = standing
        if best is None or shift < best[0]:
            best = (shift, splits, starts)
        if shift * pitches < GOOD_SHIFT:
            break
    assert best is not None, "no columns for the pad's feet"
    return best[1], best[2]


def merged(upper: Sequence[tuple[float, float]], lower: Sequence[tuple[float, float]]) -> str:
    """Feet on the two faces of a skin in one order along x.

    ``U`` stands on the upper face, ``L`` on the lower, ``B`` for two that (nearly) overlap and so
    share their columns.

    Parameters
    ----------
    upper, lower : both ends of every foot along x, rising, mm
    """
    order, i, j = "", 0, 0
    while i < len(upper) or j < len(lower):
        if i == len(upper):
            order, j = order + "L", j + 1
        elif j == len(lower):
            order, i = order + "U", i + 1
        else:
            (a, b), (c, d) = upper[i], lower[j]
            margin = min(b - a, d - c) / 2
            if a < d + margin and c < b + margin:
                order, i, j = order + "B", i + 1, j + 1
            elif a < c:
                order, i = order + "U", i + 1
            else:
                order, j = order + "L", j + 1
    return order

"""Random members of the labelled families, turned by random angles about the vertical.

``python -m tests.fabricate.turned [count] [seed]`` reports precision and recall.
"""

from __future__ import annotations

import math
import random
import sys
from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from fiddlehead.fabricate import kernel
from tests.fabricate import labelled
from tests.fabricate.labelled import Case


def away(draw: random.Random, low: float, high: float, limits: list[float], by: float) -> float:
    """A number not near any limit, so that its label does not hang on rounding."""
    while True:
        number = draw.uniform(low, high)
        if all(abs(number - limit) > by for limit in limits):
            return number


def _wall(r: random.Random) -> Case:
    whole = [2.0, 3.0, 4.0, 5.0, 6.0]
    return labelled.wall(r.choice(whole) if r.random() < 0.5 else away(r, 2.1, 5.9, whole, 0.12))


def _side(r: random.Random) -> Case:
    lines = r.choice([2, 3, 4])
    return labelled.chamber(side=0.4 * lines, troubles="thin pressure wall" if lines < 3 else "")


def _roof(r: random.Random) -> Case:
    count = r.choice([2, 3, 5, 6, 8])
    return labelled.chamber(roof=0.2 * count, troubles="thin pressure roof" if count < 4 else "")


def _span(r: random.Random) -> Case:
    span = away(r, 3.0, 9.9, [8.0], 0.3)
    return labelled.chamber(span=span, troubles="long bridge" if span > 8 else "")


FAMILIES: dict[str, Callable[[random.Random], Case]] = {
    "wall": _wall,
    "bridge": lambda r: labelled.bridge(away(r, 2, 16, [8], 0.3)),
    "leaning wall": lambda r: labelled.leaning(away(r, 10, 75, [46], 3)),
    "ledge": lambda r: labelled.ledge(away(r, 0.3, 4, [1], 0.1)),
    "cone": lambda r: labelled.cone(away(r, 10, 65, [46], 3)),
    "gap": lambda r: labelled.pair(away(r, 0.2, 2, [0.8], 0.06)),
    "fin": lambda r: labelled.rib(r.choice([r.uniform(0.2, 0.34), 0.4, 0.8, 1.2])),
    "jog": lambda r: labelled.jogged(r.choice([r.uniform(0.1, 0.5), r.uniform(0.85, 0.95)])),
    "chamber wall": _side,
    "chamber roof": _roof,
    "chamber span": _span,
}


def turned(case: Case, angle: float) -> Case:
    """The same case, turned about the vertical."""
    c, s = math.cos(angle), math.sin(angle)
    place = np.array([[c, -s, 0, 0], [s, c, 0, 0], [0, 0, 1, 0]], float)
    stopper = case.stopper
    return Case(
        lambda: kernel.moved(case.make(), place),
        case.troubles,
        (lambda: kernel.moved(stopper(), place)) if stopper else None,
    )


class Score(NamedTuple):
    """Over pairs of shape and kind of trouble."""

    shapes: int
    hits: int
    extra: int
    missed: int
    told: list[str]


def score(count: int, seed: int) -> Score:
    """Check random members of every family in turn."""
    draw = random.Random(seed)
    hits = extra = missed = 0
    told = []
    for number in range(count):
        name = list(FAMILIES)[number % len(FAMILIES)]
        case = turned(FAMILIES[name](draw), draw.uniform(0, math.pi))
        found = {str(kind) for kind in case.check().kinds} - {"seam on pressure wall"}
        hits += len(found & case.troubles)
        extra += len(found - case.troubles)
        missed += len(case.troubles - found)
        if found != case.troubles:
            told.append(f"{name}: found {sorted(found)}, labelled {sorted(case.troubles)}")
    return Score(count, hits, extra, missed, told)


if __name__ == "__main__":
    result = score(*(int(word) for word in [*sys.argv[1:], *["150", "7"][len(sys.argv) - 1 :]]))
    lines = [
        *result.told,
        f"{result.shapes} shapes: {result.hits} troubles found, {result.missed} missed, "
        f"{result.extra} beyond the labels",
    ]
    sys.stdout.write("\n".join(lines) + "\n")

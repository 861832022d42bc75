"""The smallest change to a design that meets every limit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from jaxtyping import Bool, Float

from fiddlehead.study.goals import Goals
from fiddlehead.study.sampling import sobol_sequence
from fiddlehead.study.space import Row, Value
from fiddlehead.study.surrogate import Surrogate

CANDIDATES = 4096
HALVINGS = 12
REFINED = 8
"""Nearest candidates that are drawn back towards the start."""


@dataclass(frozen=True)
class Change:
    """A design near the start that is foretold to keep all limits.

    moved : what changes, from and to
    distance : length of the change in the unit cube, where each range counts 1
    foretold : mean and half-width of the 95 % band of every limited quantity
    """

    row: dict[str, Value]
    moved: dict[str, tuple[Value, Value]]
    distance: float
    foretold: dict[str, tuple[float, float]]


def smallest_change(
    surrogate: Surrogate, goals: Goals, start: Row, *, sure: bool = True, seed: int = 0
) -> Change | None:
    """The nearest design, by the surrogate, that keeps all limits; None when there is none.

    Candidates fill the space; the nearest that hold are drawn back towards the start, first
    variable by variable, then all together, as far as the limits allow. So it changes few
    variables, and the answer is good to the candidates' spacing; it is no proof of a minimum.

    Parameters
    ----------
    sure : keep the limits with the whole 95 % band, not only with the mean
    """
    space = surrogate.space
    origin = space.unit([start])[0]
    points = np.vstack([origin, sobol_sequence(len(space.variables), CANDIDATES, seed)])

    def held(at: Float[np.ndarray, "design variable"]) -> Bool[np.ndarray, " design"]:
        return _held(surrogate, goals, at, sure)

    good = points[held(points)]
    if not len(good):
        return None
    near = good[np.argsort(np.linalg.norm(good - origin, axis=1), kind="stable")[:REFINED]]
    drawn = [_drawn_back(point, origin, held) for point in near]
    best = min(drawn, key=lambda point: float(np.linalg.norm(point - origin)))
    row = space.rows(best[None])[0]
    told = surrogate.predict([row])
    moved = {n: (start[n], row[n]) for n in space.names if not _same(row[n], start[n])}
    return Change(
        row=row,
        moved=moved,
        distance=float(np.linalg.norm(space.unit([row])[0] - origin)),
        foretold={
            limit.quantity: tuple(float(x[0]) for x in told[limit.quantity])  # type: ignore[misc]
            for limit in goals.limits
        },
    )


def _same(a: Value, b: Value) -> bool:
    if isinstance(a, str) or isinstance(b, str):
        return a == b
    return abs(a - b) <= 1e-9 * max(1.0, abs(a))


def _held(
    surrogate: Surrogate, goals: Goals, at: Float[np.ndarray, "design variable"], sure: bool
) -> Bool[np.ndarray, " design"]:
    told = surrogate.predict_unit(at)
    good = np.ones(len(at), bool)
    for limit in goals.limits:
        mean, band = told[limit.quantity]
        for value in (mean - band, mean + band) if sure else (mean,):
            good &= limit.excess(value) <= 0.0
    return good


def _drawn_back(point: Any, origin: Any, held: Any) -> Any:
    """``point`` with as much of the way back to ``origin`` as the limits allow."""
    point = point.copy()
    for axis in np.argsort(np.abs(point - origin)):
        back = point.copy()
        back[axis] = origin[axis]
        if held(back[None])[0]:
            point = back
    far, near = 1.0, 0.0
    for _ in range(HALVINGS):
        middle = 0.5 * (far + near)
        if held((origin + middle * (point - origin))[None])[0]:
            far = middle
        else:
            near = middle
    return origin + far * (point - origin)

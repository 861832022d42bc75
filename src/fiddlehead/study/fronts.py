"""Pareto fronts, ranks and hypervolume, by the library moocore."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from jaxtyping import Bool, Float, Int

from fiddlehead.study.goals import Columns, Goals


def non_dominated(costs: Float[np.ndarray, "design objective"]) -> Bool[np.ndarray, " design"]:
    """Designs that no other beats in every objective (smaller is better); equals both stay."""
    import moocore

    found = np.zeros(len(costs), bool)
    finite = np.flatnonzero(np.isfinite(costs).all(1))
    if len(finite):
        found[finite] = moocore.is_nondominated(costs[finite], keep_weakly=True)
    return found


def hypervolume(
    costs: Float[np.ndarray, "design objective"], reference: Float[np.ndarray, " objective"]
) -> float:
    """Volume between the front and the reference point, which is the worst that counts."""
    import moocore

    inside = costs[np.isfinite(costs).all(1)]
    return float(moocore.hypervolume(inside, ref=reference)) if len(inside) else 0.0


def front_numbers(goals: Goals, columns: Columns) -> Int[np.ndarray, " design"]:
    """1 for designs on the Pareto front of those that keep all limits, 2 for the front when these
    are taken away, and so on; 0 for designs that miss a limit or lack a number."""
    import moocore

    costs, met = goals.costs(columns), goals.met(columns)
    found = np.zeros(len(costs), int)
    if met.any():
        found[met] = moocore.pareto_rank(costs[met]) + 1
    return found


def order(goals: Goals, columns: Columns) -> Int[np.ndarray, " design"]:
    """Places of designs from best to worst.

    First by front; within a front by the distance to the best of every objective, each scaled to
    the spread of the first front and all of equal weight (our choice); designs that miss limits
    follow by their total miss.
    """
    costs, front = goals.costs(columns), front_numbers(goals, columns)
    miss = np.maximum(goals.excess(columns), 0.0).sum(1)
    best = costs[front == 1]
    if not len(best):
        return np.argsort(miss, kind="stable")
    low, high = best.min(0), best.max(0)
    spread = np.where(high > low, high - low, 1.0)
    with np.errstate(invalid="ignore"):
        distance = np.linalg.norm((costs - low) / spread, axis=1)
    group = np.where(front == 0, front.max() + 1, front)
    return np.lexsort((np.where(front == 0, miss, distance), group))


def reference_of(
    searches: Sequence[Float[np.ndarray, "_design objective"]],
) -> Float[np.ndarray, " objective"] | None:
    """One reference for the fronts of several searches; None where none found a design."""
    fronts = [costs[non_dominated(costs)] for costs in searches]
    whole = np.vstack(fronts) if fronts else np.zeros((0, 1))
    return reference_point(whole) if len(whole) else None


def reference_point(
    costs: Float[np.ndarray, "design objective"],
) -> Float[np.ndarray, " objective"]:
    """A reference for hypervolumes of these designs: the worst of each, a tenth of the spread
    beyond (our choice)."""
    finite = costs[np.isfinite(costs).all(1)]
    low, high = finite.min(0), finite.max(0)
    return np.asarray(high + 0.1 * np.where(high > low, high - low, 1.0))

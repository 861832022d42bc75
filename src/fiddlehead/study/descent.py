"""Better designs by gradients: along the front, one objective after the other held in bounds.

The first objective is made as small as the limits and a bound on the others allow; the bounds step
through the front (epsilon-constraint method, Haimes, Lasdon & Wismer 1971), and each step starts
where the last one ended. Gradients come from the adjoint state; steps are taken by scipy's SLSQP
(Kraft 1988).
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from typing import Any

import numpy as np
from jaxtyping import Float

from fiddlehead.errors import ParameterError
from fiddlehead.study.evolution import Search
from fiddlehead.study.goals import Goals
from fiddlehead.study.slopes import Slopes
from fiddlehead.study.space import Range, Row, Space, Value

AskSlopes = Callable[[dict[str, Value]], Slopes | None]
"""From one design to its quantities and their derivatives; None once the run is to stop."""
STEPS = 12
"""Iterations of SLSQP for each point of the front."""


class _Stop(Exception):
    """The budget is spent, or the user has stopped the run."""


def descend(
    space: Space, goals: Goals, ask: AskSlopes, start: Row, *, designs: int, points: int = 5
) -> Search:
    """Search for ``points`` points of the front from one design.

    Choices and ranges with steps cannot be moved by a gradient: they stay as ``start`` has them.

    Parameters
    ----------
    designs : most simulations

    Raises
    ------
    ParameterError : nothing can be moved by a gradient
    """
    moved = [v for v in space.variables if isinstance(v, Range) and v.steps is None]
    if not moved:
        raise ParameterError(
            "no variable can be moved by a gradient",
            where="study.ranges",
            allowed="a range without steps",
            remedy="Leave steps out, or optimise by evolution.",
        )
    climb = _Climb(moved, goals, ask, dict(start), designs)
    origin = np.array([min(max(v.share(start[v.name]), 0.0), 1.0) for v in moved])
    try:
        ends = [climb.best(k, origin, {}) for k in range(len(goals.objectives))]
        corners = np.array([climb.seen(end)[0] for end in ends])
        low, high = corners.min(0), corners.max(0)
        shares = np.linspace(0.0, 1.0, points + 2)[1:-1]
        at = ends[0]
        for share in itertools.product(shares, repeat=len(goals.objectives) - 1):
            bounds = {
                k + 1: float(high[k + 1] - s * (high[k + 1] - low[k + 1]))
                for k, s in enumerate(share)
            }
            at = climb.best(0, at, bounds)
    except _Stop:
        pass
    return climb.search()


class _Climb:
    """Simulations done so far, by point, and the steps from one to the next."""

    def __init__(
        self, moved: list[Range], goals: Goals, ask: AskSlopes, fixed: dict[str, Value], most: int
    ) -> None:
        self.moved, self.goals, self.ask, self.fixed, self.most = moved, goals, ask, fixed, most
        self.rows: list[dict[str, Value]] = []
        self.costs: list[Any] = []
        self.excess: list[Any] = []
        self.known: dict[bytes, tuple[Any, Any, Any, Any]] = {}

    def seen(self, u: Any) -> tuple[Any, Any, Any, Any]:
        """Costs, misses and their slopes at a point of the unit cube; simulated once."""
        u = np.clip(u, 0.0, 1.0)
        key = u.tobytes()
        if key not in self.known:
            if len(self.rows) >= self.most:
                raise _Stop
            row = dict(self.fixed)
            row |= {v.name: v.at(float(x)) for v, x in zip(self.moved, u, strict=True)}
            told = self.ask(row)
            if told is None:
                raise _Stop
            self.rows.append(row)
            self.known[key] = self._costs(told)
            self.costs.append(self.known[key][0])
            self.excess.append(self.known[key][1])
        return self.known[key]

    def _costs(self, told: Slopes) -> tuple[Any, Any, Any, Any]:
        goals, count = self.goals, len(self.moved)
        if told.reason:
            lost = np.full(len(goals.objectives), np.inf), np.full(len(goals.limits), np.inf)
            return (*lost, np.zeros((len(lost[0]), count)), np.zeros((len(lost[1]), count)))
        columns = {name: np.array([value]) for name, value in told.values.items()}

        def slope(quantity: str) -> Any:
            return np.array([told.of[quantity][v.name] * (v.high - v.low) for v in self.moved])

        rise = [o.sign * slope(o.quantity) for o in goals.objectives]
        miss = []
        for limit in goals.limits:
            value = columns[limit.quantity]
            low, high = limit.at_least, limit.at_most
            below = low is not None and (
                high is None or limit.excess(value)[0] > (value[0] - high) / (abs(high) or 1.0)
            )
            bound = low if below else high
            sign = -1.0 if below else 1.0
            miss.append(sign * slope(limit.quantity) / (abs(bound or 0.0) or 1.0))
        return (
            goals.costs(columns)[0],
            goals.excess(columns)[0],
            np.array(rise).reshape(-1, count),
            np.array(miss).reshape(-1, count),
        )

    def best(self, objective: int, start: Any, bounds: dict[int, float]) -> Any:
        """The best point for one objective, the limits kept and other costs bounded."""
        from scipy.optimize import minimize

        costs = self.seen(start)[0]
        scale = np.where(np.isfinite(costs), np.maximum(np.abs(costs), 1e-9), 1.0)

        def held(u: Any) -> Any:
            cost, excess, _, _ = self.seen(u)
            own = [(bound - cost[k]) / scale[k] for k, bound in bounds.items()]
            return _finite(np.array([*own, *(-excess)]))

        def held_slope(u: Any) -> Any:
            _, _, rise, miss = self.seen(u)
            own = [-rise[k] / scale[k] for k in bounds]
            return np.array([*own, *(-miss)]).reshape(-1, len(self.moved))

        rules = [{"type": "ineq", "fun": held, "jac": held_slope}]
        wanted = len(bounds) + len(self.goals.limits)
        found = minimize(
            lambda u: float(_finite(self.seen(u)[0])[objective] / scale[objective]),
            start,
            jac=lambda u: self.seen(u)[2][objective] / scale[objective],
            bounds=[(0.0, 1.0)] * len(self.moved),
            constraints=rules if wanted else [],
            method="SLSQP",
            options={"maxiter": STEPS, "ftol": 1e-4},
        )
        return np.clip(found.x, 0.0, 1.0)

    def search(self) -> Search:
        """All simulations in order; every one is a step."""
        count = len(self.rows)
        return Search(
            self.rows,
            np.array(self.costs).reshape(count, len(self.goals.objectives)),
            np.array(self.excess).reshape(count, len(self.goals.limits)),
            np.arange(1, count + 1),
        )


def _finite(values: Float[np.ndarray, " number"]) -> Float[np.ndarray, " number"]:
    return np.nan_to_num(values, posinf=1e3, neginf=-1e3)

"""Step by step from one balance to the next, with steps as long as they can be."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from typing import Any

import jax.numpy as jnp
import numpy as np

from fiddlehead.grasp.coupling import Balanced, Demand, State, balance
from fiddlehead.grasp.scene import Stage
from fiddlehead.grasp.stance import Stance, motion_between, rotation

WANTED_ITERATIONS = 11
SMALLEST = 1 / 256
"""Share of a march below which steps are not cut any more."""

Asked = Callable[[float], Demand]
"""What is asked at a share (0 to 1) of a march."""
Watch = Callable[[float, Balanced], bool]
"""Called with every balance; True ends the march."""


@dataclasses.dataclass
class Budget:
    """Corrections that may still be spent, and what stops a run from outside."""

    left: int
    spent: int = 0
    stop: Callable[[], bool] | None = None

    def exhausted(self) -> bool:
        """Whether the run must end."""
        return self.spent >= self.left or (self.stop is not None and self.stop())


@dataclasses.dataclass(frozen=True)
class Marched:
    """How a march ended."""

    last: Balanced
    share: float
    """How far it came."""
    why: str
    """``end``, ``watched`` (the watch ended it), ``stuck`` (no balance beyond) or ``budget``."""


def march(
    stage: Stage,
    start: Balanced,
    asked: Asked,
    watch: Watch,
    budget: Budget,
    *,
    shift: Any = None,
    first: float = 0.1,
    longest: float = 1.0,
) -> Marched:
    """From the balance ``start`` at share 0 to share 1.

    Parameters
    ----------
    shift : small motion that is forced on the object over the whole march (its direction must not
        be free then)
    first, longest : first and longest step
    """
    forced = jnp.zeros(6) if shift is None else jnp.asarray(shift, float)
    now, at, step = start, 0.0, first
    before: tuple[State, float] | None = None
    while at < 1.0 - 1e-9:
        if budget.exhausted():
            return Marched(now, at, "budget")
        ahead = min(step, 1.0 - at)
        if 1.0 - at - ahead < 0.25 * ahead:  # no sliver at the end
            ahead = 1.0 - at
        demand = asked(at + ahead)
        tried = _predict(now.state, before, at, ahead, forced, demand)
        found = balance(stage.scene, tried, demand)
        budget.spent += int(found.iterations)
        if not bool(found.good):
            step = 0.3 * ahead
            before = None
            if step < SMALLEST * longest:
                return Marched(now, at, "stuck")
            continue
        before, now, at = (now.state, at), found, at + ahead
        grow = np.clip(WANTED_ITERATIONS / max(int(found.iterations), 1), 0.5, 2.0)
        step = min(longest, ahead * grow)
        if watch(at, found):
            return Marched(now, at, "watched")
    return Marched(now, 1.0, "end")


def _predict(
    now: State,
    before: tuple[State, float] | None,
    at: float,
    ahead: float,
    forced: Any,
    demand: Demand,
) -> State:
    """Go on as from the last balance to this one; the forced motion exactly."""
    u, motion = now.u, forced * ahead
    if before is not None and at > before[1]:
        ratio = min(ahead / (at - before[1]), 2.0)
        u = u + ratio * (u - before[0].u)
        motion = motion + ratio * demand.free @ jnp.asarray(
            motion_between(before[0].stance, now.stance)
        )
    stance = Stance(
        now.stance.position_mm + motion[:3],
        rotation(motion[3:]) @ now.stance.turn,
        now.stance.centre_mm,
    )
    return State(u, now.past, stance)

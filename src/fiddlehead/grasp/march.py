"""Step by step from one balance to the next, with steps as long as they can be.

Where no balance is found, the object is followed as if it moved through something thick: what drags
on it grows with how far it goes in a step, so a balance lies near the last one. Drag is taken away
again as soon as it can be, and at the end of a march until none is left: the object has come to
rest, or has gone. Drag never enters a balance that ends a march. Source: pseudo-transient
continuation, Kelley & Keyes (1998), SIAM Journal on Numerical Analysis 35(2), 508-523.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from typing import Any

import jax.numpy as jnp
import numpy as np

from fiddlehead.grasp.coupling import LEVER_MM, Balanced, Demand, State, balance
from fiddlehead.grasp.scene import Stage
from fiddlehead.grasp.stance import Stance, motion_between, rotation

WANTED_ITERATIONS = 11
SMALLEST = 1 / 256
"""Share of a march below which steps are not cut any more."""
FIRST_DRAG_N_PER_MM = 0.05
LARGEST_DRAG_N_PER_MM = 100.0
"""At which an object hardly moves beside any printed finger."""
FIRMER, SLACKER = 8.0, 0.25
MOST_PATIENCE = 7
"""Most steps that drag is kept for after it was needed."""

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


@dataclasses.dataclass
class Drag:
    """What drags on the object: firmer where no balance is found, slacker again where one is.

    now, least : N/mm of motion in a step; it never falls below ``least``
    wait : balances for which it stays as it is; the longer, the more often it was needed
    """

    now: float
    least: float
    wait: int = 0
    patience: int = 0

    @property
    def above_least(self) -> bool:
        """Whether some of it is still to be taken away."""
        return self.now > self.least

    def firmer(self) -> None:
        """After a failure."""
        self.now = min(max(FIRST_DRAG_N_PER_MM, FIRMER * self.now), LARGEST_DRAG_N_PER_MM)
        self.wait = self.patience = min(2 * self.patience + 1, MOST_PATIENCE)

    def slacker(self) -> None:
        """After a balance."""
        if self.wait:
            self.wait -= 1
            return
        slack = SLACKER * self.now
        self.now = max(slack if slack >= FIRST_DRAG_N_PER_MM else 0.0, self.least)


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
    drag: float = 0.0,
    least_drag: float = 0.0,
    most_dragged: int = 40,
) -> Marched:
    """From the balance ``start`` at share 0 to share 1.

    Parameters
    ----------
    shift : small motion that is forced on the object over the whole march (its direction must not
        be free then)
    first, longest : first and longest step
    drag : on the object at first, N/mm of motion in a step
    least_drag : with which a march may end: not none for an object that nothing else holds
    most_dragged : steps with more than that after which it is given up as stuck
    """
    forced = jnp.zeros(6) if shift is None else jnp.asarray(shift, float)
    now, at, step = start, 0.0, first
    before: tuple[State, float] | None = None
    moves = bool(np.any(np.asarray(asked(0.0).free)))
    thick = Drag(max(drag, least_drag) if moves else least_drag, least_drag)
    shortest, settled, dragging = SMALLEST * longest, False, 0
    while at < 1.0 - 1e-9 or not settled:
        if budget.exhausted():
            return Marched(now, at, "budget")
        if dragging > most_dragged:
            return Marched(now, at, "stuck")
        ahead = min(step, 1.0 - at)
        if 1.0 - at - ahead < 0.25 * ahead:  # no sliver at the end
            ahead = 1.0 - at
        demand = dragged(asked(at + ahead), thick.now, now.state.stance)
        tried = _predict(now.state, before, at, ahead, forced, demand)
        found = balance(stage.scene, tried, demand)
        budget.spent += int(found.iterations)
        if not bool(found.good):
            if ahead <= shortest and not (moves and thick.now < LARGEST_DRAG_N_PER_MM):
                return Marched(now, at, "stuck")
            before, step = None, max(0.3 * ahead, shortest)
            if moves:
                thick.firmer()
            continue
        before, now, at = (now.state, at), found, at + ahead
        grow = np.clip(WANTED_ITERATIONS / max(int(found.iterations), 1), 0.5, 2.0)
        step = min(longest, max(ahead, shortest) * grow)
        settled = not thick.above_least
        dragging += not settled
        thick.slacker()
        if watch(at, found):
            return Marched(now, at, "watched")
    return Marched(now, 1.0, "end")


def dragged(demand: Demand, drag: float, last: Stance) -> Demand:
    """The demand with drag on the object: N/mm of motion since ``last``, over a lever for turns."""
    ways = jnp.array([1.0] * 3 + [LEVER_MM**2] * 3)
    return demand._replace(hold=drag * ways, held_at=last)


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

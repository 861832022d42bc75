"""The march with drag, on objects whose balance is one line of arithmetic."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import jax.numpy as jnp
import numpy as np
import pytest

from fiddlehead.grasp import march as marching
from fiddlehead.grasp.coupling import Demand, State
from fiddlehead.grasp.march import FIRST_DRAG_N_PER_MM, LARGEST_DRAG_N_PER_MM, Budget, Drag, march
from fiddlehead.grasp.stance import Stance

REST_MM = 3.0
FARTHEST_MM = 0.5
"""Beyond which the stand-in for Newton's method finds no balance."""


def stance(x: float) -> Stance:
    return Stance(jnp.array([x, 0.0, 0.0]), jnp.eye(3), jnp.zeros(3))


def demand(_: float) -> Demand:
    none = jnp.zeros(6)
    return Demand(jnp.zeros(1), load=none, free=jnp.eye(6), hold=none, held_at=stance(0.0))


def held_fast(share: float) -> Demand:
    return demand(share)._replace(free=jnp.zeros((6, 6)))


def found(state: State, x: float, good: bool) -> Any:
    return SimpleNamespace(
        state=state._replace(stance=stance(x)), good=good, iterations=4, wrench=jnp.zeros(6)
    )


def drawn_to_rest(scene: Any, state: State, demand: Demand) -> Any:
    """A spring of 1 N/mm draws the object to its place of rest."""
    held, drag = float(demand.held_at.position_mm[0]), float(demand.hold[0])
    x = (REST_MM + drag * held) / (1.0 + drag)
    return found(state, x, abs(x - held) <= FARTHEST_MM)


def pushed_on(scene: Any, state: State, demand: Demand) -> Any:
    """One newton pushes the object, wherever it is."""
    held, drag = float(demand.held_at.position_mm[0]), float(demand.hold[0])
    x = held + 1.0 / max(drag, 1e-9)
    return found(state, x, x - held <= FARTHEST_MM)


def followed(
    monkeypatch: pytest.MonkeyPatch, balance: Any, asked: Any = demand, **more: Any
) -> tuple[Any, list[float]]:
    """Where the march ends, and the drag of every balance on the way."""
    drags: list[float] = []

    def seen(scene: Any, state: State, wanted: Demand) -> Any:
        one = balance(scene, state, wanted)
        if one.good:
            drags.append(float(wanted.hold[0]))
        return one

    monkeypatch.setattr(marching, "balance", seen)
    stage: Any = SimpleNamespace(scene=None)
    start = found(State(jnp.zeros((1, 1)), None, stance(0.0)), 0.0, True)  # type: ignore[arg-type]
    ended = march(stage, start, asked, lambda *_: False, Budget(10_000), **more)
    return ended, drags


def test_an_object_out_of_reach_of_newton_is_followed_to_its_rest(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    ended, drags = followed(monkeypatch, drawn_to_rest)
    assert ended.why == "end"
    assert max(drags) > 0.0
    assert drags[-1] == 0.0, "no drag is left in the balance that ends a march"
    np.testing.assert_allclose(ended.last.state.stance.position_mm[0], REST_MM)


def test_an_object_that_never_rests_is_stuck_in_the_end(monkeypatch: pytest.MonkeyPatch) -> None:
    ended, drags = followed(monkeypatch, pushed_on, most_dragged=12)
    assert ended.why == "stuck"
    assert len(drags) == 13


def test_what_nothing_else_holds_keeps_the_least_drag(monkeypatch: pytest.MonkeyPatch) -> None:
    ended, drags = followed(monkeypatch, drawn_to_rest, drag=0.4, least_drag=0.02)
    assert ended.why == "end"
    assert drags[-1] == min(drags) == 0.02


def test_an_object_that_cannot_move_is_not_dragged(monkeypatch: pytest.MonkeyPatch) -> None:
    still = lambda _, state, __: found(state, 0.0, True)  # noqa: E731
    _, drags = followed(monkeypatch, still, held_fast, drag=0.4)
    assert set(drags) == {0.0}


def test_drag_waits_longer_the_more_often_it_was_needed() -> None:
    drag = Drag(0.0, 0.0)
    kept = []
    for _ in range(5):
        drag.firmer()
        firm, balances = drag.now, 0
        while drag.now == firm:
            drag.slacker()
            balances += 1
        kept.append(balances)
        drag.now = 0.0
    assert kept == [2, 4, 8, 8, 8]


def test_drag_has_bounds() -> None:
    drag = Drag(0.0, 0.0)
    drag.firmer()
    assert drag.now == FIRST_DRAG_N_PER_MM
    for _ in range(20):
        drag.firmer()
    assert drag.now == LARGEST_DRAG_N_PER_MM
    for _ in range(40):
        drag.slacker()
    assert not drag.above_least

"""Many designs through few lanes: all land, each with its own end, whatever the memory."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import jax
import numpy as np
import pytest

from fiddlehead.material.laws import NeoHookean
from fiddlehead.mechanics import lanes
from fiddlehead.mechanics.body import Body
from fiddlehead.mechanics.lanes import Job, bytes_per_lane, follow_many
from fiddlehead.mechanics.outcome import Outcome
from fiddlehead.testing.bodies import box
from tests.published.rig import held, make_rig

STOPS = [0.0, 0.5, 1.0]
BOX = box((6.0, 1.0, 1.0), (3, 1, 1))


def deflection(body: Body, solid: Any, rows: Any) -> Any:
    return body.to_nodes(rows)[:, -1, 1]


@pytest.fixture(scope="module")
def body() -> Body:
    rig = make_rig(BOX, NeoHookean(1.0), 50.0, held(BOX, x0="xyz"), pressed="y1")
    return rig.body


def jobs(pressures: list[float]) -> Iterator[Job]:
    for pressure in pressures:
        yield Job(BOX.points, NeoHookean(1.0), 50.0, pressure)


def test_every_design_lands_once_with_its_own_result(body: Body) -> None:
    pressures = [0.0005 * k for k in range(1, 8)]
    landed = list(follow_many(body, jobs(pressures), STOPS, deflection, lanes=3))
    assert sorted(one.index for one in landed) == list(range(7))
    assert all(one.outcome is Outcome.complete and one.met == 3 for one in landed)
    ends = [one.observed[2] for one in sorted(landed, key=lambda one: one.index)]
    assert np.all(np.diff(np.abs(ends)) > 0)
    (alone,) = follow_many(body, jobs(pressures[4:5]), STOPS, deflection, lanes=1)
    assert alone.observed[2] == pytest.approx(ends[4], rel=1e-7)


def test_a_spent_budget_ends_a_design_and_keeps_what_it_has(body: Body) -> None:
    (spent,) = follow_many(body, jobs([0.003]), STOPS, deflection, lanes=1, most_solves=2)
    assert spent.outcome is Outcome.budget_spent
    assert spent.met < 3


def test_jobs_are_taken_only_when_there_is_room(body: Body) -> None:
    taken: list[float] = []

    def counted() -> Iterator[Job]:
        for job in jobs([0.001] * 20):
            taken.append(job.pressure)
            yield job

    next(iter(follow_many(body, counted(), STOPS, deflection, lanes=3)))
    assert len(taken) < 12


def test_out_of_memory_is_tried_again_with_fewer_lanes(
    body: Body, monkeypatch: pytest.MonkeyPatch
) -> None:
    sizes: list[int] = []
    real = lanes.advance_all

    def small_device(*arguments: Any) -> Any:
        sizes.append(len(arguments[1].bulk))
        if sizes[-1] > 2:
            raise jax.errors.JaxRuntimeError("RESOURCE_EXHAUSTED: out of memory")
        return real(*arguments)

    monkeypatch.setattr(lanes, "advance_all", small_device)
    landed = list(follow_many(body, jobs([0.001] * 6), STOPS, deflection, lanes=6))
    assert sorted(one.index for one in landed) == list(range(6))
    assert sizes[0] == 6
    assert sizes[-1] <= 2


def test_designs_that_had_landed_are_not_lost_when_memory_runs_out_later(
    body: Body, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The card fails in the very step after some designs have reached their end."""
    real, handed, failed = lanes.advance_all, [], []

    def filling_up(body: Body, solids: Any, loadings: Any, stops: Any, state: Any, way: Any) -> Any:
        done = np.asarray(state.outcome) != Outcome.running
        if done.any() and not failed:
            failed.append(len(handed))
            raise jax.errors.JaxRuntimeError("RESOURCE_EXHAUSTED: out of memory")
        return real(body, solids, loadings, stops, state, way)

    monkeypatch.setattr(lanes, "advance_all", filling_up)
    pressures = [0.0001, 0.003, 0.003, 0.0001, 0.003]  # the small ones end first
    for one in follow_many(body, jobs(pressures), STOPS, deflection, lanes=4):
        handed.append(one)
    assert failed == [0]
    assert sorted(one.index for one in handed) == list(range(5))
    assert all(one.outcome is Outcome.complete for one in handed)


def test_another_fault_is_not_taken_for_a_lack_of_memory(
    body: Body, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: Any) -> Any:
        raise jax.errors.JaxRuntimeError("INTERNAL: broken")

    monkeypatch.setattr(lanes, "advance_all", broken)
    with pytest.raises(jax.errors.JaxRuntimeError, match="broken"):
        list(follow_many(body, jobs([0.001] * 2), STOPS, deflection, lanes=2))


def test_a_finer_body_needs_more_memory(body: Body) -> None:
    finer = box((6.0, 1.0, 1.0), (12, 2, 2))
    rig = make_rig(finer, NeoHookean(1.0), 50.0, held(finer, x0="xyz"), pressed="y1")
    assert bytes_per_lane(rig.body) > 4 * bytes_per_lane(body)

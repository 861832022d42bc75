"""Many designs of one topology through a fixed number of lanes of one compiled step.

All lanes advance together, one Newton step at a time. A design that has reached its end leaves
its lane to the next one waiting, so quick designs do not wait for slow ones and the device's
memory is filled once. While the device works, the host prepares the next designs.
"""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Callable, Iterable, Iterator
from functools import partial
from typing import Any

import jax
import jax.numpy as jnp
import numpy as np
from jaxtyping import Array, Float, Int

from fiddlehead.mechanics import path as paths
from fiddlehead.mechanics.body import Body
from fiddlehead.mechanics.loads import Loading, Solid
from fiddlehead.mechanics.outcome import Outcome
from fiddlehead.mechanics.path import PathSettings, PathState, Stops
from fiddlehead.mechanics.solve import advance_all, make_loading, make_solid, padded_stops

BOARDED_TOGETHER = 8
"""A lane waits until one in so many is free; then all of them are filled in one call."""

Observe = Callable[..., Any]
"""What is kept of a design: from body, solid and the rows of its balanced states to any tree of
arrays, on the device. With contact faces it is also given the obstacle and, stop by stop, what
friction remembers."""


@dataclasses.dataclass(frozen=True, eq=False)
class Job:
    """One design: undeformed node coordinates (mm), its material, its full live pressure (MPa),
    and what it may press on (surfaces of one kind in all jobs, or None)."""

    points: Float[np.ndarray, "node 3"]
    law: Any
    bulk: float
    pressure: float
    obstacle: Any = None


@dataclasses.dataclass(frozen=True, eq=False)
class Landed:
    """One finished design, with its place in the order of the jobs."""

    index: int
    outcome: Outcome
    met: int
    """How many of the stops it met, counted from the first."""
    load_factor: float
    """Highest load factor at which a balance was found."""
    solves: int
    solves_at_stop: Int[np.ndarray, " stop"]
    cuts: int
    lanes: int
    """Designs that were in work at once."""
    observed: Any


def bytes_per_lane(body: Body) -> int:
    """Device memory one lane needs while it advances, bytes (estimate, on the high side).

    The front's columns exist three times (summed, reordered, eliminated), the elements' matrices
    about five times.
    """
    width = body.free.shape[1]
    columns = sum((s.stop - s.first) * width * 3 * s.slots for s in body.segments)
    return 8 * (3 * columns + 5 * 63 * 63 * len(body.elements) + 40 * body.size)


def lanes_that_fit(body: Body) -> int:
    """How many lanes the device's memory holds; a few on a processor, where more gain nothing."""
    stats = jax.devices()[0].memory_stats()
    if jax.default_backend() == "cpu" or not stats:
        return 4
    return max(1, int(0.9 * stats["bytes_limit"] / bytes_per_lane(body)))


def follow_many(
    body: Body,
    jobs: Iterable[Job],
    stops: Any,
    observe: Observe,
    *,
    lanes: int | None = None,
    settings: PathSettings = PathSettings(),
    most_solves: int = 2000,
) -> Iterator[Landed]:
    """Follow every job through the stops and yield each as it lands (not in order).

    Parameters
    ----------
    body : shared topology
    jobs : designs, all with laws of one kind; taken only as lanes become free
    stops : rising load factors, the first 0
    observe : what to keep of a finished design (a top-level function: it is compiled once)
    lanes : designs in work at once; what the memory holds when None. When the device runs out of
        memory all the same, lanes are halved and the designs in work start again.
    """
    wanted = lanes or lanes_that_fit(body)
    waiting: Iterator[tuple[int, Job]] = enumerate(jobs)
    while True:
        head = list(itertools.islice(waiting, wanted))
        if not head:
            return
        ferry = _Ferry(body, stops, observe, min(wanted, len(head)), settings, most_solves)
        try:
            yield from ferry.run(itertools.chain(head, waiting))
            return
        except jax.errors.JaxRuntimeError as error:
            if "RESOURCE_EXHAUSTED" not in str(error) or wanted == 1:
                raise
            yield from ferry.hand_over()
            wanted = max(1, wanted // 2)
            waiting = itertools.chain(ferry.in_work(), waiting)


class _Ferry:
    """The lanes, who is in them, and who waits at the quay."""

    def __init__(
        self, body: Body, stops: Any, observe: Observe, lanes: int, settings: PathSettings,
        most_solves: int,
    ) -> None:  # fmt: skip
        self.body, self.observe, self.settings = body, observe, settings
        self.stops = padded_stops(stops)
        self.stop_count = len(np.asarray(stops))
        self.most_solves = most_solves
        self.group = -(-lanes // BOARDED_TOGETHER)
        self.lanes = self.group * (lanes // self.group)
        self.who: list[tuple[int, Job] | None] = [None] * self.lanes
        self.ready: list[tuple[int, Job]] = []
        self.landed: list[Landed] = []
        self.cargo: tuple[Solid, Loading, PathState] | None = None

    def in_work(self) -> list[tuple[int, Job]]:
        """Jobs that were taken but have not landed."""
        return [who for who in self.who if who is not None] + self.ready

    def run(self, jobs: Iterator[tuple[int, Job]]) -> Iterator[Landed]:
        self._prepare(jobs)
        while self.ready or any(self.who):
            self._board(jobs)
            assert self.cargo is not None
            solids, loadings, state = self.cargo
            state = advance_all(self.body, solids, loadings, self.stops, state, self.settings)
            self.cargo = (solids, loadings, state)
            # the device is busy now: hand over what has landed, and get the next ones ready
            yield from self.hand_over()
            self._prepare(jobs)
            self._land()
        yield from self.hand_over()

    def hand_over(self) -> list[Landed]:
        """What has landed since the last call."""
        landed, self.landed = self.landed, []
        return landed

    def _prepare(self, jobs: Iterator[tuple[int, Job]]) -> None:
        self.ready += itertools.islice(jobs, max(0, self.group - len(self.ready)))

    def _board(self, jobs: Iterator[tuple[int, Job]]) -> None:
        free = [lane for lane, who in enumerate(self.who) if who is None]
        while self.ready and (len(free) >= self.group or len(free) == self.lanes):
            lane, free = free[: self.group], free[self.group :]
            boarding, self.ready = self.ready[: self.group], self.ready[self.group :]
            for place, who in zip(lane, boarding, strict=False):
                self.who[place] = who
            # a short last group repeats its first design in lanes nobody looks at
            padded = [job for _, job in boarding]
            padded += padded[:1] * (len(lane) - len(padded))
            fresh = _begin(
                self.body,
                self.stops,
                jnp.asarray(np.stack([job.points for job in padded])),
                jax.tree.map(lambda *c: jnp.asarray(c, float), *[job.law for job in padded]),
                jnp.asarray([job.bulk for job in padded], float),
                jnp.asarray([job.pressure for job in padded], float),
                jax.tree.map(lambda *c: jnp.stack(c), *[job.obstacle for job in padded]),
                self.settings,
            )
            if self.cargo is None:
                self.cargo = jax.tree.map(partial(_vacant, self.lanes), fresh)
            self.cargo = _put(self.cargo, fresh, jnp.asarray(lane))
            self._prepare(jobs)

    def _land(self) -> None:
        assert self.cargo is not None
        solids, loadings, state = self.cargo
        outcome, solves = np.asarray(state.outcome), np.asarray(state.solves)
        spent = solves >= self.most_solves
        done = [
            lane
            for lane, who in enumerate(self.who)
            if who is not None and (outcome[lane] != Outcome.running or spent[lane])
        ]
        last = not self.ready and len(done) == sum(who is not None for who in self.who)
        while len(done) >= self.group or (last and done):
            group, done = done[: self.group], done[self.group :]
            padded = jnp.asarray(group + group[:1] * (self.group - len(group)))
            kept = jax.device_get(
                _look(self.body, solids, loadings.obstacle, state, padded, self.observe)
            )
            for k, lane in enumerate(group):
                who = self.who[lane]
                assert who is not None
                self.landed.append(self._record_of(who[0], jax.tree.map(lambda a, k=k: a[k], kept)))
                self.who[lane] = None

    def _record_of(self, index: int, kept: Any) -> Landed:
        record, observed = kept
        outcome = Outcome(int(record["outcome"]))
        return Landed(
            index=index,
            outcome=Outcome.budget_spent if outcome is Outcome.running else outcome,
            met=int(record["next_stop"]),
            load_factor=float(record["earlier_t"][0]),
            solves=int(record["solves"]),
            solves_at_stop=record["saved_solves"][: self.stop_count],
            cuts=int(record["cuts"]),
            lanes=self.lanes,
            observed=observed,
        )


@partial(jax.jit, static_argnames="settings")
def _begin(
    body: Body, stops: Stops, points: Array, law: Any, bulk: Array, pressure: Array,
    obstacle: Any, settings: PathSettings,
) -> tuple[Solid, Loading, PathState]:  # fmt: skip
    def one(points: Array, law: Any, bulk: Array, pressure: Array, obstacle: Any) -> Any:
        solid = make_solid(body, points, law, bulk)
        loading = make_loading(body, pressure=pressure, obstacle=obstacle)
        rest = jnp.zeros(body.size)
        return solid, loading, paths.start(body, solid, loading, stops, rest, settings)

    return jax.vmap(one)(points, law, bulk, pressure, obstacle)


def _vacant(lanes: int, fresh: Array) -> Array:
    """Room for ``lanes`` designs, filled with copies of one so that every number is sound."""
    return jnp.repeat(fresh[:1], lanes, axis=0)


@partial(jax.jit, donate_argnums=0)
def _put(cargo: Any, fresh: Any, lanes: Array) -> Any:
    return jax.tree.map(lambda all_lanes, new: all_lanes.at[lanes].set(new), cargo, fresh)


@partial(jax.jit, static_argnames="observe")
def _look(
    body: Body, solids: Solid, obstacles: Any, state: PathState, lanes: Array, observe: Observe
) -> tuple[dict[str, Array], Any]:
    names = ("outcome", "next_stop", "earlier_t", "solves", "saved_solves", "cuts")
    record = {name: getattr(state, name)[lanes] for name in names}
    met = (solids, state.saved_u) + (() if obstacles is None else (obstacles, state.saved_past))
    of_lanes = jax.tree.map(lambda a: a[lanes], met)
    return record, jax.vmap(lambda given: observe(body, *given))(of_lanes)

"""A grasp with full finger mechanics: approach, inflate, lift, shake, pull off."""

from __future__ import annotations

import dataclasses
import itertools
import time
from collections.abc import Callable
from typing import Any

import numpy as np
from jaxtyping import Float

from fiddlehead.errors import ParameterError
from fiddlehead.grasp import judge
from fiddlehead.grasp.approach import reaches_in
from fiddlehead.grasp.closed_forms import GRAVITY_M_PER_S2
from fiddlehead.grasp.coupling import Balanced, balance
from fiddlehead.grasp.gripper import Gripper
from fiddlehead.grasp.logbook import Logbook
from fiddlehead.grasp.march import Budget, Marched, march
from fiddlehead.grasp.records import GraspRun
from fiddlehead.grasp.scene import Stage, set_stage
from fiddlehead.grasp.stance import motion_between
from fiddlehead.grasp.task import Held, Task
from fiddlehead.material.laws.base import Energy
from fiddlehead.mesh.settings import MeshSettings

MOST_SOLVES = 1500
PULL_MM = 30.0
"""Longest pull."""
TABLE_N_PER_MM = 0.02
"""Drag of the table on what slides over it while the fingers close, per step; our choice, small
beside what the fingers push with."""
FIRST_TABLE_N_PER_MM = 0.4
"""The same at first, until the fingers hold the object between them."""
DOWN = np.array([0.0, 0.0, -1.0, 0.0, 0.0, 0.0])
OVER_THE_TOP = 0.7
"""A pull ends when the force has fallen to this share of its peak,"""
PAST_PEAK_MM = 1.0
"""or when it has gone on for so long without a new peak."""

Tell = Callable[[str, float, float], None]
"""Called with phase, share of it done, and seconds so far."""


@dataclasses.dataclass(frozen=True)
class _Run:
    stage: Stage
    task: Task
    book: Logbook
    budget: Budget

    @property
    def free(self) -> Float[np.ndarray, "6 6"]:
        return self.stage.symmetry.free

    def weight(self, factor: float = 1.0) -> Float[np.ndarray, "6"]:
        """The object's weight as a wrench, N."""
        load = np.zeros(6)
        load[2] = -factor * 1e-3 * self.stage.held.record.mass_g * GRAVITY_M_PER_S2
        return load


def grasp(
    gripper: Gripper,
    held: Held,
    task: Task,
    law: Energy,
    bulk_modulus_mpa: float,
    *,
    mesh_settings: MeshSettings | None = None,
    lone: bool = False,
    most_solves: int = MOST_SOLVES,
    tell: Tell | None = None,
    stop: Callable[[], bool] | None = None,
) -> GraspRun:
    """Grip one object and find out whether it holds, how much more it would, and what it feels.

    Parameters
    ----------
    held : the object (:func:`fiddlehead.grasp.task.ready`)
    law, bulk_modulus_mpa : the printed material; MPa
    lone : use no symmetry (slower; for checks)
    most_solves : corrections after which the rest is given up
    tell : called after every balance
    stop : asked after every balance; True ends the run and keeps what is there

    Returns
    -------
    GraspRun : always, with a verdict and a reason; ``partial`` says when it stopped early

    Raises
    ------
    ParameterError, MeshError : arguments that make no sense
    """
    began = time.perf_counter()
    stage = set_stage(gripper, held, task, law, bulk_modulus_mpa, mesh_settings, lone=lone)
    if stage.scene.body.contact_faces.shape[0] == 0:
        raise ParameterError("the finger has no gripping face", where="finger")
    book = Logbook(stage, tell, began)
    run = _Run(stage, task, book, Budget(most_solves, stop=stop))
    if not reaches_in(gripper, held, task):
        return judge.does_not_fit(run.book, task, run.budget)
    closed = _inflate(run)
    if closed.why == "budget" or not book.touching():
        return judge.not_closed(run.book, task, run.budget, closed)
    if closed.why == "stuck":  # go on with the grip that there is
        task = dataclasses.replace(task, pressure_mpa=closed.share * task.pressure_mpa)
        run = dataclasses.replace(run, task=task)
    lifted = _lift(run, closed.last)
    shaken = None
    if lifted.why == "end":
        shaken = _shake(run, lifted.last)
    pulled = None
    if not (lifted.why == "watched" and task.pulls_down):  # it was seen to fall
        pulled = _pull(run, lifted.last if lifted.why == "end" else closed.last)
    return judge.closed(
        run.book, task, run.budget, closed=closed, lifted=lifted, shaken=shaken, pulled=pulled
    )


def _inflate(run: _Run) -> Marched:
    """Fill the fingers; the object stands on the table, which lets it slide but not tilt."""
    stage, full = run.stage, run.task.pressure_mpa
    sliding = np.diag([1.0, 1.0, 0.0, 0.0, 0.0, 1.0])
    ways = _both(run.free, sliding)
    empty = balance(stage.scene, stage.rest(), stage.demand(0.0))
    run.book.write("inflate", empty, 0.0, np.zeros(6))

    def watch(share: float, found: Balanced) -> bool:
        run.book.write("inflate", found, share * full, np.zeros(6), share)
        return False

    return march(
        stage, empty, lambda s: stage.demand(s * full, free=ways), watch, run.budget,
        drag=FIRST_TABLE_N_PER_MM, least_drag=TABLE_N_PER_MM, most_dragged=150,
    )  # fmt: skip


def _lift(run: _Run, closed: Balanced) -> Marched:
    """Take the table away: what it carried fades while the weight stays."""
    stage, full, weight = run.stage, run.task.pressure_mpa, run.weight()
    table = -np.asarray(closed.wrench) - weight

    def load(share: float) -> Float[np.ndarray, "6"]:
        return weight + (1.0 - share) * table

    falls = _PastPeak.after(closed, run.book, DOWN)

    def watch(share: float, found: Balanced) -> bool:
        run.book.write("lift", found, full, load(share), share)
        return falls.sees(found)

    return march(
        stage,
        closed,
        lambda s: stage.demand(full, load(s), run.free),
        watch,
        run.budget,
        first=0.25,
    )


def _shake(run: _Run, lifted: Balanced) -> Marched:
    """Heavier, and lighter again below its weight, by the acceleration of the task."""
    swing = run.task.shake_m_per_s2 / GRAVITY_M_PER_S2
    now = Marched(lifted, 1.0, "end")
    factors = [1.0, 1.0 + swing, 1.0 - swing, 1.0]
    full = run.task.pressure_mpa
    for start, end in itertools.pairwise(factors):

        def load(share: float, a: float = start, b: float = end) -> Float[np.ndarray, "6"]:
            return run.weight(a + share * (b - a))

        leaves = _PastPeak.after(now.last, run.book, DOWN if end > start else -DOWN)

        def watch(
            share: float, found: Balanced, load: Any = load, leaves: _PastPeak = leaves
        ) -> bool:
            run.book.write("shake", found, full, load(share), share)
            return leaves.sees(found)

        now = march(
            run.stage, now.last,
            lambda s, load=load: run.stage.demand(full, load(s), run.free),  # type: ignore[misc]
            watch, run.budget, first=0.5,
        )  # fmt: skip
        if now.why != "end":
            break
    return now


def _pull(run: _Run, hanging: Balanced) -> Marched:
    """Move the object out, millimetre by millimetre, and note what it takes."""
    direction = np.append(run.task.pull_direction, np.zeros(3))
    ways = run.free - np.outer(direction, direction)
    full, weight = run.task.pressure_mpa, run.weight()
    leaves = _PastPeak.after(hanging, run.book, direction)

    def watch(share: float, found: Balanced) -> bool:
        run.book.write("pull-off", found, full, -np.asarray(found.wrench), share)
        return leaves.sees(found)

    return march(
        run.stage, hanging, lambda s: run.stage.demand(full, weight, ways), watch, run.budget,
        shift=PULL_MM * direction, first=0.01, longest=0.1,
    )  # fmt: skip


@dataclasses.dataclass
class _PastPeak:
    """Whether an object leaves the grip: what resists it along ``direction`` has had its peak."""

    book: Logbook
    direction: Float[np.ndarray, "6"]
    peak_n: float
    at_mm: float

    @classmethod
    def after(cls, start: Balanced, book: Logbook, direction: Float[np.ndarray, "6"]) -> _PastPeak:
        """Seen from a balance on."""
        gone = motion_between(book.stage.start, start.state.stance) @ direction
        return cls(book, direction, book.resistance_n(start, direction), float(gone))

    def sees(self, found: Balanced) -> bool:
        """Weigh the step written last."""
        force = self.book.resistance_n(found, self.direction)
        gone = float(self.book.rows[-1]["motion"] @ self.direction)
        if force > self.peak_n:
            self.peak_n, self.at_mm = force, gone
        past = gone - self.at_mm > PAST_PEAK_MM
        past |= self.peak_n > 0.0 and force < OVER_THE_TOP * self.peak_n
        return past or not self.book.touching() or self.book.away_mm() > PULL_MM


def _both(free: Float[np.ndarray, "6 6"], other: Float[np.ndarray, "6 6"]) -> Any:
    """Projector on what lies in both; the two commute for the motions that symmetry leaves."""
    product = free @ other
    values, vectors = np.linalg.eigh(0.5 * (product + product.T))
    kept = vectors[:, values > 1.0 - 1e-6]
    return kept @ kept.T

"""Free bending of many fingers of one topology at once."""

from __future__ import annotations

import dataclasses
import time
from collections.abc import Iterable, Iterator, Sequence
from functools import partial
from itertools import chain, repeat
from typing import Any, NamedTuple

import jax
import numpy as np
from jaxtyping import Float

from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.material.laws.base import Energy
from fiddlehead.mechanics.body import Body
from fiddlehead.mechanics.lanes import Job, Landed, follow_many
from fiddlehead.mechanics.path import PathSettings
from fiddlehead.mesh.build import build_mesh
from fiddlehead.mesh.records import Mesh
from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.trials.bend import bend_result, observe_bending
from fiddlehead.trials.records import BendResult
from fiddlehead.trials.rig import clamped_body, require_one_topology, rising, run_history
from fiddlehead.trials.strains import BUILD_AXIS
from fiddlehead.trials.touch import followed_by_walls, touch_pressure_mpa

OBSERVERS = {
    orientation: partial(observe_bending, build_orientation=orientation)
    for orientation in BUILD_AXIS
}
"""One function object for each orientation, so that each is compiled once."""


def bend_many(
    fingers: Iterable[FingerParameters],
    law: Energy | Iterable[Energy],
    bulk_modulus_mpa: float | Iterable[float],
    pressures_mpa: Any,
    *,
    pressure_factors: float | Iterable[float] = 1.0,
    mesh_settings: MeshSettings | None = None,
    build_orientation: str = "side",
    lanes: int | None = None,
    settings: PathSettings = PathSettings(),
) -> Iterator[tuple[int, BendResult]]:
    """Bend fingers of one topology; each result comes with its place in ``fingers``, when it is
    done (not in order). Fingers are meshed only when the device is ready for them; those whose
    bellows touch are followed once more with walls that push, after all others.

    Parameters
    ----------
    fingers : same bellows count, kind of channel and kind of pad
    law, bulk_modulus_mpa : one for all, or one for each finger (laws of one kind); MPa
    pressures_mpa : rising gauge pressures to report at; the unloaded state is added in front
    pressure_factors : one for all, or one for each finger, by which its pressures are multiplied
    lanes : fingers in work at once; as many as the device's memory holds when None

    Raises
    ------
    ParameterError, MeshError : a finger or pressures that make no sense
    """
    pressures = rising(pressures_mpa)
    began = time.perf_counter()
    queue = iter(fingers)
    first = next(queue, None)
    if first is None:
        return
    template = build_mesh(first, mesh_settings)
    body = clamped_body(template)
    taken: dict[int, _Finger] = {}

    def jobs() -> Iterator[Job]:
        given = (_for_each(each) for each in (law, bulk_modulus_mpa, pressure_factors))
        for index, (finger, one, bulk, factor) in enumerate(
            zip(chain([first], queue), *given, strict=False)
        ):
            mesh = build_mesh(finger, mesh_settings)
            require_one_topology([template, mesh])
            job = Job(mesh.points, one, bulk, factor * pressures[-1])
            taken[index] = _Finger(mesh, job, factor * pressures)
            yield taken[index].job

    kept = OBSERVERS[build_orientation]
    factors = pressures / pressures[-1]

    def result(body: Body, landed: Landed, finger: _Finger, touch: float | None) -> BendResult:
        met, outcome, reached = landed.met, landed.outcome, landed.load_factor
        if touch is not None:
            met, outcome = followed_by_walls(landed.observed.slide, met, outcome)
            reached = factors[met - 1] if met < landed.met else reached
        run = run_history(
            body,
            settings,
            outcome,
            reached * finger.job.pressure,
            landed.solves,
            landed.solves_at_stop[:met],
            landed.cuts,
            time.perf_counter() - began,
            landed.lanes,
        )
        return bend_result(landed.observed, finger.pressures, finger.mesh, body.rule, run, touch)

    met: list[tuple[Landed, float]] = []
    for landed in follow_many(body, jobs(), factors, kept, lanes=lanes, settings=settings):
        own = taken[landed.index].pressures
        touch = touch_pressure_mpa(own[: landed.met], landed.observed.gap[: landed.met])
        if touch is None:
            yield landed.index, result(body, landed, taken.pop(landed.index), None)
        else:
            met.append((landed, touch))
    if met:
        again = (taken[free.index].job for free, _ in met)
        pushing = clamped_body(template, walls_push=True)
        for landed in follow_many(pushing, again, factors, kept, lanes=lanes, settings=settings):
            free, touch = met[landed.index]
            apart = int((taken[free.index].pressures[: free.met] < touch).sum())
            whole = _taken_up(free, landed, apart)
            yield free.index, result(pushing, whole, taken[free.index], touch)


def _taken_up(free: Landed, pushed: Landed, apart: int) -> Landed:
    """One run of two: steps with the walls apart from the free one, the rest from the other."""
    observed = jax.tree.map(
        lambda a, b: np.concatenate([a[:apart], b[apart:]]), free.observed, pushed.observed
    )
    return dataclasses.replace(
        pushed, observed=observed, solves=free.solves + pushed.solves, cuts=free.cuts + pushed.cuts
    )


class _Finger(NamedTuple):
    mesh: Mesh
    job: Job
    pressures: Float[np.ndarray, " step"]


def bend_batch(
    fingers: Sequence[FingerParameters],
    law: Energy | Sequence[Energy],
    bulk_modulus_mpa: float | Sequence[float],
    pressures_mpa: Any,
    **options: Any,
) -> list[BendResult]:
    """All results of :func:`bend_many` in the order of ``fingers``."""
    done = dict(bend_many(fingers, law, bulk_modulus_mpa, pressures_mpa, **options))
    return [done[index] for index in range(len(fingers))]


def _for_each(given: Any) -> Iterable[Any]:
    """One for all, or one for each."""
    return given if isinstance(given, Iterable) else repeat(given)

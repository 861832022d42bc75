"""Many fingers of one topology, each pressing on its own object of one kind of shape."""

from __future__ import annotations

import dataclasses
import time
from collections.abc import Iterator, Sequence
from functools import partial
from typing import Any

import jax.numpy as jnp
import numpy as np

from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.material.laws.base import Energy
from fiddlehead.mechanics.body import Body
from fiddlehead.mechanics.lanes import Job, Landed, follow_many
from fiddlehead.mechanics.path import PathSettings
from fiddlehead.mesh.build import build_mesh
from fiddlehead.mesh.records import Mesh
from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.trials.placing import Standing
from fiddlehead.trials.press import CONTACT_SETTINGS, THRESHOLD_KPA, obstacle_of
from fiddlehead.trials.press_measures import observe_pressing, press_result
from fiddlehead.trials.records import PressResult
from fiddlehead.trials.rig import clamped_body, require_one_topology, rising, run_history
from fiddlehead.trials.strains import BUILD_AXIS

OBSERVERS = {
    orientation: partial(observe_pressing, build_orientation=orientation)
    for orientation in BUILD_AXIS
}
"""One function object for each orientation, so that each is compiled once."""


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class Meeting:
    """One finger and the object that stands before it (``placing.stand``)."""

    finger: FingerParameters
    standing: Standing
    friction_coefficient: float = 0.0
    object_name: str = "object"


def press_many(
    meetings: Sequence[Meeting],
    law: Energy,
    bulk_modulus_mpa: float,
    pressures_mpa: Any,
    *,
    mesh_settings: MeshSettings | None = None,
    build_orientation: str = "side",
    lanes: int | None = None,
    settings: PathSettings = CONTACT_SETTINGS,
    most_solves: int = 2000,
) -> Iterator[tuple[int, PressResult]]:
    """Press all of them; each result comes with its place in ``meetings``, when it is done (not
    in order). Those whose bellows or cells close are followed once more with walls that push.

    Parameters
    ----------
    meetings : fingers of one topology, objects of one kind of shape
    law, bulk_modulus_mpa, pressures_mpa, mesh_settings, build_orientation : as for ``press``
    lanes : meetings in work at once; as many as the device's memory holds when None

    Raises
    ------
    ParameterError, MeshError : a finger or pressures that make no sense
    """
    if not meetings:
        return
    pressures = rising(pressures_mpa)
    factors = pressures / pressures[-1]
    began = time.perf_counter()
    meshes = [build_mesh(one.finger, mesh_settings) for one in meetings]
    require_one_topology(meshes)
    kept = OBSERVERS[build_orientation]
    rough = any(one.friction_coefficient > 0 for one in meetings)

    def job(index: int) -> Job:
        one = meetings[index]
        obstacle = obstacle_of(one.standing, law, one.friction_coefficient)
        if rough and obstacle.friction is None:  # one compiled program serves all of them
            obstacle = dataclasses.replace(obstacle, friction=jnp.zeros(()))
        return Job(meshes[index].points, law, bulk_modulus_mpa, pressures[-1], obstacle)

    def result(body: Body, landed: Landed, one: Meeting, mesh: Mesh) -> PressResult:
        run = run_history(
            body,
            settings,
            landed.outcome,
            landed.load_factor * pressures[-1],
            landed.solves,
            landed.solves_at_stop[: landed.met],
            landed.cuts,
            time.perf_counter() - began,
            landed.lanes,
        )
        return press_result(
            landed.observed, one.finger, mesh, body.rule, pressures, one.standing, run,
            object_name=one.object_name, friction_coefficient=one.friction_coefficient,
            threshold_mpa=1e-3 * THRESHOLD_KPA,
        )  # fmt: skip

    waiting = list(range(len(meetings)))
    for pushing in (False, True):
        body = clamped_body(meshes[0], grips=True, walls_push=pushing)
        closed = []
        for landed in follow_many(
            body, map(job, waiting), factors, kept,
            lanes=lanes, settings=settings, most_solves=most_solves,
        ):  # fmt: skip
            index = waiting[landed.index]
            if not pushing and np.any(landed.observed.void[: landed.met] < 0.0):
                closed.append(index)
            else:
                yield index, result(body, landed, meetings[index], meshes[index])
        waiting = closed
        if not waiting:
            return

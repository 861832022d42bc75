"""Trial ``bend``: inflate free fingers and see how they curl."""

from __future__ import annotations

from functools import partial
from typing import Any, NamedTuple

import jax
import jax.numpy as jnp
import numpy as np
from jaxtyping import Array, Float

from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.material.laws.base import Energy
from fiddlehead.mechanics.body import Body
from fiddlehead.mechanics.loads import Solid, cavity_volume
from fiddlehead.mechanics.outcome import Outcome
from fiddlehead.mechanics.path import PathSettings
from fiddlehead.mechanics.solid import strain_energy
from fiddlehead.mechanics.solve import Path, Progress, follow, make_loading, stack
from fiddlehead.mesh.records import Mesh
from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.trials.angles import chord_angle_deg, tip_angle_deg, tip_path_mm
from fiddlehead.trials.records import BendResult, RunHistory
from fiddlehead.trials.rig import Rig, history, rising, set_up
from fiddlehead.trials.strains import BUILD_AXIS, Strains, strain_peaks, strains
from fiddlehead.trials.touch import (
    farthest_slides,
    follow_with_walls,
    smallest_gaps,
    touch_pressure_mpa,
)
from fiddlehead.trials.unfinished import Unfinished


def bend(
    finger: FingerParameters,
    law: Energy,
    bulk_modulus_mpa: float,
    pressures_mpa: Any,
    *,
    mesh_settings: MeshSettings | None = None,
    build_orientation: str = "side",
    progress: Progress | None = None,
    unfinished: Unfinished | None = None,
    settings: PathSettings = PathSettings(),
) -> BendResult:
    """Free bending of one finger, clamped at the root face.

    Parameters
    ----------
    finger : its parameters
    law, bulk_modulus_mpa : the printed material; MPa
    pressures_mpa : rising gauge pressures to report at; the unloaded state is added in front
    mesh_settings : how finely; the standard mesh when None
    build_orientation : ``side``, ``upright`` or ``base_down``; sets which strains pull on layers
    progress : called after every Newton step; may raise ``Cancelled``
    unfinished : where the run is written down step by step, and taken up from if it is there

    Returns
    -------
    BendResult : always; shorter than asked and marked when the path ended early

    Raises
    ------
    ParameterError, MeshError : a finger or pressures that make no sense
    """
    pressures = rising(pressures_mpa)
    rig = set_up([finger], law, bulk_modulus_mpa, mesh_settings)
    body, path, touch = settle(rig, pressures, settings, progress, unfinished)
    found = jax.device_get(
        _observed(body, rig.solid(0), jnp.asarray(path.rows[0]), build_orientation)
    )
    run = history(path, 0, float(path.load_factor[0] * pressures[-1]), rig, settings)
    return bend_result(found, pressures, rig.meshes[0], body.rule, run, touch)


class Settled(NamedTuple):
    """One finger's balanced path, by the rows of ``body``."""

    body: Body
    path: Path
    touch_pressure_mpa: float | None
    """Pressure at which neighbouring bellows first touch; from there their walls push."""


def settle(
    rig: Rig,
    pressures_mpa: Float[np.ndarray, " step"],
    settings: PathSettings,
    progress: Progress | None = None,
    unfinished: Unfinished | None = None,
) -> Settled:
    """Inflate one finger; where its bellows meet, take the path up again with walls that push."""
    path = inflate(rig, pressures_mpa, settings, progress, unfinished)
    met = int(path.met[0])
    gap = np.asarray(_gaps(rig.body, rig.solid(0), jnp.asarray(path.rows[0])))[:met]
    touch = touch_pressure_mpa(pressures_mpa[:met], gap)
    if touch is None or path.outcome[0] is Outcome.cancelled:
        return Settled(rig.body, path, touch)
    touching = int(np.flatnonzero(gap < 0.0)[0])
    body, path = follow_with_walls(
        rig, path, touching, float(pressures_mpa[-1]), settings=settings, progress=progress
    )
    return Settled(body, path, touch)


_gaps = jax.jit(smallest_gaps)


def inflate(
    rig: Rig,
    pressures_mpa: Float[np.ndarray, " step"],
    settings: PathSettings,
    progress: Progress | None = None,
    unfinished: Unfinished | None = None,
) -> Path:
    """Follow the fingers of a rig through pressures that start with 0.

    ``unfinished`` is for a rig of one finger.
    """
    loads = [make_loading(rig.body, pressure=pressures_mpa[-1]) for _ in rig.meshes]
    return follow(
        rig.body,
        rig.solids,
        stack(loads),
        pressures_mpa / pressures_mpa[-1],
        settings=settings,
        progress=progress,
        resume=unfinished.state() if unfinished else None,
        keep=partial(unfinished.keep, rig.body, pressures_mpa) if unfinished else None,
    )


class Bent(NamedTuple):
    """What is kept of one finger's balanced states (of the modelled half)."""

    displacement: Float[Array, "step node 3"]
    volume: Float[Array, " step"]
    energy: Float[Array, " step"]
    gap: Float[Array, " step"]
    slide: Float[Array, " step"]
    strains: Strains


def observe_bending(
    body: Body,
    solid: Solid,
    rows: Float[Array, "step row"],
    build_orientation: str,
) -> Bent:
    """Displacements, cavity volume, energy, gaps and strains of every step; traceable by JAX."""

    def one(u: Float[Array, " row"]) -> tuple[Array, Array]:
        energy = strain_energy(body, solid.geometry, solid.law, solid.bulk, u)
        return jnp.asarray(cavity_volume(body, solid, u)), jnp.asarray(energy)

    volume, energy = jax.lax.map(one, rows)
    found = strains(body, solid, rows, BUILD_AXIS[build_orientation])
    gap, slide = smallest_gaps(body, solid, rows), farthest_slides(body, solid, rows)
    return Bent(body.to_nodes(rows), volume, energy, gap, slide, found)


_observed = jax.jit(observe_bending, static_argnames="build_orientation")


def bend_result(
    found: Bent,
    pressures_mpa: Float[np.ndarray, " step"],
    mesh: Mesh,
    rule: str,
    run: RunHistory,
    touch_pressure_mpa: float | None,
) -> BendResult:
    """The record of the steps that were met; ``found`` may hold more."""
    met = len(run.solves_at_step)
    displacement = np.asarray(found.displacement)[:met]
    tip = tip_path_mm(mesh, displacement)
    return BendResult(
        pressure_mpa=pressures_mpa[:met],
        tip_angle_deg=tip_angle_deg(mesh, displacement),
        chord_angle_deg=chord_angle_deg(tip),
        tip_path_mm=tip,
        cavity_volume_mm3=2.0 * np.asarray(found.volume)[:met],
        strain_energy_mj=2.0 * np.asarray(found.energy)[:met],
        smallest_gap_mm=np.asarray(found.gap)[:met],
        strain=strain_peaks(found.strains, mesh, rule, met),
        displacement_mm=displacement,
        node_strain=np.asarray(found.strains.at_nodes)[:met],
        mesh=mesh,
        touch_pressure_mpa=touch_pressure_mpa,
        history=run,
    )

"""Trial ``bend``: inflate free fingers and see how they curl."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import jax
import jax.numpy as jnp
import numpy as np
from jaxtyping import Array, Float

from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.material.laws.base import Energy
from fiddlehead.mechanics.balance import Solid, cavity_volume
from fiddlehead.mechanics.body import Body
from fiddlehead.mechanics.path import PathSettings
from fiddlehead.mechanics.solid import strain_energy
from fiddlehead.mechanics.solve import Path, Progress, follow, make_loading, stack
from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.trials.angles import chord_angle_deg, tip_angle_deg, tip_path_mm
from fiddlehead.trials.records import BendResult
from fiddlehead.trials.rig import Rig, history, rising, set_up
from fiddlehead.trials.strains import measure_strains


def bend(
    finger: FingerParameters,
    law: Energy,
    bulk_modulus_mpa: float,
    pressures_mpa: Any,
    *,
    mesh_settings: MeshSettings | None = None,
    build_orientation: str = "side",
    progress: Progress | None = None,
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

    Returns
    -------
    BendResult : always; shorter than asked and marked when the path ended early

    Raises
    ------
    ParameterError, MeshError : a finger or pressures that make no sense
    """
    return bend_batch(
        [finger],
        law,
        bulk_modulus_mpa,
        pressures_mpa,
        mesh_settings=mesh_settings,
        build_orientation=build_orientation,
        progress=progress,
        settings=settings,
    )[0]


def bend_batch(
    fingers: Sequence[FingerParameters],
    law: Energy | Sequence[Energy],
    bulk_modulus_mpa: float | Sequence[float],
    pressures_mpa: Any,
    *,
    mesh_settings: MeshSettings | None = None,
    build_orientation: str = "side",
    progress: Progress | None = None,
    settings: PathSettings = PathSettings(),
) -> list[BendResult]:
    """Free bending of many fingers of one topology at once; see :func:`bend`.

    ``law`` and ``bulk_modulus_mpa`` may be one for all or one for each finger.
    """
    pressures = rising(pressures_mpa)
    rig = set_up(fingers, law, bulk_modulus_mpa, mesh_settings)
    path = inflate(rig, pressures, settings, progress)
    return [
        _result(rig, path, design, pressures, build_orientation, settings)
        for design in range(len(fingers))
    ]


def inflate(
    rig: Rig,
    pressures_mpa: Float[np.ndarray, " step"],
    settings: PathSettings,
    progress: Progress | None = None,
) -> Path:
    """Follow the fingers of a rig through pressures that start with 0."""
    loads = [make_loading(rig.body, pressure=pressures_mpa[-1]) for _ in rig.meshes]
    return follow(
        rig.body,
        rig.solids,
        stack(loads),
        pressures_mpa / pressures_mpa[-1],
        settings=settings,
        progress=progress,
    )


def _result(
    rig: Rig,
    path: Path,
    design: int,
    pressures: Float[np.ndarray, " step"],
    build_orientation: str,
    settings: PathSettings,
) -> BendResult:
    met = int(path.met[design])
    mesh, solid = rig.meshes[design], rig.solid(design)
    displacement, rows = path.displacement[design], path.rows[design]
    tip = tip_path_mm(mesh, displacement)
    volume, energy = (np.asarray(a) for a in _volume_and_energy(rig.body, solid, jnp.asarray(rows)))
    strain, node_strain = measure_strains(rig.body, solid, mesh, rows, build_orientation, met)
    return BendResult(
        pressure_mpa=pressures[:met],
        tip_angle_deg=tip_angle_deg(mesh, displacement)[:met],
        chord_angle_deg=chord_angle_deg(tip)[:met],
        tip_path_mm=tip[:met],
        cavity_volume_mm3=2.0 * volume[:met],
        strain_energy_mj=2.0 * energy[:met],
        strain=strain,
        displacement_mm=displacement[:met],
        node_strain=node_strain,
        mesh=mesh,
        history=history(
            path, design, float(path.load_factor[design] * pressures[-1]), rig, settings
        ),
    )


@jax.jit
def _volume_and_energy(
    body: Body, solid: Solid, rows: Float[Array, "step row"]
) -> tuple[Array, Array]:
    def one(u: Array) -> tuple[Array, Array]:
        energy = strain_energy(body, solid.geometry, solid.law, solid.bulk, u)
        return jnp.asarray(cavity_volume(body, solid, u)), jnp.asarray(energy)

    return jax.lax.map(one, rows)

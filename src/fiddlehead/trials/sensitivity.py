"""How much each size and material constant moves the bending curve, by the adjoint state."""

from __future__ import annotations

import dataclasses
from functools import partial
from typing import Any

import jax
import jax.numpy as jnp
import numpy as np
from jaxtyping import Array, Float, Int

from fiddlehead.finger.coordinates import node_coordinates
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.material.laws.base import Energy
from fiddlehead.mechanics.adjoint import sensitivities
from fiddlehead.mechanics.body import Body
from fiddlehead.mechanics.loads import Loading, Solid, cavity_volume
from fiddlehead.mechanics.path import PathSettings
from fiddlehead.mechanics.solid import strain_energy
from fiddlehead.mechanics.solve import make_loading, make_solid
from fiddlehead.mesh.records import Mesh
from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.mesh.template import MeshTemplate
from fiddlehead.trials.angles import tip_point, tip_slopes
from fiddlehead.trials.bend import settle
from fiddlehead.trials.records import BendSensitivity
from fiddlehead.trials.rig import history, rising, set_up
from fiddlehead.trials.strains import BUILD_AXIS, strains

RESULTS = (
    "tip_angle_deg",
    "chord_angle_deg",
    "tip_x_mm",
    "tip_y_mm",
    "cavity_volume_mm3",
    "strain_energy_mj",
    "strain_p95",
    "strain_peak",
)


def bend_sensitivity(
    finger: FingerParameters,
    law: Energy,
    bulk_modulus_mpa: float,
    pressures_mpa: Any,
    *,
    mesh_settings: MeshSettings | None = None,
    settings: PathSettings = PathSettings(),
) -> BendSensitivity:
    """Bending curve of one finger with its derivatives by every continuous size, every constant
    of the law, the bulk modulus and the pressure: one more linear solve a pressure step.

    Parameters as :func:`fiddlehead.trials.bend.bend`.

    Raises
    ------
    ParameterError, MeshError : a finger or pressures that make no sense
    """
    pressures = rising(pressures_mpa)
    rig = set_up([finger], law, bulk_modulus_mpa, mesh_settings)
    body, path, _ = settle(rig, pressures, settings)
    mesh = rig.meshes[0]
    parameters = {
        "finger": {name: jnp.asarray(size, float) for name, size in finger.sizes().items()},
        "law": jax.tree.map(lambda c: jnp.asarray(c, float), law),
        "bulk_modulus_mpa": jnp.asarray(bulk_modulus_mpa, float),
        "pressure_mpa": jnp.asarray(0.0),
    }
    values, slopes = [], []
    for pressure, rows in zip(pressures, path.rows[0][: int(path.met[0])], strict=False):
        at = parameters | {"pressure_mpa": jnp.asarray(pressure)}
        found = _at_step(body, at, jnp.asarray(rows), _Read(mesh))
        values.append(np.asarray(found[0]))
        slopes.append(_columns(found[1], finger))
    return BendSensitivity(
        pressure_mpa=pressures[: len(values)],
        results=RESULTS,
        parameters=tuple(slopes[0]),
        value=np.array(values),
        derivative=np.array([np.stack(list(one.values()), axis=1) for one in slopes]),
        history=history(path, 0, float(path.load_factor[0] * pressures[-1]), rig, settings),
    )


def _columns(tree: Any, finger: FingerParameters) -> dict[str, Float[np.ndarray, " result"]]:
    """Derivatives by parameter, sizes first."""
    constants = {f.name: getattr(tree["law"], f.name) for f in dataclasses.fields(tree["law"])}
    sizes = {name: tree["finger"][name] for name in finger.sizes()}
    rest = {name: tree[name] for name in ("bulk_modulus_mpa", "pressure_mpa")}
    return {name: np.asarray(leaf) for name, leaf in (sizes | constants | rest).items()}


class _Read:
    """What the results are read from; equal for all fingers of a template, so it compiles once."""

    def __init__(self, mesh: Mesh) -> None:
        assert isinstance(mesh.template, MeshTemplate)
        self.template: MeshTemplate = mesh.template
        self.tip: int = tip_point(mesh)
        self.faces: Int[np.ndarray, "face 8"] = mesh.faces["tip"]

    def __hash__(self) -> int:
        return hash(id(self.template))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Read) and other.template is self.template


@partial(jax.jit, static_argnames="read")
def _at_step(body: Body, parameters: Any, rows: Float[Array, " row"], read: _Read) -> Any:
    def made(varied: Any) -> tuple[Solid, Loading]:
        points = node_coordinates(read.template, varied["finger"])
        solid = make_solid(body, points, varied["law"], varied["bulk_modulus_mpa"])
        return solid, make_loading(body, pressure=varied["pressure_mpa"])

    return sensitivities(
        body, made, parameters, lambda solid, u: _results(body, read, solid, u), 1.0, rows
    )


def _results(
    body: Body, read: _Read, solid: Solid, u: Float[Array, " row"]
) -> Float[Array, " result"]:
    """In the order of ``RESULTS``; volumes and energy of the full finger."""
    moved = body.to_nodes(u)
    slope_x, slope_y, _ = tip_slopes(solid.points, moved[None], read.faces, jnp)[0]
    x, y, _ = solid.points[read.tip] + moved[read.tip]
    energy = strain_energy(body, solid.geometry, solid.law, solid.bulk, u)
    strain = strains(body, solid, u[None], BUILD_AXIS["side"])
    return jnp.stack(
        [
            jnp.degrees(jnp.arctan2(slope_x, 1.0 + slope_y)),
            jnp.degrees(jnp.arctan2(-y, x)),
            x,
            y,
            2.0 * cavity_volume(body, solid, u),
            2.0 * energy,
            strain.p95[0],
            strain.peak[0],
        ]
    )

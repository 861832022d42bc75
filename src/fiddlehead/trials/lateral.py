"""Trial ``lateral``: how firmly the inflated finger stands against a push from the side.

The finger is inflated as for ``bend``. In each balanced state, which is symmetric, a push square
to the plane of symmetry moves the half finger with the antisymmetric supports: on that plane the
components within it are held and the one across it is free. One more linear solve for each
pressure, and exact.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import jax
import jax.numpy as jnp
import numpy as np
from jaxtyping import Array, Bool, Float

from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.material.laws.base import Energy
from fiddlehead.mechanics.body import Body, make_body
from fiddlehead.mechanics.element import face_functions
from fiddlehead.mechanics.loads import Loading, Solid
from fiddlehead.mechanics.path import PathSettings
from fiddlehead.mechanics.quadrature import FACE_RULE
from fiddlehead.mechanics.solve import Path, Progress, make_loading
from fiddlehead.mechanics.stability import SmallMotion, small_motion
from fiddlehead.mesh.records import Mesh
from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.trials.angles import tip_angle_deg, tip_twist_deg
from fiddlehead.trials.bend import inflate
from fiddlehead.trials.buckling import MARGIN_STANDING, buckling_pressure_mpa, buckling_warning
from fiddlehead.trials.records import LateralResult
from fiddlehead.trials.rig import Rig, history, rising, set_up


def lateral(
    finger: FingerParameters,
    law: Energy,
    bulk_modulus_mpa: float,
    pressures_mpa: Any,
    *,
    mesh_settings: MeshSettings | None = None,
    progress: Progress | None = None,
    settings: PathSettings = PathSettings(),
) -> LateralResult:
    """Lateral stiffness of one finger at each pressure, and how near lateral buckling is.

    Parameters
    ----------
    finger, law, bulk_modulus_mpa, pressures_mpa, mesh_settings, progress : as for ``bend``

    Returns
    -------
    LateralResult : always; shorter than asked and marked when the path ended early

    Raises
    ------
    ParameterError, MeshError : a finger or pressures that make no sense
    """
    return lateral_batch(
        [finger],
        law,
        bulk_modulus_mpa,
        pressures_mpa,
        mesh_settings=mesh_settings,
        progress=progress,
        settings=settings,
    )[0]


def lateral_batch(
    fingers: Sequence[FingerParameters],
    law: Energy | Sequence[Energy],
    bulk_modulus_mpa: float | Sequence[float],
    pressures_mpa: Any,
    *,
    mesh_settings: MeshSettings | None = None,
    progress: Progress | None = None,
    settings: PathSettings = PathSettings(),
) -> list[LateralResult]:
    """Lateral stiffness of many fingers of one topology at once; see :func:`lateral`.

    ``law`` and ``bulk_modulus_mpa`` may be one for all or one for each finger.
    """
    pressures = rising(pressures_mpa)
    rig = set_up(fingers, law, bulk_modulus_mpa, mesh_settings)
    path = inflate(rig, pressures, settings, progress)
    first = rig.meshes[0]
    swaying = make_body(
        first.points,
        first.elements,
        pressure_faces=first.faces["cavity"],
        fixed=sideways_supports(first),
        rule=rig.body.rule,
    )
    return [
        _result(rig, swaying, path, design, pressures, settings) for design in range(len(fingers))
    ]


def sideways_supports(mesh: Mesh) -> Bool[np.ndarray, "node 3"]:
    """Antisymmetric supports: root face held; on the plane of symmetry x and y held, z free."""
    fixed = np.zeros((len(mesh.points), 3), dtype=bool)
    fixed[np.unique(mesh.faces["root"])] = True
    fixed[np.unique(mesh.faces["symmetry"]), :2] = True
    return fixed


def tip_share(mesh: Mesh) -> Float[np.ndarray, " node"]:
    """Each node's share in the mean over the undeformed tip face; they add up to 1."""
    faces = mesh.faces["tip"]
    values, slopes = face_functions(FACE_RULE.points)
    edges = np.einsum("fai,qak->fqik", mesh.points[faces], slopes)
    area = np.linalg.norm(np.cross(edges[..., 0], edges[..., 1]), axis=-1) * FACE_RULE.weights
    share = np.zeros(len(mesh.points))
    np.add.at(share, faces, area @ values)
    return share / area.sum()


def _result(
    rig: Rig,
    swaying: Body,
    path: Path,
    design: int,
    pressures: Float[np.ndarray, " step"],
    settings: PathSettings,
) -> LateralResult:
    met = int(path.met[design])
    mesh, displacement = rig.meshes[design], path.displacement[design]
    share = tip_share(mesh)
    push = np.zeros((*mesh.points.shape, 1))
    push[:, 2, 0] = 0.5 * share  # half of 1 N on the half finger
    motion = _motions(
        swaying,
        rig.solid(design),
        make_loading(swaying, pressure=pressures[-1]),
        jnp.asarray(path.stops),
        jnp.asarray(path.rows[design]),
        jnp.asarray(push),
    )
    moved = np.asarray(swaying.to_nodes(motion.moved[..., 0]))
    weakest = np.asarray(swaying.to_nodes(motion.shape))
    lowest, unstable = np.asarray(motion.lowest), np.asarray(motion.negative)[:met]
    stability = (lowest / lowest[0])[:met]
    buckling = buckling_pressure_mpa(pressures[:met], stability, unstable)
    return LateralResult(
        pressure_mpa=pressures[:met],
        tip_angle_deg=tip_angle_deg(mesh, displacement)[:met],
        stiffness_n_per_mm=1.0 / (moved[..., 2] @ share)[:met],
        twist_deg_per_n=tip_twist_deg(mesh, displacement, moved)[:met],
        stability=stability,
        unstable_shapes=unstable,
        buckling_pressure_mpa=buckling,
        warning=buckling_warning(pressures[:met], unstable, buckling),
        margin_standing=MARGIN_STANDING,
        weakest_mm=_to_largest(weakest)[:met],
        displacement_mm=displacement[:met],
        mesh=mesh,
        history=history(
            path, design, float(path.load_factor[design] * pressures[-1]), rig, settings
        ),
    )


def _to_largest(shapes: Float[np.ndarray, "step node 3"]) -> Float[np.ndarray, "step node 3"]:
    """Scaled so that the largest displacement of each shape is 1, towards +z."""
    size = np.linalg.norm(shapes, axis=2)
    node = size.argmax(axis=1)
    step = np.arange(len(shapes))
    sign = np.where(shapes[step, node, 2] < 0.0, -1.0, 1.0)
    return shapes * (sign / size[step, node])[:, None, None]


@jax.jit
def _motions(
    body: Body,
    solid: Solid,
    loading: Loading,
    stops: Float[Array, " step"],
    rows: Float[Array, "step row"],
    push: Float[Array, "node 3 column"],
) -> SmallMotion:
    def one(state: tuple[Array, Array]) -> SmallMotion:
        return small_motion(body, solid, loading, state[0], state[1], push)

    return jax.lax.map(one, (stops, rows))

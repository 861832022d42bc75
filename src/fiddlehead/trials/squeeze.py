"""Trial ``squeeze``: a pad between its finger, held straight, and a flat plate that closes it."""

from __future__ import annotations

from typing import Any

import jax.numpy as jnp
import numpy as np

from fiddlehead.errors import ParameterError
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.material.laws.base import Energy
from fiddlehead.mechanics.body import make_body
from fiddlehead.mechanics.contact import make_obstacle
from fiddlehead.mechanics.loads import contact_forces
from fiddlehead.mechanics.path import PathSettings
from fiddlehead.mechanics.solve import Progress, follow, make_loading, make_solid, stack
from fiddlehead.mesh.build import build_mesh
from fiddlehead.mesh.closing import closing_walls
from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.objects.shapes.simple import Plane
from fiddlehead.trials.placing import stand
from fiddlehead.trials.press import CONTACT_SETTINGS
from fiddlehead.trials.records import SqueezeResult
from fiddlehead.trials.rig import run_history
from fiddlehead.trials.touch import smallest_gaps


def squeeze(
    finger: FingerParameters,
    law: Energy,
    bulk_modulus_mpa: float,
    closures: Any,
    *,
    mesh_settings: MeshSettings | None = None,
    progress: Progress | None = None,
    settings: PathSettings = CONTACT_SETTINGS,
) -> SqueezeResult:
    """Force of a pad against its closure, without friction; the finger above it does not move.

    Ribs and cells that close push on each other, so the force rises steeply once they do.

    Parameters
    ----------
    finger : with a pad
    law, bulk_modulus_mpa : the printed material; MPa
    closures : rising shares of the pad's depth, each above 0 and below 1; the open pad is added

    Returns
    -------
    SqueezeResult : always; shorter than asked and marked when the path ended early

    Raises
    ------
    ParameterError, MeshError : a finger without pad, or closures that make no sense
    """
    asked = np.atleast_1d(np.asarray(closures, float))
    if finger.pad is None:
        raise ParameterError(
            "there is no pad to squeeze", where="pad", remedy="Give the finger a pad."
        )
    if not len(asked) or np.any(np.diff(np.concatenate([[0.0], asked])) <= 0) or asked[-1] >= 1:
        raise ParameterError(
            "closures must rise from above zero", where="closures",
            found=np.array2string(asked, threshold=6), allowed="rising shares between 0 and 1",
            remedy="List them from small to large.",
        )  # fmt: skip
    mesh = build_mesh(finger, mesh_settings)
    fixed = np.zeros((len(mesh.points), 3), dtype=bool)
    fixed[mesh.points[:, 1] > -1e-9] = True
    fixed[np.unique(mesh.faces["symmetry"]), 2] = True
    body = make_body(
        mesh.points,
        mesh.elements,
        contact_faces=mesh.faces["underside"],
        wall_pairs=closing_walls(mesh.points, mesh.void_loops),
        walls_push=bool(mesh.void_loops),
        fixed=fixed,
    )
    solid = make_solid(body, mesh.points, law, bulk_modulus_mpa)
    plate = stand(finger, Plane(), orientation="facing").placed
    modulus = jnp.asarray(law.shear_modulus_mpa, float)
    obstacle = make_obstacle(plate.shape, plate.pose, modulus)
    down = np.zeros_like(mesh.points)
    down[mesh.points[:, 1] > -1e-9, 1] = -asked[-1] * finger.pad_depth_mm
    loading = make_loading(body, prescribed=down, obstacle=obstacle)
    stops = np.concatenate([[0.0], asked]) / asked[-1]
    path = follow(
        body, stack([solid]), stack([loading]), stops, settings=settings, progress=progress
    )
    met = int(path.met[0])
    rows = jnp.asarray(path.rows[0, :met])
    push = np.array([body.to_nodes(contact_forces(body, solid, obstacle, u)) for u in rows])
    return SqueezeResult(
        closure=stops[:met] * asked[-1],
        force_n=2.0 * push[:, :, 1].sum(1),
        smallest_void_mm=np.asarray(smallest_gaps(body, solid, rows)),
        displacement_mm=path.displacement[0, :met],
        mesh=mesh,
        history=run_history(
            body, settings, path.outcome[0], 0.0, int(path.solves[0]),
            path.solves_at_stop[0, :met], int(path.cuts[0]), path.elapsed_s, 1,
        ),
    )  # fmt: skip

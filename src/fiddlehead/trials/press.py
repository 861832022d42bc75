"""Trial ``press``: inflate a finger against an object that does not move."""

from __future__ import annotations

from typing import Any

import jax
import jax.numpy as jnp
import numpy as np

from fiddlehead.errors import ParameterError
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.material.laws.base import Energy
from fiddlehead.mechanics.contact import Obstacle, make_obstacle, smallest_gap
from fiddlehead.mechanics.loads import face_positions
from fiddlehead.mechanics.outcome import Outcome
from fiddlehead.mechanics.path import PathSettings
from fiddlehead.mechanics.solve import Path, Progress, follow, make_loading, stack
from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.trials.placing import DEEPEST_START_MM, Standing, stand
from fiddlehead.trials.press_measures import observe_pressing, press_result
from fiddlehead.trials.records import PressResult
from fiddlehead.trials.rig import Rig, history, rising, set_up
from fiddlehead.trials.touch import follow_with_walls, smallest_gaps

CONTACT_SETTINGS = PathSettings(
    tolerance=1e-7, first_step=0.02, most_iterations=30, wanted_iterations=12, predictor_states=2
)
"""Finding which points touch takes more corrections than bending freely."""
THRESHOLD_KPA = 1.0
"""Contact pressure from which area counts (common practice, no source)."""


def press(
    finger: FingerParameters,
    law: Energy,
    bulk_modulus_mpa: float,
    pressures_mpa: Any,
    shape: Any,
    *,
    object_name: str = "object",
    friction_coefficient: float = 0.0,
    orientation: str = "upright",
    touch_at_mm: float | None = None,
    clearance_mm: float = 0.0,
    threshold_kpa: float = THRESHOLD_KPA,
    mesh_settings: MeshSettings | None = None,
    build_orientation: str = "side",
    progress: Progress | None = None,
    settings: PathSettings = CONTACT_SETTINGS,
) -> PressResult:
    """Press one finger on an object.

    Parameters
    ----------
    finger, law, bulk_modulus_mpa, mesh_settings, build_orientation, progress : as for ``bend``
    pressures_mpa : rising gauge pressures to report at; the unloaded state is added in front
    shape : of the object (``objects.making.shape_of``)
    friction_coefficient : between pad and object; 0 is smooth
    orientation, touch_at_mm, clearance_mm : where it stands, see :func:`placing.stand`
    threshold_kpa : contact pressure from which area counts as touching

    Raises
    ------
    ParameterError, MeshError : arguments that make no sense, an object that overlaps the finger
        at rest or is not symmetric about its mid-plane
    """
    pressures = rising(pressures_mpa)
    _sensible(friction_coefficient, threshold_kpa)
    standing = stand(
        finger, shape, orientation=orientation, touch_at_mm=touch_at_mm, clearance_mm=clearance_mm
    )
    rig = set_up([finger], law, bulk_modulus_mpa, mesh_settings, grips=True)
    obstacle = obstacle_of(standing, law, friction_coefficient)
    require_clear(rig, obstacle, object_name)
    path, body = _pressed(rig, obstacle, pressures, settings, progress)
    found = jax.device_get(
        observe(
            body, rig.solid(0), jnp.asarray(path.rows[0]), obstacle,
            jax.tree.map(lambda past: jnp.asarray(past[0]), path.past), build_orientation,
        )
    )  # fmt: skip
    run = history(path, 0, float(path.load_factor[0] * pressures[-1]), rig, settings)
    return press_result(
        found, finger, rig.meshes[0], body.rule, pressures, standing, run,
        object_name=object_name, friction_coefficient=friction_coefficient,
        threshold_mpa=1e-3 * threshold_kpa,
    )  # fmt: skip


observe = jax.jit(observe_pressing, static_argnames="build_orientation")


def obstacle_of(standing: Standing, law: Energy, friction_coefficient: float) -> Obstacle:
    """The object as the mechanics feels it; without friction when the coefficient is 0."""
    placed = standing.placed
    modulus = jnp.asarray(law.shear_modulus_mpa, float)
    return make_obstacle(placed.shape, placed.pose, modulus, friction_coefficient or None)


def require_clear(rig: Rig, obstacle: Obstacle, name: str) -> None:
    """Refuse an object the finger is inside of before it is inflated.

    Raises
    ------
    ParameterError : it overlaps at rest
    """
    rest = jnp.zeros(rig.body.size)
    x = face_positions(rig.body, rig.solid(0), rig.body.contact_faces, rest)
    gap = float(smallest_gap(obstacle, x))
    if gap < -DEEPEST_START_MM:
        raise ParameterError(
            "the object overlaps the finger at rest", where=name, found=f"{-gap:.3g} mm deep",
            allowed="touching or apart", remedy="Move it away, or let it touch elsewhere.",
        )  # fmt: skip


def _sensible(friction_coefficient: float, threshold_kpa: float) -> None:
    if not 0.0 <= friction_coefficient <= 3.0:
        raise ParameterError(
            "friction coefficient cannot be used", where="friction_coefficient",
            found=f"{friction_coefficient:g}", allowed="0 to 3", remedy="Check it.",
        )  # fmt: skip
    if not threshold_kpa > 0.0:
        raise ParameterError(
            "contact threshold cannot be used", where="threshold_kpa", found=f"{threshold_kpa:g}",
            allowed="above 0 kPa", remedy="1 kPa is usual.",
        )  # fmt: skip


def _pressed(
    rig: Rig, obstacle: Obstacle, pressures: Any, settings: PathSettings, progress: Progress | None
) -> tuple[Path, Any]:
    """The path, taken up again with walls that push where bellows, ribs or cells close."""
    path = follow(
        rig.body,
        rig.solids,
        stack([make_loading(rig.body, pressure=pressures[-1], obstacle=obstacle)]),
        pressures / pressures[-1],
        settings=settings,
        progress=progress,
    )
    met = int(path.met[0])
    gap = np.asarray(_gaps(rig.body, rig.solid(0), jnp.asarray(path.rows[0])))[:met]
    closed = np.flatnonzero(gap < 0.0)
    if not len(closed) or path.outcome[0] is Outcome.cancelled:
        return path, rig.body
    body, whole = follow_with_walls(
        rig, path, int(closed[0]), float(pressures[-1]),
        settings=settings, progress=progress, obstacle=obstacle,
    )  # fmt: skip
    return whole, body


_gaps = jax.jit(smallest_gaps)

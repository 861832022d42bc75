"""Trial ``block``: how hard the tip pushes on something that does not give."""

from __future__ import annotations

import dataclasses
from typing import Any

import jax
import jax.numpy as jnp
import numpy as np
from jaxtyping import Array, Float

from fiddlehead.errors import ParameterError
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.material.laws.base import Energy
from fiddlehead.mechanics.balance import out_of_balance
from fiddlehead.mechanics.body import Body
from fiddlehead.mechanics.loads import Solid, plate_forces
from fiddlehead.mechanics.path import PathSettings
from fiddlehead.mechanics.plate import Plate, gap_to
from fiddlehead.mechanics.solve import Path, Progress, follow, make_loading, stack
from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.trials.angles import tip_angle_deg
from fiddlehead.trials.handbound import explain, hand_bound_n
from fiddlehead.trials.records import BlockResult
from fiddlehead.trials.rig import Rig, history, rising, set_up
from fiddlehead.trials.strains import measure_strains

TIP_HOLDS = ("plate", "held")
PLATE_MODULI_PER_MM = 2.0
"""Stiffness of the numerical plate in initial shear moduli per mm of depth: the tip sinks in by
hundredths of a millimetre, beside the tens of millimetres it would move freely."""
PLATE_RAMP_MM = 0.02
"""Depth over which the plate's push sets in."""
CONTACT_SETTINGS = PathSettings(most_iterations=25)
"""Finding which part of the tip touches takes more corrections than bending freely."""


@dataclasses.dataclass(frozen=True)
class _Touch:
    """The balanced state in which the tip meets the plate."""

    pressure_mpa: float
    angle_deg: float
    rows: Float[np.ndarray, " row"]


def block(
    finger: FingerParameters,
    law: Energy,
    bulk_modulus_mpa: float,
    pressures_mpa: Any,
    *,
    preset_angle_deg: float = 0.0,
    tip_hold: str = "plate",
    contact_length_mm: float | None = None,
    mesh_settings: MeshSettings | None = None,
    build_orientation: str = "side",
    progress: Progress | None = None,
    settings: PathSettings = CONTACT_SETTINGS,
) -> BlockResult:
    """Blocked force of one finger at a preset tip angle.

    The finger first bends freely until its tip has turned by ``preset_angle_deg``; there a smooth
    rigid plate meets the gripping face at the tip, square to it, and the pressure rises on.

    Parameters
    ----------
    finger, law, bulk_modulus_mpa, mesh_settings, build_orientation, progress : as for ``bend``
    pressures_mpa : rising gauge pressures; those below the touch pressure carry no force
    preset_angle_deg : 0 for the straight finger
    tip_hold : ``plate`` (may slide and turn) or ``held`` (end face held across; straight only)
    contact_length_mm : how far from the tip the plate reaches; the tip block when None

    Raises
    ------
    ParameterError, MeshError : arguments that make no sense, or a preset angle the free finger
        does not reach at the highest pressure
    """
    if tip_hold not in TIP_HOLDS:
        raise ParameterError(
            "no such tip hold", found=repr(tip_hold), allowed=", ".join(TIP_HOLDS),
            remedy="Use plate for a tip on a load cell, held for a guided tip.",
        )  # fmt: skip
    if not 0.0 <= preset_angle_deg <= 270.0 or (tip_hold == "held" and preset_angle_deg):
        raise ParameterError(
            "preset angle cannot be used", found=f"{preset_angle_deg:g} deg",
            allowed="0 to 270 deg on a plate, 0 when held",
        )  # fmt: skip
    pressures = rising(pressures_mpa)
    length = finger.tip_length_mm if contact_length_mm is None else contact_length_mm
    if not 0.0 < length <= finger.length_mm - finger.root_length_mm:
        raise ParameterError(
            "contact length cannot be used", where="contact_length_mm", found=f"{length:g} mm",
            allowed=f"above 0, up to {finger.length_mm - finger.root_length_mm:.4g} mm",
            remedy="Give the length of gripping face at the tip that lies on the plate.",
        )  # fmt: skip
    rig = set_up(
        [finger], law, bulk_modulus_mpa, mesh_settings,
        hold_tip=tip_hold == "held", plate_length_mm=None if tip_hold == "held" else length,
    )  # fmt: skip
    touch = _touch(rig, pressures, preset_angle_deg, settings, progress)
    plate = None if tip_hold == "held" else _plate(rig, touch, law)
    stops = np.concatenate(
        [[touch.pressure_mpa], pressures[pressures > touch.pressure_mpa * (1 + 1e-9)]]
    )
    if len(stops) < 2:
        raise _not_reached(preset_angle_deg, touch.angle_deg, pressures[-1])
    rise = stops[-1] - stops[0]
    path = follow(
        rig.body,
        rig.solids,
        stack([make_loading(rig.body, pressure=stops[-1], pressure_start=stops[0], plate=plate)]),
        (stops - stops[0]) / rise,
        settings=settings,
        start_rows=jnp.asarray(touch.rows)[None],
        progress=progress,
    )
    return _result(
        finger, rig, path, stops, touch, plate, preset_angle_deg, tip_hold, build_orientation,
        settings,
    )  # fmt: skip


def _touch(
    rig: Rig,
    pressures: Float[np.ndarray, " step"],
    preset_angle_deg: float,
    settings: PathSettings,
    progress: Progress | None,
) -> _Touch:
    """Bend freely to the preset angle: walk the requested pressures, then close in by secants."""
    rest = np.zeros(rig.body.size)
    if preset_angle_deg == 0.0:
        return _Touch(0.0, 0.0, rest)
    mesh = rig.meshes[0]

    def free(start: float, end: float, rows: np.ndarray, stops: Any) -> Path:
        load = make_loading(rig.body, pressure=end, pressure_start=start)
        return follow(
            rig.body, rig.solids, stack([load]), stops,
            settings=settings, start_rows=jnp.asarray(rows)[None], progress=progress,
        )  # fmt: skip

    path = free(0.0, pressures[-1], rest, pressures / pressures[-1])
    met = int(path.met[0])
    angle = tip_angle_deg(mesh, path.displacement[0])[:met]
    above = int(np.argmax(angle >= preset_angle_deg))
    if angle[above] < preset_angle_deg:
        raise _not_reached(preset_angle_deg, float(angle.max()), float(pressures[met - 1]))
    low, high = above - 1, above
    p, rows = float(pressures[low]), path.rows[0, low]
    here, slope = float(angle[low]), (angle[high] - angle[low]) / (pressures[high] - pressures[low])
    for _ in range(6):
        if abs(here - preset_angle_deg) < 1e-3:
            break
        target = p + (preset_angle_deg - here) / slope
        step = free(p, target, rows, [0.0, 1.0])
        if int(step.met[0]) < 2:
            break
        turned = float(tip_angle_deg(mesh, step.displacement[0])[1])
        slope = (turned - here) / (target - p)
        p, rows, here = target, step.rows[0, 1], turned
    return _Touch(p, here, rows)


def _not_reached(preset: float, reached: float, pressure: float) -> ParameterError:
    return ParameterError(
        "the free finger does not reach the preset angle",
        found=f"{preset:g} deg asked, {reached:.1f} deg reached at {1000 * pressure:.0f} kPa",
        allowed=f"less than {reached:.1f} deg at this pressure",
        remedy="Lower the preset angle, raise the pressure within its limit, or soften the finger.",
    )


def _plate(rig: Rig, touch: _Touch, law: Energy) -> Plate:
    """A plate square to the turned tip that just touches the gripping face there."""
    turn = np.radians(touch.angle_deg)
    normal = jnp.asarray([np.sin(turn), np.cos(turn), 0.0])
    stiffness = PLATE_MODULI_PER_MM * jnp.asarray(law.shear_modulus_mpa, float)
    at_origin = Plate(jnp.zeros(3), normal, stiffness, jnp.asarray(PLATE_RAMP_MM))
    lowest = gap_to(at_origin, _patch_positions(rig, touch.rows)).min()
    return dataclasses.replace(at_origin, point=lowest * normal)


def _patch_positions(rig: Rig, rows: Any) -> Array:
    faces = rig.body.plate_faces
    moved = jnp.asarray(rows)[rig.body.rows(faces)].reshape(len(faces), 8, 3)
    return jnp.asarray(rig.meshes[0].points)[faces] + moved


@jax.jit
def _nodal_forces(
    body: Body, solid: Solid, loading: Any, factors: Array, rows: Float[Array, "step row"]
) -> tuple[Array, Array]:
    """Reactions at the supports and plate forces on the nodes, N, (step, node, 3) each."""

    def one(state: tuple[Array, Array]) -> tuple[Array, Array]:
        t, u = state
        reaction = out_of_balance(body, solid, loading, t, u)
        push = plate_forces(body, solid, loading.plate, u)
        return body.to_nodes(reaction), body.to_nodes(push)

    return jax.lax.map(one, (factors, rows))


def _result(
    finger: FingerParameters,
    rig: Rig,
    path: Path,
    stops: Float[np.ndarray, " step"],
    touch: _Touch,
    plate: Plate | None,
    preset_angle_deg: float,
    tip_hold: str,
    build_orientation: str,
    settings: PathSettings,
) -> BlockResult:
    met = int(path.met[0])
    mesh, solid = rig.meshes[0], rig.solid(0)
    rows = path.rows[0, :met]
    loading = make_loading(rig.body, pressure=stops[-1], pressure_start=stops[0], plate=plate)
    reaction, push = (
        np.asarray(a)
        for a in _nodal_forces(
            rig.body, solid, loading, jnp.asarray(path.stops[:met]), jnp.asarray(rows)
        )
    )
    tip = np.unique(mesh.faces["tip"])
    if plate is None:
        along = np.zeros(reaction.shape[:2])
        along[:, tip] = reaction[:, tip, 1]
        depth = np.zeros(met)
    else:
        along = push @ np.asarray(plate.normal)
        depth = np.array(
            [max(0.0, -float(gap_to(plate, _patch_positions(rig, u)).min())) for u in rows]
        )
    force = 2.0 * along.sum(1)
    pressed = np.abs(force) > 1e-9
    lever = np.where(
        pressed, along @ mesh.points[:, 0] / np.where(pressed, force / 2.0, 1.0), finger.length_mm
    )
    strain, node_strain = measure_strains(
        rig.body, solid, mesh, path.rows[0], build_orientation, met
    )
    bound = hand_bound_n(finger, stops[:met], lever)
    return BlockResult(
        tip_hold=tip_hold,
        preset_angle_deg=preset_angle_deg,
        touch_angle_deg=touch.angle_deg,
        touch_pressure_mpa=touch.pressure_mpa,
        pressure_mpa=stops[:met],
        force_n=force,
        contact_distance_mm=lever,
        plate_depth_mm=depth,
        hand_bound_n=bound,
        explanation=explain(force, bound, tip_hold),
        strain=strain,
        displacement_mm=path.displacement[0, :met],
        node_strain=node_strain,
        mesh=mesh,
        history=history(
            path, 0, stops[0] + float(path.load_factor[0]) * (stops[-1] - stops[0]), rig, settings
        ),
    )

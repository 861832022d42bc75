"""The clamped half finger: mesh, supports and material put together for the solver."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import Any

import jax
import numpy as np
from jaxtyping import Bool, Float, Int

from fiddlehead.errors import ParameterError
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.material.laws.base import Energy
from fiddlehead.mechanics.body import Body, make_body
from fiddlehead.mechanics.loads import Solid
from fiddlehead.mechanics.outcome import Outcome
from fiddlehead.mechanics.path import PathSettings
from fiddlehead.mechanics.solve import Path, make_solid, stack
from fiddlehead.mesh.build import build_mesh
from fiddlehead.mesh.closing import closing_walls
from fiddlehead.mesh.facing import facing_walls
from fiddlehead.mesh.records import Mesh
from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.trials.records import RunHistory


@dataclasses.dataclass(frozen=True, eq=False)
class Rig:
    """A batch of fingers of one topology in one set of supports."""

    meshes: tuple[Mesh, ...]
    body: Body
    solids: Solid

    def solid(self, design: int) -> Solid:
        """One design's solid."""
        return jax.tree.map(lambda leaf: leaf[design], self.solids)


def clamp(mesh: Mesh, *, hold_tip: bool = False) -> Bool[np.ndarray, "node 3"]:
    """Supports: root face held, symmetry plane closed, and the tip face held across if asked."""
    fixed = np.zeros((len(mesh.points), 3), dtype=bool)
    fixed[np.unique(mesh.faces["root"])] = True
    fixed[np.unique(mesh.faces["symmetry"]), 2] = True
    if hold_tip:
        fixed[np.unique(mesh.faces["tip"]), 1] = True
    return fixed


def set_up(
    fingers: Sequence[FingerParameters],
    law: Energy | Sequence[Energy],
    bulk_modulus_mpa: float | Sequence[float],
    mesh_settings: MeshSettings | None,
    *,
    hold_tip: bool = False,
    plate_length_mm: float | None = None,
    grips: bool = False,
    rule: str = "irons14",
) -> Rig:
    """Mesh the fingers and clamp them.

    Parameters
    ----------
    fingers : designs of one topology (same bellows count, channel and pad kinds)
    law, bulk_modulus_mpa : one for all, or one for each finger; MPa
    plate_length_mm : how far from the tip the gripping face may touch a plate; None for nowhere
    grips : whether the gripping face may touch an obstacle

    Raises
    ------
    ParameterError : a finger that cannot be made, or fingers of different topology
    MeshError : an element with no valid shape
    """
    if not fingers:
        raise ParameterError("no finger given", allowed="one or more", remedy="Give a finger.")
    meshes = tuple(build_mesh(finger, mesh_settings) for finger in fingers)
    require_one_topology(meshes)
    laws: Sequence[Any] = [law] * len(fingers) if isinstance(law, Energy) else law
    bulks = np.broadcast_to(np.asarray(bulk_modulus_mpa, float), (len(fingers),))
    body = clamped_body(
        meshes[0], hold_tip=hold_tip, plate_length_mm=plate_length_mm, grips=grips, rule=rule
    )
    solids = [
        make_solid(body, mesh.points, one, bulk)
        for mesh, one, bulk in zip(meshes, laws, bulks, strict=True)
    ]
    return Rig(meshes, body, stack(solids))


def require_one_topology(meshes: Sequence[Mesh]) -> None:
    """Refuse fingers that cannot share a batch.

    Raises
    ------
    ParameterError : meshes of different templates
    """
    if len({id(mesh.template) for mesh in meshes}) != 1:
        raise ParameterError(
            "fingers of different topology cannot share a batch",
            allowed="the same bellows count, kind of channel and kind of pad",
            remedy="Run them in separate batches.",
        )


def clamped_body(
    mesh: Mesh,
    *,
    hold_tip: bool = False,
    plate_length_mm: float | None = None,
    grips: bool = False,
    walls_push: bool = False,
    rule: str = "irons14",
) -> Body:
    """The topology of a clamped half finger; sizes do not matter, so it serves a whole batch.

    ``grips`` lets the gripping face and the end face touch an obstacle, and the pad's openings
    close.
    """
    return make_body(
        mesh.points,
        mesh.elements,
        pressure_faces=mesh.faces["cavity"],
        plate_faces=None if plate_length_mm is None else patch(mesh, plate_length_mm),
        contact_faces=gripping_faces(mesh) if grips else None,
        wall_pairs=_walls(mesh, grips),
        walls_push=walls_push,
        fixed=clamp(mesh, hold_tip=hold_tip),
        rule=rule,
    )


def _walls(mesh: Mesh, grips: bool) -> Int[np.ndarray, "pair 16"]:
    """Neighbouring bellows; where an object squeezes the pad, also its ribs and cells."""
    bellows = facing_walls(mesh.points, mesh.faces["outside"])
    if not grips:
        return bellows
    return np.concatenate([bellows, closing_walls(mesh.points, mesh.void_loops)])


def gripping_faces(mesh: Mesh) -> Int[np.ndarray, "face 8"]:
    """Faces that may touch an object: the gripping face (of the pad, if any) and the end face."""
    return np.concatenate([mesh.faces["underside"], mesh.faces["tip"]])


def patch(mesh: Mesh, length_mm: float) -> Any:
    """Faces of the gripping side within ``length_mm`` of the tip (at least the last row)."""
    faces = mesh.faces["underside"]
    middle = mesh.points[faces[:, :4], 0].mean(1)
    edge = min(float(mesh.points[:, 0].max()) - length_mm, float(middle.max()) - 1e-9)
    return faces[middle >= edge]


def rising(pressures_mpa: Any) -> Float[np.ndarray, " step"]:
    """Requested gauge pressures, with the unloaded state in front.

    Raises
    ------
    ParameterError : not a rising list of positive numbers
    """
    pressures = np.atleast_1d(np.asarray(pressures_mpa, dtype=float))
    if len(pressures) and pressures[0] == 0.0:
        pressures = pressures[1:]
    good = len(pressures) and np.all(np.isfinite(pressures)) and np.all(np.diff(pressures) > 0)
    if not good or pressures[0] <= 0:
        raise ParameterError(
            "pressures must rise from above zero",
            found=np.array2string(np.asarray(pressures_mpa), threshold=6),
            allowed="rising gauge pressures, MPa",
            remedy="List the pressures from low to high, without repeats.",
        )
    return np.concatenate([[0.0], pressures])


def history(
    path: Path, design: int, pressure_mpa: float, rig: Rig, settings: PathSettings
) -> RunHistory:
    """The run record of one design of a path; ``pressure_mpa`` is the highest it reached."""
    return run_history(
        rig.body,
        settings,
        path.outcome[design],
        pressure_mpa,
        int(path.solves[design]),
        path.solves_at_stop[design][: int(path.met[design])],
        int(path.cuts[design]),
        path.elapsed_s,
        len(path.outcome),
    )


def run_history(
    body: Body,
    settings: PathSettings,
    outcome: Outcome,
    pressure_mpa: float,
    solves: int,
    solves_at_step: Int[np.ndarray, " step"],
    cuts: int,
    elapsed_s: float,
    batch: int,
) -> RunHistory:
    """The run record of a design that ended with ``outcome`` at ``pressure_mpa``."""
    return RunHistory(
        outcome=outcome.name,
        reason=outcome.reason,
        pressure_reached_mpa=pressure_mpa,
        solves=solves,
        solves_at_step=solves_at_step,
        cuts=cuts,
        tolerance=settings.tolerance,
        elapsed_s=elapsed_s,
        batch=batch,
        unknowns=int(np.asarray(body.unknown).sum()),
    )

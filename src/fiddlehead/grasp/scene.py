"""From a gripper, an object and a material to the scene that is balanced."""

from __future__ import annotations

import dataclasses
from typing import Any

import jax
import jax.numpy as jnp
import numpy as np

from fiddlehead.grasp.coupling import Demand, Scene, State
from fiddlehead.grasp.gripper import MOST_FINGERS, Gripper
from fiddlehead.grasp.stance import Stance
from fiddlehead.grasp.symmetry import Symmetry, symmetry_of
from fiddlehead.grasp.task import Held, Task, standing
from fiddlehead.grasp.whole import whole_mesh
from fiddlehead.material.laws.base import Energy
from fiddlehead.mechanics.body import Body, make_body
from fiddlehead.mechanics.contact import MODULI_PER_MM, no_past
from fiddlehead.mechanics.solve import make_solid
from fiddlehead.mesh.build import build_mesh
from fiddlehead.mesh.closing import closing_walls
from fiddlehead.mesh.records import Mesh
from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.trials.lateral import sideways_supports
from fiddlehead.trials.rig import clamp, gripping_faces


@dataclasses.dataclass(frozen=True, eq=False)
class Stage:
    """A scene with what is needed around it.

    swaying : the half finger with the supports of motions out of its plane; None for whole ones
    """

    scene: Scene
    mesh: Mesh
    symmetry: Symmetry
    gripper: Gripper
    held: Held
    start: Stance
    swaying: Body | None

    @property
    def places(self) -> Any:
        """Rotation and shift of every finger, (finger, 3, 4)."""
        return np.stack([self.gripper.place(k) for k in range(self.gripper.fingers)])

    def rest(self) -> State:
        """Fingers at rest, nothing touched."""
        groups, body = len(self.symmetry.groups), self.scene.body
        past = no_past(len(body.contact_faces))
        many = jax.tree.map(lambda a: jnp.stack([a] * groups), past)
        return State(jnp.zeros((groups, body.size)), many, self.start)

    def demand(
        self,
        pressure_mpa: float,
        load: Any = None,
        free: Any = None,
    ) -> Demand:
        """What is asked: the gripper's pressure, a load, motions that are free."""
        none = jnp.zeros(6)
        first = [group[0] for group in self.symmetry.groups]
        return Demand(
            pressure=float(pressure_mpa) * jnp.asarray(self.gripper.shares[first]),
            load=none if load is None else jnp.asarray(load, float),
            free=jnp.zeros((6, 6)) if free is None else jnp.asarray(free, float),
            hold=none,
            held_at=self.start,
        )


def set_stage(
    gripper: Gripper,
    held: Held,
    task: Task,
    law: Energy,
    bulk_modulus_mpa: float,
    mesh_settings: MeshSettings | None = None,
    *,
    lone: bool = False,
) -> Stage:
    """Mesh the finger, place the object, and look for symmetry.

    Parameters
    ----------
    lone : use no symmetry: every finger whole and for itself

    Raises
    ------
    ParameterError, MeshError : a gripper, task or finger that makes no sense
    """
    gripper.validate()
    task.validate()
    start = standing(held, gripper, task)
    symmetry = symmetry_of(gripper, held.shape, start, lone=lone)
    pull = np.append(task.pull_direction, np.zeros(3))
    if np.linalg.norm(symmetry.free @ pull) < 1.0 - 1e-9:  # the pull breaks the symmetry
        symmetry = symmetry_of(gripper, held.shape, start, lone=True)
    half = build_mesh(gripper.finger, mesh_settings)
    mesh = half if symmetry.half else whole_mesh(half)
    body = _body(mesh, clamp(mesh))
    swaying = _body(mesh, sideways_supports(mesh)) if symmetry.half else None
    # as many places as a gripper may have fingers, so that counts of fingers share a program
    carried = np.zeros((len(symmetry.groups), MOST_FINGERS, 6, 6))
    for number, group in enumerate(symmetry.groups):
        for member, finger in enumerate(group):
            turn = gripper.place(finger)[:, :3]
            carried[number, member] = np.kron(np.eye(2), turn)
    shear = jnp.asarray(law.shear_modulus_mpa, float)
    scene = Scene(
        body=body,
        solid=make_solid(body, mesh.points, law, bulk_modulus_mpa),
        surface=held.shape,
        friction=jnp.asarray(held.record.friction_coefficient, float),
        stiffness=MODULI_PER_MM * shear,
        carried=jnp.asarray(carried),
        place=jnp.asarray(np.stack([gripper.place(g[0]) for g in symmetry.groups])),
        whole=jnp.array([2.0, 2.0, 0, 0, 0, 2.0]) if symmetry.half else jnp.ones(6),
    )
    return Stage(scene, mesh, symmetry, gripper, held, start, swaying)


def _body(mesh: Mesh, fixed: Any) -> Body:
    walls = closing_walls(mesh.points, mesh.void_loops)
    return make_body(
        mesh.points,
        mesh.elements,
        pressure_faces=mesh.faces["cavity"],
        contact_faces=gripping_faces(mesh),
        wall_pairs=walls,
        walls_push=bool(len(walls)),
        fixed=fixed,
    )

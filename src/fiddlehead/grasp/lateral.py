"""How firmly fingers and object hold sideways, from the half fingers of a symmetric grasp.

At a symmetric state the tangent of a finger splits: motions within its plane, and motions across
it, which the half finger makes with the antisymmetric supports. Both answers together resist all
six small motions of the object, exactly.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import jax
import jax.numpy as jnp
import numpy as np
from jaxtyping import Array, Float

from fiddlehead.grasp.coupling import Scene, State, felt_by, obstacle_of
from fiddlehead.grasp.scene import Stage
from fiddlehead.grasp.stance import Stance
from fiddlehead.mechanics import contact
from fiddlehead.mechanics.balance import linear_system, solve_system
from fiddlehead.mechanics.contact import Past
from fiddlehead.mechanics.loads import contact_forces
from fiddlehead.mechanics.solve import make_loading
from fiddlehead.trials.lateral import tip_share

IN_PLANE = np.array([1.0, 1.0, 0.0, 0.0, 0.0, 1.0])
"""Parts of a motion or wrench that the finger's plane mirrors onto themselves."""

STICKS = 1e3
"""Factor on friction with which nothing slips, in small motions about a state of rest."""


class Firmness(NamedTuple):
    """Resistance of a grasp to small motions of the object."""

    stiffness: Float[np.ndarray, "6 6"]
    """N/mm, N and N·mm, in the gripper's axes about the centre of mass."""
    tip_per_motion: Float[np.ndarray, "finger 6"]
    """Out-of-plane motion of each finger's tip (mm) with unit small motions of the object."""


def firmness(stage: Stage, state: State, pressure_mpa: Float[Array, " group"]) -> Firmness:
    """Resistance and out-of-plane following of all fingers at a balanced state."""
    share = tip_share(stage.mesh)
    gripper, symmetry = stage.gripper, stage.symmetry
    total = np.zeros((6, 6))
    follow = np.zeros((gripper.fingers, 6))
    scene = stage.scene
    for number, group in enumerate(symmetry.groups):
        seen = state.stance.seen_from(scene.place[number])
        past = jax.tree.map(lambda a, k=number: a[k], state.past)
        arguments = (pressure_mpa[number], seen, past, state.u[number])
        slope, moved = _answer(scene, *arguments)
        if stage.swaying is not None:
            across, swayed = _answer(scene._replace(body=stage.swaying), *arguments)
            both = IN_PLANE[:, None] * IN_PLANE
            other = (1 - IN_PLANE)[:, None] * (1 - IN_PLANE)
            slope = 2.0 * (both * slope + other * across)
            moved = (1 - IN_PLANE) * swayed
        sideways = share @ moved[:, 2]
        for finger in group:
            turn = np.kron(np.eye(2), gripper.place(finger)[:, :3])
            total -= turn @ slope @ turn.T
            follow[finger] = sideways @ turn.T
    return Firmness(stiffness=0.5 * (total + total.T), tip_per_motion=follow)


def _answer(scene: Scene, pressure: Array, seen: Stance, past: Past, u: Array) -> tuple[Any, Any]:
    sticking = scene._replace(whole=jnp.ones(6), friction=scene.friction * STICKS)
    slope, follow = _linear(sticking, pressure, seen, past, u)
    nodes = np.asarray(scene.body.to_nodes(follow.T))  # motion node 3
    return np.asarray(slope), np.moveaxis(nodes, 0, 2)


@jax.jit
def _linear(
    scene: Scene, pressure: Array, seen: Stance, past: Past, u: Array
) -> tuple[Array, Array]:
    """Change of the wrench and following of the finger, with every touching point sticking."""
    body, solid = scene.body, scene.solid
    loading = make_loading(body, pressure=pressure, obstacle=obstacle_of(scene, seen, past))
    system = linear_system(body, solid, loading, 1.0, u)._replace(coupling=())

    def pushed(small: Array) -> Array:
        return contact_forces(body, solid, obstacle_of(scene, seen.moved(small), past), u)

    def wrench(v: Array, small: Array) -> Array:
        moved = obstacle_of(scene, seen.moved(small), past)
        return contact.wrench(moved, felt_by(scene, seen.moved(small), past, v))

    still, each = jnp.zeros(6), jnp.eye(6)
    per_motion = jax.vmap(lambda e: jax.jvp(pushed, (still,), (e,))[1], out_axes=1)(each)
    follow = solve_system(body, system, per_motion, jnp.zeros(body.size))
    _, change = jax.linearize(wrench, u, still)
    return jax.vmap(change, in_axes=1, out_axes=1)(follow, each), follow

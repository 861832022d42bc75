"""Fingers and a free object in balance together.

Fingers feel each other only through the six small motions of the object. Each finger's tangent is
eliminated once for each correction and answers the residual and the six motions at once; what is
left is a system of six equations (the Schur complement of the arrowhead matrix). Source of the
block elimination: Golub & Van Loan (2013), Matrix Computations, 4th ed., sec. 3.2.11.

Fingers that see the same are solved once, as a group. A half finger stands for a whole one as long
as the object stays in its plane of symmetry.
"""

from __future__ import annotations

from functools import partial
from typing import Any, NamedTuple

import jax
import jax.numpy as jnp
from jaxtyping import Array, Float, Int

from fiddlehead.grasp.stance import Stance
from fiddlehead.mechanics import contact
from fiddlehead.mechanics.balance import Carried, carried_at, carry, linear_system, solve_system
from fiddlehead.mechanics.body import Body
from fiddlehead.mechanics.contact import Felt, Obstacle, Past
from fiddlehead.mechanics.loads import Loading, Solid, external_forces, face_positions
from fiddlehead.mechanics.solid import internal_forces
from fiddlehead.mechanics.solve import make_loading

TOLERANCE = 1e-8
"""Largest out-of-balance force of a finger over its internal forces."""
OBJECT_TOLERANCE = 1e-7
"""Largest out-of-balance force on the object over the forces that meet in it."""
SMALLEST_FORCE_N = 1e-3
"""Internal forces below which a finger counts as at rest."""
MOST_ITERATIONS = 25
LEVER_MM = 20.0
"""Over which moments count as forces where the two are compared."""
LARGEST_SHIFT_MM = 2.0
"""Most that the object is moved in one correction."""


class Scene(NamedTuple):
    """What stays the same while a grasp is followed."""

    body: Body
    solid: Solid
    surface: Any
    """The object's shape, a signed distance in its own frame."""
    friction: Float[Array, ""]
    stiffness: Float[Array, ""]
    """Of the numerical contact, N/mm³."""
    carried: Float[Array, "group finger 6 6"]
    """Turns each finger's wrench into the gripper's axes; zero where a group has fewer fingers."""
    place: Float[Array, "group 3 4"]
    """Where the finger stands that is solved for its group."""
    whole: Float[Array, "6"]
    """Factor on a modelled finger's wrench: 1, or for half fingers 2 in their plane and 0 else."""


class State(NamedTuple):
    """A balanced (or tried) state."""

    u: Float[Array, "group row"]
    past: Past
    stance: Stance
    """Of the object, in the gripper's axes."""


class Demand(NamedTuple):
    """What is asked of a balance."""

    pressure: Float[Array, " group"]
    """Gauge, MPa."""
    load: Float[Array, "6"]
    """Wrench on the object from outside, N and N·mm about its centre of mass."""
    free: Float[Array, "6 6"]
    """Projector on the motions in which the object is free."""
    hold: Float[Array, "6"]
    """Springs that hold the object in ``held_at``, N/mm and N·mm."""
    held_at: Stance


class Balanced(NamedTuple):
    """What a try ended with."""

    state: State
    good: Float[Array, ""]
    """True when balanced."""
    iterations: Int[Array, ""]
    wrench: Float[Array, "6"]
    """Of all fingers on the object."""
    stiffness: Float[Array, "6 6"]
    """Change of minus that wrench with small motions of the object, the fingers following."""


class _Answer(NamedTuple):
    """One finger's answer in its own axes."""

    step: Float[Array, " row"]
    follow: Float[Array, "row 6"]
    wrench: Float[Array, "6"]
    slope: Float[Array, "6 6"]
    at: Any


def obstacle_of(scene: Scene, stance: Stance, past: Past | None) -> Obstacle:
    """The object as one finger feels it; ``stance`` in the finger's axes."""
    return Obstacle(scene.surface, stance, scene.friction, scene.stiffness, past)


def _loading(scene: Scene, pressure: Any, stance: Stance, past: Past) -> Loading:
    return make_loading(scene.body, pressure=pressure, obstacle=obstacle_of(scene, stance, past))


def felt_by(scene: Scene, stance: Stance, past: Past, u: Float[Array, " row"]) -> Felt:
    """Contact on one finger, in its own axes."""
    faces = scene.body.contact_faces
    x = face_positions(scene.body, scene.solid, faces, u)
    return contact.feel(obstacle_of(scene, stance, past), scene.solid.points[faces], x)


def _wrench(scene: Scene, stance: Stance, past: Past, u: Float[Array, " row"]) -> Array:
    obstacle = obstacle_of(scene, stance, past)
    return scene.whole * contact.wrench(obstacle, felt_by(scene, stance, past, u))


def finger_answer(
    scene: Scene,
    pressure: Float[Array, ""],
    stance: Stance,
    past: Past,
    u: Float[Array, " row"],
    carried: Carried,
) -> _Answer:
    """Solve one finger for its own residual and for the six small motions of the object.

    Contact enters by its symmetric stiffness against motions of the finger relative to the object,
    on both sides of the balance alike, so that a tangent that is not exact (where points slip)
    never sets the two against each other.
    """
    body, solid = scene.body, scene.solid
    loading = _loading(scene, pressure, stance, past)
    system = linear_system(body, solid, loading, 1.0, u, carried)._replace(coupling=())
    faces = body.contact_faces
    x = face_positions(body, solid, faces, u)
    stiff = contact.contact_stiffness(loading.obstacle, solid.points[faces], x)
    riding = _riding(stance, x)
    pushed = jnp.einsum("fij,fjk->fik", stiff, riding)
    rows = body.rows(faces)
    per_motion = jnp.zeros((body.size, 6)).at[rows].add(pushed)
    right = jnp.concatenate([-system.residual[:, None], per_motion], axis=1)
    solved = solve_system(body, system, right, jnp.zeros(body.size))
    relative = solved[rows]
    relative = relative.at[..., 1:].add(-riding)
    change = scene.whole[:, None] * jnp.einsum("fik,fij->kj", pushed, relative)
    here = _wrench(scene, stance, past, u)
    return _Answer(solved[:, 0], solved[:, 1:], here + change[:, 0], change[:, 1:], system.at)


def _riding(stance: Stance, x: Float[Array, "face 8 3"]) -> Float[Array, "face 24 6"]:
    """Displacements of the faces' nodes if they rode on the object, for each small motion."""
    arm = x - stance.position_mm
    shift = jnp.broadcast_to(jnp.eye(3), (*arm.shape, 3))
    turn = jnp.stack([jnp.cross(axis, arm) for axis in jnp.eye(3)], axis=-1)
    return jnp.concatenate([shift, turn], axis=-1).reshape(len(x), 24, 6)


def outside_wrench(demand: Demand, stance: Stance) -> Float[Array, "6"]:
    """Load and springs on the object."""
    start = demand.held_at
    turned = stance.turn @ start.turn.T
    skew = 0.5 * (turned - turned.T)
    turn = jnp.stack([skew[2, 1], skew[0, 2], skew[1, 0]])
    away = jnp.concatenate([stance.position_mm - start.position_mm, turn])
    return demand.load - demand.hold * away


def _seen(scene: Scene, stance: Stance) -> Stance:
    return jax.vmap(stance.seen_from)(scene.place)


class _Trial(NamedTuple):
    u: Array
    stance: Stance
    carried: Carried
    iteration: Array
    off: Array
    """Out of balance over what is tolerated; balanced below 1."""
    wrench: Array
    stiffness: Array


@jax.jit
def felt_by_all(scene: Scene, state: State) -> Felt:
    """Contact on the modelled finger of every group (axis in front), in the fingers' axes."""
    seen = _seen(scene, state.stance)
    return jax.vmap(lambda s, p, u: felt_by(scene, s, p, u))(seen, state.past, state.u)


@jax.jit
def balance(scene: Scene, state: State, demand: Demand) -> Balanced:
    """Newton's method for fingers and object together, from the state given."""
    body, solid = scene.body, scene.solid

    def correct(trial: _Trial) -> _Trial:
        seen = _seen(scene, trial.stance)
        # what was about to slip sticks at first, as it does where the load turns round
        firmer = 1.0 + jnp.where(trial.iteration == 0, 1e-6, 0.0)
        answer = jax.vmap(partial(finger_answer, scene._replace(friction=scene.friction * firmer)))(
            demand.pressure, seen, state.past, trial.u, trial.carried
        )
        wrench = jnp.einsum("gfij,gj->i", scene.carried, answer.wrench)
        slope = jnp.einsum("gfij,gjk,gflk->il", scene.carried, answer.slope, scene.carried)
        free = demand.free
        slope = slope - jnp.diag(demand.hold)
        right = -free @ (wrench + outside_wrench(demand, trial.stance))
        motion = jnp.linalg.solve(free @ slope @ free + jnp.eye(6) - free, right)
        size = jnp.linalg.norm(motion * jnp.array([1.0] * 3 + [LEVER_MM] * 3))
        motion = motion * jnp.minimum(1.0, LARGEST_SHIFT_MM / jnp.where(size > 0, size, 1.0))
        turned = scene.carried[:, 0].transpose(0, 2, 1) @ motion
        du = answer.step + jnp.einsum("gri,gi->gr", answer.follow, turned)
        loading = jax.vmap(partial(_loading, scene))(demand.pressure, seen, state.past)
        carried = jax.vmap(partial(carry, body, solid))(
            loading, answer.at, trial.carried, trial.u, du
        )
        moved = trial._replace(
            u=trial.u + du,
            stance=trial.stance.moved(motion),
            carried=carried,
            iteration=trial.iteration + 1,
            stiffness=-slope,
        )
        return _weighed(scene, state.past, demand, moved)

    def unfinished(trial: _Trial) -> Array:
        sound = jnp.isfinite(trial.off) & (trial.off < 1e14)
        return (trial.off > 1.0) & (trial.iteration < MOST_ITERATIONS) & sound

    begin = jax.vmap(partial(_loading, scene))(
        demand.pressure, _seen(scene, state.stance), state.past
    )
    first = _Trial(
        state.u, state.stance, jax.vmap(partial(carried_at, body, solid))(begin, state.u),
        jnp.zeros((), jnp.int32), jnp.asarray(1e9), jnp.zeros(6), jnp.zeros((6, 6)),
    )  # fmt: skip
    last = jax.lax.while_loop(unfinished, correct, first)
    past = jax.vmap(lambda seen, past, u: _remember(scene, seen, past, u))(
        _seen(scene, last.stance), state.past, last.u
    )
    return Balanced(
        state=State(last.u, past, last.stance),
        good=last.off <= 1.0,
        iterations=last.iteration,
        wrench=last.wrench,
        stiffness=last.stiffness,
    )


def _remember(scene: Scene, seen: Stance, past: Past, u: Array) -> Past:
    x = face_positions(scene.body, scene.solid, scene.body.contact_faces, u)
    return contact.remember(obstacle_of(scene, seen, past), x)


def _weighed(scene: Scene, past: Past, demand: Demand, trial: _Trial) -> _Trial:
    """How far fingers and object are out of balance."""
    body, solid = scene.body, scene.solid

    def one(pressure: Array, seen: Stance, past: Past, u: Array) -> tuple[Array, Array]:
        loading = _loading(scene, pressure, seen, past)
        inner = internal_forces(body, solid.geometry, solid.law, solid.bulk, u)
        uneven = (inner - external_forces(body, solid, loading, 1.0, u)) * body.unknown
        scale = jnp.maximum(jnp.linalg.norm(inner), SMALLEST_FORCE_N)
        share = jnp.linalg.norm(uneven) / scale
        return share, _wrench(scene, seen, past, u)

    share, single = jax.vmap(one)(demand.pressure, _seen(scene, trial.stance), past, trial.u)
    each = jnp.einsum("gfij,gj->gfi", scene.carried, single)
    wrench = each.sum((0, 1))
    outside = outside_wrench(demand, trial.stance)
    as_forces = jnp.array([1.0] * 3 + [1.0 / LEVER_MM] * 3)
    uneven = jnp.linalg.norm(demand.free @ (wrench + outside) * as_forces)
    meeting = jnp.abs(each * as_forces).sum() + jnp.abs(outside * as_forces).sum()
    off_object = uneven / jnp.maximum(meeting, 1e-3) / OBJECT_TOLERANCE
    return trial._replace(off=jnp.maximum(share.max() / TOLERANCE, off_object), wrench=wrench)

"""Follow the balance of one design as its load grows: one call is one Newton step.

The state is an immutable record that goes in and comes out, so a batch of designs at different
loads, iterations and step sizes advances together, and a run can be stopped and taken up again
between any two calls.

* Predictor: Lagrange extrapolation through the last three balanced states.
* Corrector: Newton's method with extrapolated stresses in the geometric tangent.
* Step control: halved and worse after trouble, grown by the number of corrections needed; every
  requested load is met exactly.
* When the load cannot be raised, the injected volume (the displacement conjugate to the load) is
  prescribed instead, as a syringe would; if the load then falls, a limit point has been passed.
  Source: Batoz & Dhatt (1979), Incremental displacement algorithms for nonlinear problems, IJNME
  14, 1262-1267.
"""

from __future__ import annotations

import dataclasses
from typing import NamedTuple

import jax
import jax.numpy as jnp
from jaxtyping import Array, Float, Int

from fiddlehead.mechanics.balance import Carried, carried_at, carry, linear_system, solve_system
from fiddlehead.mechanics.body import Body
from fiddlehead.mechanics.contact import Past
from fiddlehead.mechanics.loads import (
    Loading,
    Solid,
    contact_past,
    external_forces,
    pressure_forces,
    remember,
    remembering,
)
from fiddlehead.mechanics.outcome import Outcome
from fiddlehead.mechanics.predictor import lagrange
from fiddlehead.mechanics.solid import internal_forces


@dataclasses.dataclass(frozen=True)
class PathSettings:
    """How a path is followed; all are plain numbers so that settings hash and compile once."""

    tolerance: float = 1e-8
    """Largest out-of-balance force relative to all internal forces (both Euclidean norms)."""
    first_step: float = 0.1
    smallest_step: float = 1e-4
    most_iterations: int = 12
    wanted_iterations: int = 5
    extrapolate_stress: bool = True
    """False gives the consistent tangent of plain Newton (quadratic, but more iterations)."""
    heavy_in_single: bool = False
    """Eliminate in single precision, for cards with little double; the tolerance stays."""
    predictor_states: int = 3
    """Balanced states the predictor runs through; 2 where contact changes the path's direction."""
    volume_steps: int = 40
    """Steps under prescribed volume that are tried before giving up."""


class PathState(NamedTuple):
    """Where one design stands. ``row`` as in ``Body``; ``stop`` counts the requested loads."""

    earlier_t: Float[Array, "3"]
    earlier_u: Float[Array, "3 row"]
    """The last balanced states, newest first, and their stresses (leading axis 3)."""
    earlier_stress: Carried
    balanced: Int[Array, ""]
    """How many of them are filled."""
    trial_t: Float[Array, ""]
    trial_u: Float[Array, " row"]
    carried: Carried
    first_residual: Float[Array, ""]
    iteration: Int[Array, ""]
    step: Float[Array, ""]
    by_volume: Int[Array, ""]
    """0: load prescribed; n > 0: n-th step under prescribed volume."""
    volume_step: Float[Array, ""]
    next_stop: Int[Array, ""]
    saved_u: Float[Array, "stop row"]
    saved_solves: Int[Array, " stop"]
    past: Past | None
    """What friction remembers of the last balance; None for a body without contact faces."""
    saved_past: Past | None
    """The same at each stop."""
    solves: Int[Array, ""]
    cuts: Int[Array, ""]
    residual: Float[Array, ""]
    outcome: Int[Array, ""]


class Stops(NamedTuple):
    """Requested load factors, rising; padded beyond ``wanted`` so that compilations are reused."""

    at: Float[Array, " stop"]
    wanted: Int[Array, ""]


def start(
    body: Body, solid: Solid, loading: Loading, stops: Stops, u: Float[Array, " row"],
    settings: PathSettings, past: Past | None = None,
) -> PathState:  # fmt: skip
    """Begin at the balanced state ``u`` at load factor ``stops.at[0]``.

    ``past`` is what friction remembers of that state; nothing touches when None.
    """
    past = contact_past(body) if past is None else past
    carried = carried_at(body, solid, loading, u)
    zero, count = jnp.zeros(()), jnp.zeros((), jnp.int32)
    state = PathState(
        earlier_t=jnp.full(3, stops.at[0]),
        earlier_u=jnp.stack([u, u, u]),
        earlier_stress=jax.tree.map(lambda s: jnp.stack([s, s, s]), carried),
        balanced=count + 1,
        trial_t=stops.at[0],
        trial_u=u,
        carried=carried,
        first_residual=zero,
        iteration=count,
        step=zero + settings.first_step,
        by_volume=count,
        volume_step=zero,
        next_stop=count + 1,
        saved_u=jnp.zeros((len(stops.at), len(u))).at[0].set(u),
        saved_solves=jnp.zeros(len(stops.at), jnp.int32),
        past=past,
        saved_past=jax.tree.map(
            lambda now: jnp.zeros((len(stops.at), *now.shape)).at[0].set(now), past
        ),
        solves=count,
        cuts=count,
        residual=zero,
        outcome=jnp.where(stops.wanted == 1, Outcome.complete, Outcome.running).astype(jnp.int32),
    )
    return _predict(state, stops)


def advance(
    body: Body, solid: Solid, loading: Loading, stops: Stops, state: PathState,
    settings: PathSettings,
) -> PathState:  # fmt: skip
    """One Newton step; a finished state comes back unchanged."""
    loading = remembering(loading, state.past)
    moved, residual, finite = _correct(body, solid, loading, state, settings)
    good = finite & (residual <= settings.tolerance)
    lost = ~finite | (moved.iteration >= settings.most_iterations) | (
        (moved.iteration > 2) & (residual > 1e3 * jnp.maximum(moved.first_residual, 1e-6))
    )  # fmt: skip
    after = _choose(
        good,
        _accept(body, solid, loading, moved, stops, settings),
        _choose(lost, _cut(body, solid, loading, moved, stops, settings), moved),
    )
    return _choose(state.outcome == Outcome.running, after, state)


def _choose(condition: Array, yes: PathState, no: PathState) -> PathState:
    return jax.tree.map(lambda a, b: jnp.where(condition, a, b), yes, no)


def _load_vector(body: Body, solid: Solid, loading: Loading, u: Array) -> Array:
    """Derivative of the applied forces by the load factor."""
    rate = loading.pressure_end - loading.pressure_start
    return rate * pressure_forces(body, solid, u) + loading.dead


def _correct(
    body: Body, solid: Solid, loading: Loading, state: PathState, settings: PathSettings
) -> tuple[PathState, Array, Array]:
    """Solve the linear system, move, and measure the balance at the new state."""
    t, u, unknown = state.trial_t, state.trial_u, body.unknown
    carried = state.carried if settings.extrapolate_stress else None
    system = linear_system(body, solid, loading, t, u, carried)
    load = _load_vector(body, solid, loading, u)
    right = jnp.stack([-system.residual, load], axis=1)
    jump = (loading.prescribed(t) - u) * (1.0 - unknown)
    du, per_load = solve_system(body, system, right, jump, in_single=settings.heavy_in_single).T
    # under prescribed volume the load factor moves too, so that the volume comes out as asked
    normal = load * unknown
    missing = state.volume_step - normal @ (u - state.earlier_u[0] + du)
    dt = jnp.where(state.by_volume > 0, missing / (normal @ per_load), 0.0)
    du = du + dt * per_load
    new_u, new_t = u + du, t + dt
    inner = internal_forces(body, solid.geometry, solid.law, solid.bulk, new_u)
    uneven = (inner - external_forces(body, solid, loading, new_t, new_u)) * unknown
    scale = jnp.linalg.norm(inner)
    residual = jnp.linalg.norm(uneven) / jnp.where(scale > 0, scale, 1.0)
    moved = state._replace(
        trial_u=new_u,
        trial_t=new_t,
        carried=carry(body, solid, loading, system.at, state.carried, u, du),
        first_residual=jnp.where(state.iteration == 0, residual, state.first_residual),
        iteration=state.iteration + 1,
        solves=state.solves + 1,
        residual=residual,
    )
    return moved, residual, jnp.isfinite(residual) & jnp.all(jnp.isfinite(new_u))


def _accept(
    body: Body, solid: Solid, loading: Loading, state: PathState,
    stops: Stops, settings: PathSettings,
) -> PathState:  # fmt: skip
    """Keep the balanced state, save it if it was asked for, size and predict the next step."""
    t, u = state.trial_t, state.trial_u
    last = stops.wanted - 1
    target = stops.at[jnp.minimum(state.next_stop, last)]
    by_volume = state.by_volume > 0
    at_stop = ~by_volume & (t >= target - 1e-12)
    index = jnp.where(at_stop, state.next_stop, len(stops.at))
    fell = by_volume & (t < state.earlier_t[0])
    passed = by_volume & (t >= target)
    rising = t - state.earlier_t[0] > 20.0 * settings.smallest_step
    eased = by_volume & (state.by_volume >= settings.volume_steps // 10) & rising
    tired = by_volume & (state.by_volume >= settings.volume_steps)
    outcome = jnp.where(
        at_stop & (state.next_stop == last), Outcome.complete,
        jnp.where(fell, Outcome.limit_point, jnp.where(tired, Outcome.no_balance, state.outcome)),
    )  # fmt: skip
    past = remember(body, solid, loading, u)
    grow = jnp.clip(settings.wanted_iterations / state.iteration, 0.5, 2.0)
    taken = t - state.earlier_t[0]
    kept = state._replace(
        earlier_t=jnp.concatenate([t[None], state.earlier_t[:2]]),
        earlier_u=jnp.concatenate([u[None], state.earlier_u[:2]]),
        earlier_stress=jax.tree.map(
            lambda new, old: jnp.concatenate([new[None], old[:2]]),
            state.carried,
            state.earlier_stress,
        ),
        balanced=jnp.minimum(state.balanced + 1, settings.predictor_states),
        step=jnp.where(
            by_volume, jnp.maximum(taken, settings.smallest_step * 10), state.step * grow
        ),
        # back to the load once it rises again; one that was passed is met from close by
        by_volume=jnp.where(by_volume & ~passed & ~eased, state.by_volume + 1, 0),
        volume_step=state.volume_step * grow,
        next_stop=state.next_stop + at_stop,
        saved_u=state.saved_u.at[index].set(u, mode="drop"),
        saved_solves=state.saved_solves.at[index].set(state.solves, mode="drop"),
        past=past,
        saved_past=jax.tree.map(
            lambda now, kept: kept.at[index].set(now, mode="drop"), past, state.saved_past
        ),
        outcome=outcome.astype(jnp.int32),
    )
    return _predict(kept, stops)


def _cut(
    body: Body, solid: Solid, loading: Loading, state: PathState,
    stops: Stops, settings: PathSettings,
) -> PathState:  # fmt: skip
    """Go back to the last balance and try less; below the floor, prescribe the volume."""
    by_volume = state.by_volume > 0
    step = state.step * jnp.where(by_volume, 1.0, 0.25)
    at_floor = ~by_volume & (step < settings.smallest_step)
    load = _load_vector(body, solid, loading, state.earlier_u[0]) * body.unknown
    swept = jnp.abs(load @ (state.earlier_u[0] - state.earlier_u[1]))
    volume_step = jnp.where(at_floor, swept, state.volume_step * 0.25)
    hopeless = (by_volume & (volume_step < 1e-4 * swept)) | (at_floor & (swept == 0.0))
    back = state._replace(
        step=step,
        by_volume=jnp.where(at_floor, 1, state.by_volume).astype(jnp.int32),
        volume_step=volume_step,
        cuts=state.cuts + 1,
        outcome=jnp.where(hopeless, Outcome.no_balance, state.outcome).astype(jnp.int32),
    )
    return _predict(back, stops)


def _predict(state: PathState, stops: Stops) -> PathState:
    """Set the next trial load and extrapolate the displacements to it."""
    now = state.earlier_t[0]
    room = stops.at[jnp.minimum(state.next_stop, stops.wanted - 1)] - now
    step = jnp.where(
        room < 1.3 * state.step, room, jnp.where(room < 2.0 * state.step, room / 2.0, state.step)
    )
    t = jnp.where(state.by_volume > 0, now, now + step)
    weights = lagrange(state.earlier_t, state.balanced, t)
    return state._replace(
        trial_t=t,
        trial_u=weights @ state.earlier_u,
        carried=jax.tree.map(lambda s: jnp.tensordot(weights, s, 1), state.earlier_stress),
        iteration=jnp.zeros_like(state.iteration),
    )

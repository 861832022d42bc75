"""Follow a batch of designs to their last load, with progress, cancelling and resuming."""

from __future__ import annotations

import dataclasses
import time
from collections.abc import Callable
from functools import partial
from typing import Any

import jax
import jax.numpy as jnp
import numpy as np
from jaxtyping import Array, Float, Int

from fiddlehead.mechanics import path as paths
from fiddlehead.mechanics.body import Body
from fiddlehead.mechanics.contact import Obstacle, Past
from fiddlehead.mechanics.loads import Loading, Solid, contact_past
from fiddlehead.mechanics.outcome import Outcome
from fiddlehead.mechanics.path import PathSettings, PathState, Stops
from fiddlehead.mechanics.plate import Plate, no_plate
from fiddlehead.mechanics.solid import geometry

STOPS_PADDED_TO = 16

Progress = Callable[["Progressed"], None]


@dataclasses.dataclass(frozen=True)
class Progressed:
    """What a progress callback is told after every Newton step; raise ``Cancelled`` to stop."""

    stops_done: int
    """Requested loads met so far, over all designs."""
    stops_wanted: int
    solves: int
    load_factor: float
    """Load factor of the slowest running design."""
    elapsed_s: float


class Cancelled(Exception):
    """Raised by a progress callback to stop; what is done is kept."""


@dataclasses.dataclass(frozen=True)
class Path:
    """Balanced states of a batch of designs at the requested loads (numpy, batch axis first)."""

    stops: Float[np.ndarray, " stop"]
    met: Int[np.ndarray, " design"]
    """How many of the stops each design met, counted from the first."""
    displacement: Float[np.ndarray, "design stop node 3"]
    """mm; zero beyond ``met``."""
    rows: Float[np.ndarray, "design stop row"]
    """The same by rows of the body."""
    outcome: tuple[Outcome, ...]
    load_factor: Float[np.ndarray, " design"]
    """Highest load factor at which a balance was found."""
    solves: Int[np.ndarray, " design"]
    solves_at_stop: Int[np.ndarray, "design stop"]
    cuts: Int[np.ndarray, " design"]
    elapsed_s: float
    state: PathState
    """For resuming."""
    past: Past | None = None
    """What friction remembers at each stop (design, stop, face, point); None without contact."""


def make_solid(body: Body, points: Any, law: Any, bulk: Any) -> Solid:
    """One design's solid from its undeformed coordinates (mm), law and bulk modulus (MPa)."""
    points = jnp.asarray(points, float)
    law = jax.tree.map(lambda c: jnp.asarray(c, float), law)
    return Solid(points, _geometry(body, points), law, jnp.asarray(bulk, float))


@jax.jit
def _geometry(body: Body, points: Array) -> Any:
    return geometry(body, points)


def make_loading(
    body: Body,
    *,
    pressure: Any = 0.0,
    pressure_start: Any = 0.0,
    dead: Any = None,
    prescribed: Any = None,
    prescribed_start: Any = None,
    plate: Plate | None = None,
    obstacle: Obstacle | None = None,
) -> Loading:
    """Loads at load factor 1; they grow linearly from their start values at load factor 0.

    Parameters
    ----------
    pressure : live pressure, MPa; ``pressure_start`` is its value at load factor 0
    dead : nodal forces, N, shape (node, 3)
    prescribed : displacements of the supported components, mm, shape (node, 3)
    plate : rigid plate the ``plate_faces`` of the body may press on
    obstacle : rigid surface the ``contact_faces`` of the body may press on
    """
    none = jnp.zeros((len(body.row), 3))

    def rows(field: Any) -> Array:
        return body.to_rows(none if field is None else jnp.asarray(field, float))

    return Loading(
        pressure_start=jnp.asarray(pressure_start, float),
        pressure_end=jnp.asarray(pressure, float),
        dead=rows(dead),
        prescribed_start=rows(prescribed_start),
        prescribed_end=rows(prescribed),
        plate=no_plate() if plate is None else plate,
        obstacle=obstacle,
    )


def stack(designs: list[Any]) -> Any:
    """Stack per-design records (solids, loadings) of one topology into a batch."""
    return jax.tree.map(lambda *leaves: jnp.stack(leaves), *designs)


def padded_stops(stops: Any) -> Stops:
    """Requested load factors, padded so that few lengths are compiled."""
    asked = np.asarray(stops, float)
    padding = -len(asked) % STOPS_PADDED_TO
    return Stops(jnp.asarray(np.pad(asked, (0, padding), mode="edge")), jnp.asarray(len(asked)))


@partial(jax.jit, static_argnames="settings")
def _start(
    body: Body, solids: Solid, loadings: Loading, stops: Stops, u: Array, past: Any,
    settings: PathSettings,
) -> PathState:  # fmt: skip
    return jax.vmap(lambda s, g, v, p: paths.start(body, s, g, stops, v, settings, p))(
        solids, loadings, u, past
    )


@partial(jax.jit, static_argnames="settings", donate_argnames="state")
def advance_all(
    body: Body, solids: Solid, loadings: Loading, stops: Stops, state: PathState,
    settings: PathSettings,
) -> PathState:  # fmt: skip
    """One Newton step of every design of a batch."""
    return jax.vmap(lambda s, g, x: paths.advance(body, s, g, stops, x, settings))(
        solids, loadings, state
    )


def follow(
    body: Body,
    solids: Solid,
    loadings: Loading,
    stops: Any,
    *,
    settings: PathSettings = PathSettings(),
    start_rows: Float[Array, "design row"] | None = None,
    start_past: Past | None = None,
    resume: PathState | None = None,
    progress: Progress | None = None,
    keep: Callable[[PathState], None] | None = None,
    most_solves: int = 2000,
) -> Path:
    """Follow all designs of a batch through the requested load factors.

    Parameters
    ----------
    body : shared topology
    solids, loadings : batched records (see :func:`stack`)
    stops : rising load factors; the first is where the start state is balanced (usually 0)
    start_rows : balanced start displacements by rows; at rest when left out
    start_past : what friction remembers of that state; nothing touches when left out
    resume : state of an earlier, unfinished :class:`Path` of the same call
    progress : called after every Newton step; may raise :class:`Cancelled`
    keep : called with the state after every Newton step, to write it down
    most_solves : Newton steps after which the rest is given up (outcome ``budget_spent``)

    Returns
    -------
    Path : always; each design carries its own outcome
    """
    stops = np.asarray(stops, float)
    padded = padded_stops(stops)
    designs = solids.points.shape[0]
    began = time.perf_counter()
    if resume is None:
        rest = jnp.zeros((designs, body.size)) if start_rows is None else start_rows
        if start_past is None:
            start_past = stack([contact_past(body)] * designs)
        state = _start(body, solids, loadings, padded, rest, start_past, settings)
    else:
        state = jax.tree.map(jnp.array, resume)
    ended = Outcome.running
    while ended is Outcome.running:
        outcome = np.asarray(state.outcome)
        running = outcome == Outcome.running
        if not running.any():
            break
        if int(np.asarray(state.solves).max()) >= most_solves:
            ended = Outcome.budget_spent
            break
        state = advance_all(body, solids, loadings, padded, state, settings)
        if keep is not None:
            keep(state)
        if progress is not None:
            try:
                progress(_progressed(state, len(stops), time.perf_counter() - began))
            except Cancelled:
                ended = Outcome.cancelled
    return _package(body, stops, state, ended, time.perf_counter() - began)


def _progressed(state: PathState, stops: int, elapsed: float) -> Progressed:
    done = np.asarray(state.next_stop) - 1
    running = np.asarray(state.outcome) == Outcome.running
    load = np.asarray(state.earlier_t)[:, 0]
    return Progressed(
        stops_done=int(done.sum()),
        stops_wanted=(stops - 1) * len(done),
        solves=int(np.asarray(state.solves).sum()),
        load_factor=float(load[running].min() if running.any() else load.min()),
        elapsed_s=elapsed,
    )


def _package(
    body: Body, stops: np.ndarray, state: PathState, ended: Outcome, elapsed: float
) -> Path:
    outcome = tuple(
        ended if Outcome(int(o)) is Outcome.running else Outcome(int(o))
        for o in np.asarray(state.outcome)
    )
    saved = state.saved_u[:, : len(stops)]
    return Path(
        stops=stops,
        met=np.asarray(state.next_stop),
        displacement=np.asarray(body.to_nodes(saved)),
        rows=np.asarray(saved),
        outcome=outcome,
        load_factor=np.asarray(state.earlier_t)[:, 0],
        solves=np.asarray(state.solves),
        solves_at_stop=np.asarray(state.saved_solves)[:, : len(stops)],
        cuts=np.asarray(state.cuts),
        elapsed_s=elapsed,
        state=state,
        past=jax.tree.map(lambda kept: np.asarray(kept)[:, : len(stops)], state.saved_past),
    )

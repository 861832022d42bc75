"""Neighbouring bellows that meet while the finger inflates."""

from __future__ import annotations

import dataclasses

import jax
import jax.numpy as jnp
import numpy as np
from jaxtyping import Array, Float

from fiddlehead.mechanics import walls
from fiddlehead.mechanics.body import Body
from fiddlehead.mechanics.contact import Obstacle
from fiddlehead.mechanics.loads import Solid, face_positions
from fiddlehead.mechanics.outcome import Outcome
from fiddlehead.mechanics.path import PathSettings
from fiddlehead.mechanics.solve import Path, Progress, follow, make_loading, stack
from fiddlehead.trials.rig import Rig, clamped_body

FARTHEST_SLIDE = 0.5
"""Lengths of a brick's edge."""


def smallest_gaps(
    body: Body, solid: Solid, rows: Float[Array, "step row"]
) -> Float[Array, " step"]:
    """Smallest distance between facing walls at each step, mm; infinite without facing walls."""
    pairs = body.wall_pairs
    if not len(pairs):
        return jnp.full(len(rows), jnp.inf)
    return jax.lax.map(lambda u: walls.gaps(face_positions(body, solid, pairs, u)).min(), rows)


def farthest_slides(
    body: Body, solid: Solid, rows: Float[Array, "step row"]
) -> Float[Array, " step"]:
    """How far walls that touch have slid at each step, in lengths of a brick; 0 if none touch."""
    pairs = body.wall_pairs
    if not len(pairs):
        return jnp.zeros(len(rows))

    def one(u: Float[Array, " row"]) -> Array:
        x = face_positions(body, solid, pairs, u)
        return jnp.where(walls.gaps(x) < walls.TOUCHING_MM, walls.slides(x), 0.0).max()

    return jax.lax.map(one, rows)


def followed_by_walls(
    slides: Float[np.ndarray, " step"], met: int, outcome: Outcome
) -> tuple[int, Outcome]:
    """How many steps of a path with walls that push hold, and how it ends.

    Walls are followed as pairs of opposite points: once they have slid on each other by
    ``FARTHEST_SLIDE`` they no longer face each other, and the steps from there on are not kept.
    """
    astray = np.flatnonzero(slides[:met] > FARTHEST_SLIDE)
    if len(astray):
        return int(astray[0]), Outcome.walls_meet
    return met, Outcome.walls_meet if outcome is Outcome.no_balance else outcome


def touch_pressure_mpa(
    pressures_mpa: Float[np.ndarray, " step"], gaps_mm: Float[np.ndarray, " step"]
) -> float | None:
    """Pressure at which the smallest gap closes, between two steps in proportion.

    ``gaps_mm`` are of a path that lets walls pass through each other.
    """
    closed = np.flatnonzero(gaps_mm < 0.0)
    if not len(closed):
        return None
    k = int(closed[0])
    share = gaps_mm[k - 1] / (gaps_mm[k - 1] - gaps_mm[k])
    return float(pressures_mpa[k - 1] + share * (pressures_mpa[k] - pressures_mpa[k - 1]))


def follow_with_walls(
    rig: Rig,
    path: Path,
    touching: int,
    pressure_mpa: float,
    *,
    settings: PathSettings,
    progress: Progress | None,
    obstacle: Obstacle | None = None,
) -> tuple[Body, Path]:
    """Take a path up again before step ``touching``, now with walls that push on each other.

    Walls that may meet widen the front of the elimination, so a finger whose bellows stay apart
    is spared them. Returns the body with walls and the whole path by its rows.
    """
    free = rig.body
    body = clamped_body(rig.meshes[0], grips=obstacle is not None, walls_push=True)
    kept = touching - 1
    before = jnp.stack([body.from_other(free, jnp.asarray(u)) for u in path.rows[0, :touching]])
    rest = follow(
        body,
        rig.solids,
        stack([make_loading(body, pressure=pressure_mpa, obstacle=obstacle)]),
        path.stops[kept:],
        settings=settings,
        start_rows=before[None, kept],
        start_past=jax.tree.map(lambda past: jnp.asarray(past[:, kept]), path.past),
        progress=progress,
    )
    solves = np.concatenate(
        [path.solves_at_stop[0, :kept], path.solves_at_stop[0, kept] + rest.solves_at_stop[0]]
    )
    slides = np.asarray(_slides(body, rig.solid(0), jnp.asarray(rest.rows[0])))
    held, outcome = followed_by_walls(slides, int(rest.met[0]), rest.outcome[0])
    reached = rest.stops[held - 1] if held < rest.met[0] else rest.load_factor[0]
    whole = dataclasses.replace(
        rest,
        stops=path.stops,
        met=np.array([kept + held]),
        outcome=(outcome,),
        load_factor=np.array([reached]),
        displacement=np.concatenate([path.displacement[:, :kept], rest.displacement], axis=1),
        rows=np.concatenate([np.asarray(before)[None, :kept], rest.rows], axis=1),
        past=jax.tree.map(
            lambda a, b: np.concatenate([a[:, :kept], b], axis=1), path.past, rest.past
        ),
        solves=path.solves + rest.solves,
        solves_at_stop=solves[None],
        cuts=path.cuts + rest.cuts,
        elapsed_s=path.elapsed_s + rest.elapsed_s,
    )
    return body, whole


_slides = jax.jit(farthest_slides)

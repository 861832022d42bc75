"""Neighbouring bellows that meet while the finger inflates."""

from __future__ import annotations

import dataclasses

import jax
import jax.numpy as jnp
import numpy as np
from jaxtyping import Array, Float

from fiddlehead.mechanics import walls
from fiddlehead.mechanics.balance import Solid, face_positions
from fiddlehead.mechanics.body import Body
from fiddlehead.mechanics.contact import Obstacle
from fiddlehead.mechanics.path import PathSettings
from fiddlehead.mechanics.solve import Path, Progress, follow, make_loading, stack
from fiddlehead.trials.rig import Rig, clamped_body


def smallest_gaps(
    body: Body, solid: Solid, rows: Float[Array, "step row"]
) -> Float[Array, " step"]:
    """Smallest distance between facing walls at each step, mm; infinite without facing walls."""
    pairs = body.wall_pairs
    if not len(pairs):
        return jnp.full(len(rows), jnp.inf)
    return jax.lax.map(lambda u: walls.gaps(face_positions(body, solid, pairs, u)).min(), rows)


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
    whole = dataclasses.replace(
        rest,
        stops=path.stops,
        met=kept + rest.met,
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

"""Points on an object's surface, for drawing it without its shape."""

from __future__ import annotations

import numpy as np
from jaxtyping import Bool, Float

from fiddlehead.grasp.task import Held

ROWS, COLUMNS = 25, 36
HALVINGS = 20
SOWN = 80


def skin(held: Held) -> Float[np.ndarray, "row column 3"]:
    """Rows from the lower pole to the upper one, columns around; mm, the shape's axes, from the
    centre of mass. Each point is the outermost one of the surface in its direction."""
    low, high = (np.asarray(corner, float) for corner in held.shape.bounds())
    reach = float(np.linalg.norm(high - low))
    tilt = np.linspace(-np.pi / 2, np.pi / 2, ROWS)[:, None]
    turn = np.linspace(0.0, 2.0 * np.pi, COLUMNS)[None]
    ways = np.stack(
        [np.cos(tilt) * np.cos(turn), np.cos(tilt) * np.sin(turn), np.sin(tilt) + 0 * turn], axis=-1
    )
    centre = held.mass.centre_mm

    def inside(length: Float[np.ndarray, "row column"]) -> Bool[np.ndarray, "row column"]:
        return held.field.distance(centre + length[..., None] * ways) < 0

    lengths = np.linspace(0.0, reach, SOWN)
    hits = np.stack([inside(np.full((ROWS, COLUMNS), s)) for s in lengths])
    last = SOWN - 1 - np.argmax(hits[::-1], axis=0)
    low_end = np.where(hits.any(0), lengths[last], 0.0)
    high_end = low_end + reach / (SOWN - 1)
    for _ in range(HALVINGS):
        middle = 0.5 * (low_end + high_end)
        within = inside(middle)
        low_end, high_end = np.where(within, middle, low_end), np.where(within, high_end, middle)
    found: Float[np.ndarray, "row column 3"] = low_end[..., None] * ways
    return found

"""How long printing takes: lines at a limited speed and acceleration, corners slowed down."""

from __future__ import annotations

import numpy as np
from jaxtyping import Float


def straight_time(
    length: Float[np.ndarray, " move"], speed: float, acceleration: float
) -> Float[np.ndarray, " move"]:
    """Times (s) of straight moves (mm) from rest to rest.

    Trapezoidal speed: ``L/v + v/a`` where full speed is reached (``L >= v²/a``), else
    ``2 sqrt(L/a)``.
    """
    length = np.asarray(length, float)
    reached = length >= speed**2 / acceleration
    return np.where(
        reached, length / speed + speed / acceleration, 2.0 * np.sqrt(length / acceleration)
    )


def path_time(
    points: Float[np.ndarray, "point 2"], speed: float, acceleration: float, corner_speed: float
) -> float:
    """Time (s) along a polyline from rest to rest.

    The speed at a corner that turns by the angle f is limited to ``corner_speed / (2 sin(f/2)) *
    sqrt(2)``, so that the velocity jumps by no more than in a square corner at ``corner_speed``;
    a forward and a backward pass keep every segment within the acceleration.
    """
    steps = np.diff(points, axis=0)
    length = np.linalg.norm(steps, axis=1)
    steps, length = steps[length > 1e-9], length[length > 1e-9]
    if len(length) == 0:
        return 0.0
    unit = steps / length[:, None]
    cosine = np.clip(np.sum(unit[:-1] * unit[1:], axis=1), -1.0, 1.0)
    jump = np.sqrt(2.0 - 2.0 * cosine)  # 2 sin(f/2)
    limit = np.minimum(speed, corner_speed * np.sqrt(2.0) / np.maximum(jump, 1e-9))
    node = [0.0, *limit.tolist(), 0.0]
    lengths = length.tolist()
    for k, piece in enumerate(lengths):
        node[k + 1] = min(node[k + 1], (node[k] ** 2 + 2 * acceleration * piece) ** 0.5)
    for k in range(len(lengths) - 1, -1, -1):
        node[k] = min(node[k], (node[k + 1] ** 2 + 2 * acceleration * lengths[k]) ** 0.5)
    v0, v1 = np.array(node[:-1]), np.array(node[1:])
    top = np.minimum(speed, np.sqrt((v0**2 + v1**2) / 2 + acceleration * length))
    ramps = (2 * top**2 - v0**2 - v1**2) / (2 * acceleration)
    cruise = np.maximum(length - ramps, 0.0)
    return float(np.sum((2 * top - v0 - v1) / acceleration + cruise / top))

"""The 20-node brick and its 8-node faces: shape functions on the reference cube.

Node order is that of the open VTK format (quadratic hexahedron, quadratic quad).
Source of the shape functions: Hughes (2000), The Finite Element Method, ch. 3 (serendipity).
"""

from __future__ import annotations

import numpy as np
from jaxtyping import Float

CORNERS = np.array(
    [(-1, -1, -1), (1, -1, -1), (1, 1, -1), (-1, 1, -1),
     (-1, -1, 1), (1, -1, 1), (1, 1, 1), (-1, 1, 1)], dtype=float,
)  # fmt: skip
EDGES = [
    (0, 1),
    (1, 2),
    (2, 3),
    (3, 0),
    (4, 5),
    (5, 6),
    (6, 7),
    (7, 4),
    (0, 4),
    (1, 5),
    (2, 6),
    (3, 7),
]
BRICK_NODES = np.vstack([CORNERS, [(CORNERS[a] + CORNERS[b]) / 2 for a, b in EDGES]])
FACE_NODES = np.array(
    [(-1, -1), (1, -1), (1, 1), (-1, 1), (0, -1), (1, 0), (0, 1), (-1, 0)], dtype=float
)


def _serendipity(
    nodes: np.ndarray, points: np.ndarray
) -> tuple[Float[np.ndarray, "point node"], Float[np.ndarray, "point node axis"]]:
    """Quadratic serendipity functions and their gradients in any dimension.

    Corner: ``N = prod(1 + x a) (sum(x a) - (d - 1)) / 2^d``;
    mid-edge along axis m: ``N = (1 - x_m^2) prod_{k != m}(1 + x_k a_k) / 2^(d-1)``.
    """
    d = nodes.shape[1]
    value = np.zeros((len(points), len(nodes)))
    slope = np.zeros((len(points), len(nodes), d))
    for n, a in enumerate(nodes):
        half = 1.0 + points * a  # along a mid-edge's own axis a = 0, so this is 1
        others = [np.prod(np.delete(half, k, axis=1), axis=1) for k in range(d)]
        product = np.prod(half, axis=1)
        if np.all(a != 0):
            bracket = points @ a - (d - 1)
            value[:, n] = product * bracket / 2**d
            for k in range(d):
                slope[:, n, k] = a[k] * (others[k] * bracket + product) / 2**d
        else:
            m = int(np.flatnonzero(a == 0)[0])
            bubble = 1.0 - points[:, m] ** 2
            value[:, n] = bubble * product / 2 ** (d - 1)
            for k in range(d):
                slope[:, n, k] = (
                    -2.0 * points[:, m] * product if k == m else bubble * a[k] * others[k]
                ) / 2 ** (d - 1)
    return value, slope


def brick_functions(
    points: Float[np.ndarray, "point 3"],
) -> tuple[Float[np.ndarray, "point 20"], Float[np.ndarray, "point 20 3"]]:
    """Shape functions of the 20-node brick and their reference gradients at ``points``."""
    return _serendipity(BRICK_NODES, points)


def bubble_slopes(points: Float[np.ndarray, "point 3"]) -> Float[np.ndarray, "point 3"]:
    """Reference gradient of the inner function ``(1 - ξ²)(1 - η²)(1 - ζ²)`` at ``points``."""
    cap = 1.0 - points**2
    return np.stack(
        [-2.0 * points[:, k] * cap[:, (k + 1) % 3] * cap[:, (k + 2) % 3] for k in range(3)], axis=1
    )


def face_functions(
    points: Float[np.ndarray, "point 2"],
) -> tuple[Float[np.ndarray, "point 8"], Float[np.ndarray, "point 8 2"]]:
    """Shape functions of the 8-node face and their reference gradients at ``points``."""
    return _serendipity(FACE_NODES, points)

"""How good a grasp is: what it resists at all, and how much of it.

Epsilon is the radius of the largest ball about the origin of wrench space that the contacts can
produce; it depends on what "unit" means. Here every edge of a friction cone carries a unit *normal*
force; moments are divided by a length that the caller states. Sources: Ferrari & Canny (1992),
Planning optimal grasps, IEEE ICRA, 2290-2295; Nguyen (1988), Constructing force-closure grasps,
Int. J. Robotics Research 7(3), 3-16.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from jaxtyping import Float
from scipy.optimize import linprog

Sets = Sequence[Float[np.ndarray, "edge dim"]]

SMALL = 1e-9
STARTS = 24
MOST_FACETS = 60


def scaled(sets: Sets, length_mm: float) -> list[Float[np.ndarray, "edge 6"]]:
    """Wrenches with moments divided by a length, so that all six parts are forces, N."""
    return [wrenches / np.array([1.0] * 3 + [length_mm] * 3) for wrenches in sets]


def planar(sets: Sets) -> list[Float[np.ndarray, "edge 3"]]:
    """Only the parts of a plane problem: forces along x and y, moment about z."""
    return [wrenches[:, [0, 1, 5]] for wrenches in sets]


def force_closure(sets: Sets) -> bool:
    """Whether the contacts can resist any wrench, if they may push as hard as it takes.

    The wrenches must span the space, and the origin must be a mixture of all of them with weights
    above zero (a linear programme).
    """
    w = np.vstack(sets)
    size = np.linalg.norm(w, axis=1).max(initial=0.0)
    if size == 0 or np.linalg.matrix_rank(w, tol=1e-9 * size) < w.shape[1]:
        return False
    # largest d with sum of weights (d + rest) * wrench = 0
    columns = np.column_stack([w.T, w.sum(axis=0)])
    norm = np.ones((1, len(w) + 1))
    norm[0, -1] = len(w)
    found = linprog(
        -np.eye(len(w) + 1)[-1],
        A_eq=np.vstack([columns, norm]),
        b_eq=np.append(np.zeros(w.shape[1]), 1.0),
        bounds=(0, None),
    )
    return bool(found.success and -found.fun > SMALL)


def epsilon(sets: Sets, forces_n: Float[np.ndarray, " contact"] | None = None) -> float:
    """Radius of the largest ball about the origin in the grasp wrench space; 0 without closure.

    Parameters
    ----------
    sets : wrenches of unit normal force, one array for each contact (see
        :func:`fiddlehead.grasp.wrench.primitive_wrenches`), moments already scaled
    forces_n : largest normal force of each contact, N: every finger pushes up to its own limit,
        independently of the others (force-limited). None: the normal forces together make 1 (the
        convex hull of all wrenches).

    Returns
    -------
    A pure number per unit normal force, or N when force-limited. The nearest face of the space is
    sought by shooting rays and following the normals of the faces they meet, from many starts: an
    upper bound that is exact when the nearest face is among those found.
    """
    if not force_closure(sets):
        return 0.0
    columns, mixes, limits = _space(sets, forces_n)
    dim = columns.shape[0]
    random = np.random.default_rng(0).normal(size=(STARTS, dim))
    starts = np.vstack([np.eye(dim), -np.eye(dim), random])
    nearest = np.inf
    for start in starts:
        direction, reach = start / np.linalg.norm(start), np.inf
        for _ in range(MOST_FACETS):
            face = _face(columns, mixes, limits, direction)
            if face is None:
                break
            direction, distance = face
            if distance >= reach - SMALL:
                break
            reach = distance
        nearest = min(nearest, reach)
    return float(nearest)


def _space(
    sets: Sets, forces_n: Float[np.ndarray, " contact"] | None
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Wrenches as columns; which of them share a budget of normal force; the budgets."""
    columns = np.vstack(sets).T
    if forces_n is None:
        return columns, np.ones((1, columns.shape[1])), np.ones(1)
    mixes = np.zeros((len(sets), columns.shape[1]))
    first = 0
    for row, wrenches in enumerate(sets):
        mixes[row, first : first + len(wrenches)] = 1.0
        first += len(wrenches)
    return columns, mixes, np.asarray(forces_n, float)


def _face(
    columns: np.ndarray, mixes: np.ndarray, limits: np.ndarray, direction: np.ndarray
) -> tuple[np.ndarray, float] | None:
    """The face a ray meets: its unit normal and its distance from the origin.

    Largest s with ``columns @ x = s direction``, ``mixes @ x <= limits``, ``x >= 0``; the face's
    normal is what the programme's equations are worth (its dual).
    """
    count = columns.shape[1]
    found = linprog(
        np.append(np.zeros(count), -1.0),
        A_eq=np.column_stack([columns, -direction]),
        b_eq=np.zeros(len(direction)),
        A_ub=np.column_stack([mixes, np.zeros(len(limits))]),
        b_ub=limits,
        bounds=(0, None),
    )
    if not found.success:
        return None
    normal = -found.eqlin.marginals
    if normal @ direction < 0:
        normal = -normal
    size = np.linalg.norm(normal)
    if size < SMALL:
        return None
    normal = normal / size
    support = float(limits @ np.maximum((mixes * (normal @ columns)).max(axis=1), 0.0))
    return normal, support

"""Which loads the contacts can balance, as linear programmes.

Contact forces lie within friction cones cut into planes (inside the true cones, so results are on
the safe side by up to ``1 - cos(pi / edges)`` of the friction).
"""

from __future__ import annotations

import numpy as np
from jaxtyping import Float
from scipy.optimize import linprog

from fiddlehead.grasp.wrench import CONE_EDGES, Contacts, primitive_wrenches

UNBOUNDED = 1e6
"""A load factor beyond which a grasp is said to hold anything."""


def least_force_n(
    found: Contacts, wrench: Float[np.ndarray, "6"], edges: int = CONE_EDGES
) -> float:
    """Smallest largest normal force with which the contacts hold a load; infinite if none does.

    Parameters
    ----------
    wrench : load on the object, N and N·mm about the origin of the positions
    """
    columns, share = _columns(found, edges)
    count, number = columns.shape[1], len(share)
    rows, right = _well_scaled(columns, -np.asarray(wrench, float))
    result = linprog(
        np.append(np.zeros(count), 1.0),
        A_eq=np.column_stack([rows, np.zeros(len(rows))]),
        b_eq=right,
        A_ub=np.column_stack([share, -np.ones(number)]),
        b_ub=np.zeros(number),
        bounds=(0, None),
    )
    return float(result.fun) if result.success else float("inf")


def load_range(
    found: Contacts,
    normal_n: Float[np.ndarray, " contact"],
    wrench: Float[np.ndarray, "6"],
    *,
    free: Float[np.ndarray, "6 way"] | None = None,
    edges: int = CONE_EDGES,
) -> tuple[float, float]:
    """Between which multiples of a load soft fingers balance it.

    Parameters
    ----------
    normal_n : normal force of each contact before the load comes, N: soft fingers press as their
        air lets them. Under load the object moves a little, and each force changes in proportion
        to itself and to how far its contact is pushed back (a foundation of springs).
    wrench : load on the object, N and N·mm
    free : wrenches that something else supplies, as columns

    Returns
    -------
    Lowest and highest factor; ``(inf, -inf)`` when no factor is balanced.
    """
    extra = np.zeros((6, 0)) if free is None else free
    load = np.asarray(wrench, float)[:, None]
    rows, right, first = _springy(found, normal_n, np.column_stack([load, extra]), edges)
    bounds: list[tuple[float | None, float | None]]
    bounds = [(0, None)] * first + [(-UNBOUNDED, UNBOUNDED)]
    bounds += [(None, None)] * (rows.shape[1] - first - 1)
    ends = []
    for sign in (1.0, -1.0):
        aim = np.zeros(rows.shape[1])
        aim[first] = sign
        result = linprog(aim, A_eq=rows, b_eq=right, bounds=bounds)
        if not result.success:
            return float("inf"), float("-inf")
        ends.append(float(result.x[first]))
    return ends[0], ends[1]


def balanced(
    found: Contacts,
    normal_n: Float[np.ndarray, " contact"],
    wrench: Float[np.ndarray, "6"],
    edges: int = CONE_EDGES,
) -> bool:
    """Whether soft fingers balance just this load; see :func:`load_range`."""
    rows, right, first = _springy(found, normal_n, np.zeros((6, 0)), edges, wrench)
    bounds: list[tuple[float | None, float | None]]
    bounds = [(0, None)] * first + [(None, None)] * (rows.shape[1] - first)
    return bool(linprog(np.zeros(rows.shape[1]), A_eq=rows, b_eq=right, bounds=bounds).success)


def _springy(
    found: Contacts,
    normal_n: Float[np.ndarray, " contact"],
    others: Float[np.ndarray, "6 other"],
    edges: int,
    wrench: Float[np.ndarray, "6"] | None = None,
) -> tuple[np.ndarray, np.ndarray, int]:
    """Equations of balance and of the springs, and how many unknowns are forces at contacts.

    Unknowns: forces along the edges of all cones, factors of ``others``, motion of the object.
    """
    columns, share = _columns(found, edges)
    total = np.column_stack([columns, others])
    held = np.zeros(6) if wrench is None else -np.asarray(wrench, float)
    rows, right = _well_scaled(total, held)
    lever = np.abs(found.position).max(initial=0.0) or 1.0
    ways = np.column_stack([found.normal, np.cross(found.position, found.normal) / lever])
    weight = np.asarray(normal_n, float) / (np.mean(normal_n) or 1.0)
    springs = np.column_stack(
        [share, np.zeros((len(share), others.shape[1])), weight[:, None] * ways]
    )
    # the object moves so that the forces change between the fingers, not in sum
    kept = np.append(np.zeros(total.shape[1]), weight @ ways)
    equations = np.vstack([np.column_stack([rows, np.zeros((6, 6))]), springs, kept])
    return equations, np.concatenate([right, normal_n, [0.0]]), columns.shape[1]


def _columns(
    found: Contacts, edges: int
) -> tuple[Float[np.ndarray, "6 column"], Float[np.ndarray, "contact column"]]:
    """Wrenches of unit normal force as columns, and which contact each belongs to."""
    sets = primitive_wrenches(found, edges)
    owner = np.repeat(np.arange(len(sets)), [len(wrenches) for wrenches in sets])
    return np.vstack(sets).T, (np.arange(len(sets))[:, None] == owner).astype(float)


def _well_scaled(
    columns: Float[np.ndarray, "6 column"], right: Float[np.ndarray, "6"]
) -> tuple[Float[np.ndarray, "6 column"], Float[np.ndarray, "6"]]:
    """Moments over their typical lever, so that all rows are of one size."""
    force = np.abs(columns[:3]).max(initial=0.0) or 1.0
    lever = (np.abs(columns[3:]).max(initial=0.0) or 1.0) / force
    by = np.array([1.0] * 3 + [lever] * 3)
    return columns / by[:, None], right / by

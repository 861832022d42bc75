"""What one finger's contact comes to, and a few rigid contacts that stand for it."""

from __future__ import annotations

import dataclasses

import numpy as np
from jaxtyping import Float

from fiddlehead.grasp.wrench import Contacts, contacts
from fiddlehead.mechanics.contact import Felt

TOUCHING_MPA = 1e-3
"""Pressure above which an area counts as touching: 1 kPa, common practice, no source."""
POINTS = 12
"""Rigid contacts that stand for one finger's patch, at most."""


@dataclasses.dataclass(frozen=True, eq=False)
class Patch:
    """Contact of one whole finger on the object."""

    normal_n: float
    """Sum of the normal forces' sizes."""
    tangential_n: float
    """Size of the summed friction."""
    area_mm2: float
    peak_mpa: float
    p95_mpa: float
    slip_share: float
    """Share of the normal force whose friction is used up."""


def measure(felt: Felt, friction: float, whole: float) -> Patch:
    """Numbers of a patch.

    Parameters
    ----------
    whole : 2 for a half finger, 1 for a whole one
    """
    pressure = np.asarray(felt.pressure).ravel()
    reference, area = np.asarray(felt.area).ravel(), np.asarray(felt.current_area).ravel()
    traction = np.asarray(felt.friction).reshape(-1, 3)
    force = pressure * reference
    true = force / area
    touching = true > TOUCHING_MPA
    drag = traction * reference[:, None]
    if whole == 2.0:
        drag = drag * np.array(
            [1.0, 1.0, 0.0]
        )  # what leaves the plane comes back on the other side
    used = np.linalg.norm(traction, axis=1) >= 0.999 * friction * pressure
    total = force.sum()
    return Patch(
        normal_n=float(whole * total),
        tangential_n=float(whole * np.linalg.norm(drag.sum(0))),
        area_mm2=float(whole * area[touching].sum()),
        peak_mpa=float(true.max(initial=0.0)),
        p95_mpa=percentile(true[touching], area[touching], 0.95),
        slip_share=float(force[used & (force > 0)].sum() / total) if total > 0 else 0.0,
    )


def percentile(
    values: Float[np.ndarray, " point"], weights: Float[np.ndarray, " point"], share: float
) -> float:
    """Value that a share of the weight stays below; 0 of nothing."""
    if not len(values):
        return 0.0
    order = np.argsort(values)
    filled = np.cumsum(weights[order]) / weights.sum()
    return float(values[order][np.searchsorted(filled, share * (1 - 1e-12))])


def rigid_contacts(
    felt: Felt,
    place: Float[np.ndarray, "3 4"],
    centre: Float[np.ndarray, "3"],
    friction: float,
    *,
    half: bool,
) -> tuple[Contacts, Float[np.ndarray, " contact"]]:
    """A few points with their normal forces that push as the patch does.

    Neighbouring points are put together along the finger's axis and across; positions are from the
    object's centre of mass, in the gripper's axes.
    """
    force = (np.asarray(felt.pressure) * np.asarray(felt.area)).ravel()
    place_mm = np.asarray(felt.position).reshape(-1, 3)
    out = np.asarray(felt.normal).reshape(-1, 3)
    keep = force > 1e-6 * max(force.sum(), 1e-12)
    force, place_mm, out = force[keep], place_mm[keep], out[keep]
    if half:
        flip = np.array([1.0, 1.0, -1.0])
        force = np.concatenate([force, force])
        place_mm, out = np.vstack([place_mm, place_mm * flip]), np.vstack([out, out * flip])
    if not len(force):
        nothing = np.zeros((0, 3))
        return contacts(nothing, nothing, friction), np.zeros(0)
    sides = place_mm[:, 2] >= 0.0
    rank = np.argsort(np.argsort(place_mm[:, 0]))
    bins = (rank * (POINTS // 2)) // len(rank)
    cell = 2 * bins + sides
    names = np.unique(cell)
    total = np.array([force[cell == n].sum() for n in names])
    at = np.array([force[cell == n] @ place_mm[cell == n] for n in names]) / total[:, None]
    normal = np.array([force[cell == n] @ out[cell == n] for n in names])
    turn, origin = place[:, :3], place[:, 3]
    pushed = np.linalg.norm(normal, axis=1)
    return (
        contacts(at @ turn.T + origin - centre, -normal @ turn.T, friction),
        pushed,
    )

"""From contact forces to margins: what friction carries, and what the object bears."""

from __future__ import annotations

import itertools

import numpy as np
from jaxtyping import Float

from fiddlehead.grasp.balance import load_range
from fiddlehead.grasp.closed_forms import GRAVITY_M_PER_S2
from fiddlehead.grasp.wrench import Contacts
from fiddlehead.objects.records import ObjectRecord

LATERAL_SHARE = 0.05
"""Out-of-plane motion of a tip that is allowed, over the finger's length; our proposal (5 to 10 %
are in use, no source)."""
LATERAL_STANDING = "5 % of the finger's length: our proposal"
WAYS = np.array([d for d in itertools.product((-1.0, 0.0, 1.0), repeat=3) if any(d)])
"""Directions of shaking that are looked at: along the edges and diagonals of a cube."""
MAIN = [0, *(1 + k for k, way in enumerate(WAYS) if np.abs(way).sum() == 1.0)]
"""Of :func:`loads`: the weight alone, and shaking along the axes."""
MOMENTS = np.eye(6)[:, 3:]


def loads(mass_kg: float, shake_m_per_s2: float) -> Float[np.ndarray, "way 6"]:
    """Weight alone, and weight with the shaking in every direction; N."""
    ways = WAYS / np.linalg.norm(WAYS, axis=1, keepdims=True)
    forces = mass_kg * np.array([0.0, 0.0, -GRAVITY_M_PER_S2])
    forces = np.vstack([forces, forces + mass_kg * shake_m_per_s2 * ways])
    return np.column_stack([forces, np.zeros_like(forces)])


def slip_margin(
    found: Contacts,
    normal_n: Float[np.ndarray, " contact"],
    mass_kg: float,
    shake_m_per_s2: float,
) -> float:
    """Factor by which all loads of a task may grow until friction no longer balances one of them.

    0 when the contact forces do not even balance one of the loads, whatever its size.
    """
    if not len(normal_n):
        return 0.0
    least = np.inf
    for load in loads(mass_kg, shake_m_per_s2):
        low, high = load_range(found, normal_n, load)
        least = min(least, high if low <= 1.0 else 0.0)
    return max(float(least), 0.0)


def payload_kg(found: Contacts, normal_n: Float[np.ndarray, " contact"]) -> float:
    """Mass that friction carries at rest, normal forces given."""
    if not len(normal_n):
        return 0.0
    low, high = load_range(found, normal_n, np.array([0, 0, -GRAVITY_M_PER_S2, 0, 0, 0]))
    return float(max(high, 0.0)) if low <= high else 0.0


def why_lost(
    found: Contacts, normal_n: Float[np.ndarray, " contact"], load: Float[np.ndarray, "6"]
) -> str:
    """The reason why contacts do not hold a load; empty when they do.

    ``slips``: the load is too much. ``pushed away``: the fingers' own forces are too much for it,
    or do not balance at all. ``rolls out``: forces balance, moments do not.
    """
    if not len(normal_n):
        return "not reached"
    low, high = load_range(found, normal_n, load)
    if low <= 1.0 <= high:
        return ""
    freed_low, freed_high = load_range(found, normal_n, load, free=MOMENTS)
    if freed_low <= 1.0 <= freed_high:
        return "rolls out"
    return "slips" if freed_low <= freed_high < 1.0 else "pushed away"


def damage_margin(
    record: ObjectRecord, pressure_mpa: float | None, force_n: float
) -> tuple[float | None, str]:
    """The object's limits over what it feels, and which of them is the nearer; None without any."""
    known = []
    if record.contact_pressure_limit_kpa is not None and pressure_mpa:
        known.append((record.contact_pressure_limit_kpa / (1e3 * pressure_mpa), "contact pressure"))
    if record.force_limit_n is not None and force_n > 0:
        known.append((record.force_limit_n / force_n, "force of one finger"))
    return min(known) if known else (None, "")

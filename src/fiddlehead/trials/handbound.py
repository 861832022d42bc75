"""The hand estimate a simulated blocked force is held against."""

from __future__ import annotations

import numpy as np
from jaxtyping import Float

from fiddlehead.finger.parameters import FingerParameters

MARGIN = 1.2


def hand_bound_n(
    finger: FingerParameters,
    pressure_mpa: Float[np.ndarray, " step"],
    contact_distance_mm: Float[np.ndarray, " step"],
) -> Float[np.ndarray, " step"]:
    """``F = p A e / L``: the pressure's moment about the base over the distance to the contact.

    A is the chamber's section at a peak, e the distance from its centre to the middle of the
    base, L the distance from the end of the root block to the contact. Common practice, no source.
    """
    height = finger.height_mm - finger.roof_thickness_mm - finger.base_thickness_mm
    area = finger.chamber_width_mm * height
    arm = height / 2.0 + finger.base_thickness_mm / 2.0
    reach = contact_distance_mm - finger.root_length_mm
    return pressure_mpa * area * arm / reach


def explain(
    force_n: Float[np.ndarray, " step"], bound_n: Float[np.ndarray, " step"], tip_hold: str
) -> str:
    """Why a force beyond the hand estimate by more than 20 % can be right; empty when it is not."""
    over = force_n > MARGIN * np.maximum(bound_n, 1e-12)
    if not np.any(over[bound_n > 0]):
        return ""
    most = float(np.max(force_n[bound_n > 0] / bound_n[bound_n > 0]))
    hold = (
        "the tip cannot turn freely on its hold, which adds an end moment"
        if tip_hold == "held"
        else "the finger arches between root and plate, and its root carries a moment as well: a "
        "beam that is clamped at one end and propped at the other needs 3/2 of the estimate"
    )
    return (
        f"The force is up to {most:.2f} times the hand estimate p A e / L. The estimate treats the "
        f"finger as straight and hinged at its root; here {hold}."
    )

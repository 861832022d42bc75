"""When lateral buckling counts as near, and what is said then."""

from __future__ import annotations

import numpy as np
from jaxtyping import Float, Int

MARGIN = 1.5
"""Buckling closer than this many times the highest pressure is near."""
MARGIN_STANDING = "common practice, no source"


def buckling_pressure_mpa(
    pressure_mpa: Float[np.ndarray, " step"],
    stability: Float[np.ndarray, " step"],
    unstable_shapes: Int[np.ndarray, " step"],
) -> float | None:
    """Pressure at which the lowest eigenvalue comes to zero; None when it does not fall.

    Between the last stable and the first unstable step on a straight line, otherwise straight on
    from the last two steps. Source of the straight line: Lurie (1952), Lateral vibrations as
    related to structural stability, J. Appl. Mech. 19, 195-204.
    """
    unstable = np.flatnonzero(unstable_shapes)
    if len(unstable) == 0 and len(stability) < 2:
        return None
    last = int(unstable[0]) if len(unstable) else len(stability) - 1
    if last == 0:
        return 0.0
    (p0, p1), (s0, s1) = pressure_mpa[last - 1 : last + 1], stability[last - 1 : last + 1]
    if len(unstable) and s1 > 0.0:
        # the shape that went unstable is not among those followed: the last stable step
        return float(p0)
    return float(p0 + s0 * (p1 - p0) / (s0 - s1)) if s1 < s0 else None


def buckling_warning(
    pressure_mpa: Float[np.ndarray, " step"],
    unstable_shapes: Int[np.ndarray, " step"],
    buckling_mpa: float | None,
) -> str:
    """What to mind, in plain words with the next move; empty when buckling is far."""
    if buckling_mpa is None:
        return ""
    highest = 1e3 * float(pressure_mpa[-1])
    mend = "Widen the finger or its base, or lower the pressure."
    if np.any(unstable_shapes):
        return (
            f"Lateral buckling is passed: from about {1e3 * buckling_mpa:.3g} kPa the finger "
            "springs out of its plane by itself, and bending and force beyond that pressure are "
            f"not what a bench will show. {mend}"
        )
    if buckling_mpa < MARGIN * float(pressure_mpa[-1]):
        return (
            f"Lateral buckling is near: carried straight on from the last two steps, it comes at "
            f"about {1e3 * buckling_mpa:.3g} kPa, less than {MARGIN:g} times the highest pressure "
            f"of {highest:.4g} kPa (margin: {MARGIN_STANDING}). {mend}"
        )
    return ""

"""When lateral buckling counts as near, and what is said then."""

from __future__ import annotations

import numpy as np
from jaxtyping import Float, Int

MARGIN = 1.5
"""Buckling closer than this many times the highest pressure is near."""
FAR = 10.0
"""Beyond this many times the highest pressure nothing is foretold; chosen by us."""
MARGIN_STANDING = "common practice, no source"


def buckling_pressure_mpa(
    pressure_mpa: Float[np.ndarray, " step"],
    stability: Float[np.ndarray, " step"],
    unstable_shapes: Int[np.ndarray, " step"],
) -> float | None:
    """Pressure at which the lowest eigenvalue comes to zero; None when that is not in sight.

    Between the last stable and the first unstable step on a straight line. Otherwise carried on
    beyond the last step: straight on from the last two steps, as a column's falls (Lurie 1952,
    Lateral vibrations as related to structural stability, J. Appl. Mech. 19, 195-204), or along
    the parabola through the last three, as that of a beam falls that turns as it leaves its
    plane, whose load enters squared (Timoshenko & Gere 1961, Theory of Elastic Stability, 2nd ed.,
    sec. 6.3); whichever comes first.
    """
    unstable = np.flatnonzero(unstable_shapes)
    if len(unstable):
        return _between(pressure_mpa, stability, int(unstable[0]))
    ends = [
        float(root.real)
        for count in (2, 3)
        if len(stability) >= count
        for root in np.roots(np.polyfit(pressure_mpa[-count:], stability[-count:], count - 1))
        if abs(root.imag) < 1e-9 and root.real > pressure_mpa[-1]
    ]
    first = min(ends, default=None)
    return None if first is None or first > FAR * pressure_mpa[-1] else first


def _between(
    pressure_mpa: Float[np.ndarray, " step"], stability: Float[np.ndarray, " step"], first: int
) -> float:
    """Zero between the last stable step and the ``first`` unstable one."""
    if first == 0:
        return 0.0
    (p0, p1), (s0, s1) = pressure_mpa[first - 1 : first + 1], stability[first - 1 : first + 1]
    if s1 > 0.0:
        # the shape that went unstable is not among those followed: the last stable step
        return float(p0)
    return float(p0 + s0 * (p1 - p0) / (s0 - s1))


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
            "Lateral buckling is near: carried on from the last pressures, it comes at about "
            f"{1e3 * buckling_mpa:.3g} kPa, less than {MARGIN:g} times the highest pressure "
            f"of {highest:.4g} kPa (margin: {MARGIN_STANDING}). {mend}"
        )
    return ""

"""What a grasp carries by formulas that fit on one line; loads in N, masses in kg."""

from __future__ import annotations

import math

from fiddlehead.errors import ParameterError

GRAVITY_M_PER_S2 = 9.80665
"""Standard acceleration of free fall; 3rd CGPM (1901)."""


def friction_payload_kg(
    fingers: int,
    normal_n: float,
    friction: float,
    *,
    acceleration_m_per_s2: float = 0.0,
    safety_factor: float = 1.0,
    angle_deg: float = 0.0,
) -> float:
    """Mass that fingers around a vertical axis carry: ``n N (μ cos φ + sin φ) / (S (g + a))``.

    Parameters
    ----------
    normal_n : normal force of each finger
    angle_deg : how far the contact's normal points upwards (fingers under the equator); the weight
        is then carried by the normal force too. Common practice, no source.

    Raises
    ------
    ParameterError : a number that makes no sense
    """
    numbers = (normal_n, friction, acceleration_m_per_s2, safety_factor, angle_deg)
    if (
        fingers < 1
        or not all(map(math.isfinite, numbers))
        or min(normal_n, friction) < 0
        or safety_factor <= 0
        or GRAVITY_M_PER_S2 + acceleration_m_per_s2 <= 0
    ):
        raise ParameterError(
            "no such grasp",
            found=f"{fingers} fingers, {normal_n:g} N, friction {friction:g}",
            allowed="one finger or more, forces and friction of 0 or more, a factor above 0",
        )
    phi = math.radians(angle_deg)
    lift = fingers * normal_n * (friction * math.cos(phi) + math.sin(phi))
    return lift / (safety_factor * (GRAVITY_M_PER_S2 + acceleration_m_per_s2))


def capstan_ratio(friction: float, wrap_rad: float) -> float:
    """Largest ratio of pulls at the ends of a band around a bollard, ``exp(μ φ)``.

    Source: Euler & Eytelwein; value from memory, in any textbook of statics.
    """
    return math.exp(friction * wrap_rad)


def spin_lever_mm(contact_radius_mm: float, pressure: str = "even") -> float:
    """Moment about the normal over friction times normal force, for a round patch.

    ``even`` pressure: ``2 a / 3``; ``hertz`` pressure: ``3 π a / 16``. Source: K. L. Johnson,
    Contact Mechanics (1985).
    """
    factors = {"even": 2.0 / 3.0, "hertz": 3.0 * math.pi / 16.0}
    if pressure not in factors:
        raise ParameterError(
            "no such distribution", found=repr(pressure), allowed=", ".join(factors)
        )
    return factors[pressure] * contact_radius_mm

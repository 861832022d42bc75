"""Lifting by friction: the closed forms of the textbooks.

Pinch payload m = n N mu / (S (g + a)); belt friction exp(mu phi) (Euler, Eytelwein); moment about
the normal of a round contact (K. L. Johnson, Contact Mechanics, 1985, ch. 4): 2/3 for even
pressure, 3 pi / 16 for Hertz's. Numbers recomputed for the project's catalogue of checks, exact to
the digits.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fiddlehead.errors import ParameterError
from fiddlehead.grasp.balance import load_range
from fiddlehead.grasp.closed_forms import (
    GRAVITY_M_PER_S2,
    capstan_ratio,
    friction_payload_kg,
    spin_lever_mm,
)
from fiddlehead.grasp.wrench import contacts


@pytest.mark.parametrize(("fingers", "expected"), [(2, 0.244732), (3, 0.367098), (4, 0.489464)])
def test_pinch_payload(fingers: int, expected: float) -> None:
    assert friction_payload_kg(fingers, 2.0, 0.6) == pytest.approx(expected, abs=1e-6)


def test_pinch_payload_with_margins() -> None:
    found = friction_payload_kg(2, 2.0, 0.6, acceleration_m_per_s2=2.0, safety_factor=2.0)
    assert found == pytest.approx(0.101638, abs=1e-6)


def test_capstan() -> None:
    assert capstan_ratio(0.3, math.pi) == pytest.approx(2.566332, abs=1e-6)
    assert capstan_ratio(0.5, 2 * math.pi) == pytest.approx(23.140693, abs=1e-6)


def test_spin_lever_by_integration() -> None:
    """``∫ r p dA / ∫ p dA`` on a fine grid of radii; 1e-3 from the grid's ends."""
    r = np.linspace(0.0, 1.0, 20001)
    for kind, p in (("even", np.ones_like(r)), ("hertz", np.sqrt(1 - r**2))):
        lever = np.trapezoid(r * p * r, r) / np.trapezoid(p * r, r)
        assert spin_lever_mm(1.0, kind) == pytest.approx(lever, rel=1e-3)
    assert spin_lever_mm(1.0, "hertz") == pytest.approx(0.589049, abs=1e-6)


@given(
    fingers=st.integers(2, 6),
    normal=st.floats(0.1, 20.0),
    friction=st.floats(0.05, 1.2),
    radius=st.floats(5.0, 60.0),
)
def test_linear_programme_finds_the_friction_lift(
    fingers: int, normal: float, friction: float, radius: float
) -> None:
    """Fingers around a ball at its equator: the programme knows no formula. Eight edges have one
    straight up, so there is no error from cutting the cone."""
    turn = 2 * np.pi * np.arange(fingers) / fingers
    place = radius * np.column_stack([np.cos(turn), np.sin(turn), 0 * turn])
    found = contacts(place, -place, friction)
    weight = np.array([0.0, 0.0, -GRAVITY_M_PER_S2, 0.0, 0.0, 0.0])
    low, high = load_range(found, np.full(fingers, normal), weight)
    payload = friction_payload_kg(fingers, normal, friction)
    assert high == pytest.approx(payload, rel=1e-6)
    assert low == pytest.approx(-payload, rel=1e-6)


def test_nonsense_is_refused() -> None:
    with pytest.raises(ParameterError, match="no such grasp"):
        friction_payload_kg(0, 1.0, 0.5)
    with pytest.raises(ParameterError, match="no such distribution"):
        spin_lever_mm(1.0, "square")
    with pytest.raises(ParameterError, match="no such contact"):
        contacts(np.zeros((1, 3)), np.zeros((1, 3)), 0.5)

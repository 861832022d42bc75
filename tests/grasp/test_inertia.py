"""Mass properties against the formulas for a ball, a bar and a block (any book of mechanics)."""

from __future__ import annotations

import numpy as np
import pytest

from fiddlehead.errors import ParameterError
from fiddlehead.grasp.inertia import mass_properties
from fiddlehead.objects.library import find_object
from fiddlehead.objects.making import make_shape, shape_of


def test_ball_bar_and_block() -> None:
    """A grid of 64 steps: a few tenths of a percent."""
    ball = mass_properties(make_shape("sphere", {"diameter_mm": 50.0}), 100.0)
    assert ball.volume_mm3 == pytest.approx(np.pi / 6 * 50**3, rel=2e-3)
    np.testing.assert_allclose(
        ball.inertia_g_mm2, 0.4 * 100 * 25**2 * np.eye(3), rtol=3e-3, atol=1.0
    )
    sizes = {"length_mm": 80.0, "width_mm": 40.0, "height_mm": 20.0, "edge_radius_mm": 0.01}
    block = mass_properties(make_shape("rounded box", sizes), 100.0)
    expected = 100 / 12 * np.diag([40**2 + 20**2, 80**2 + 20**2, 80**2 + 40**2])
    np.testing.assert_allclose(block.inertia_g_mm2, expected, rtol=5e-3, atol=1.0)
    np.testing.assert_allclose(block.centre_mm, 0.0, atol=1e-9)


def test_a_pot_is_heavier_above() -> None:
    bowl = mass_properties(shape_of(find_object("bowl")), 310.0, steps=32)
    assert 25.0 < bowl.centre_mm[2] < 35.0
    np.testing.assert_allclose(bowl.centre_mm[:2], 0.0, atol=1e-9)


def test_a_table_cannot_be_lifted() -> None:
    with pytest.raises(ParameterError, match="has no end"):
        mass_properties(make_shape("plane", {}), 1.0)

"""Walls that face each other across a valley."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from fiddlehead.mesh.build import build_mesh
from fiddlehead.mesh.facing import facing_walls
from tests.trials.made import COARSE, SMALL


@pytest.mark.parametrize("flank", [70.0, 80.0, 90.0])
@pytest.mark.parametrize("bellows", [2, 4])
def test_every_flank_at_a_valley_has_its_mirror_image(flank: float, bellows: int) -> None:
    finger = dataclasses.replace(SMALL, bellows_count=bellows, flank_angle_deg=flank)
    mesh = build_mesh(finger, COARSE)
    pairs = facing_walls(mesh.points, mesh.faces["outside"])
    near, far = mesh.points[pairs[:, :8]], mesh.points[pairs[:, 8:]]
    assert near[..., 1:] == pytest.approx(far[..., 1:], abs=1e-9)
    gap = far[..., 0] - near[..., 0]
    assert gap.min() == pytest.approx(finger.valley_gap_mm)
    # one gap between each two bellows, none before the first nor behind the last
    middles = np.unique(np.round((near[..., 0] + far[..., 0]).mean(1) / 2, 6))
    assert len(middles) == bellows - 1
    assert np.diff(middles) == pytest.approx(finger.pitch_mm)
    assert len(np.unique(pairs[:, :8])) == len(np.unique(pairs[:, 8:]))


def test_a_single_bellows_faces_nothing() -> None:
    mesh = build_mesh(dataclasses.replace(SMALL, bellows_count=1), COARSE)
    assert facing_walls(mesh.points, mesh.faces["outside"]).shape == (0, 16)

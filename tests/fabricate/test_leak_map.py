"""What the check found on the walls, as values on the whole surface."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from fiddlehead.fabricate.leak_map import LONGEST_EDGE_MM, leak_map
from fiddlehead.fabricate.records import Part
from tests.fabricate.labelled import CASES


@pytest.mark.parametrize(
    ("name", "lacking"),
    [
        ("good chamber", 0.0),
        ("chamber with walls of 2 lines", 1.0 - 2.0 / 3.0),
        ("chamber with a roof of 2 layers", 1.0 - 2.0 / 4.0),
    ],
)
def test_the_surface_stays_and_the_worst_wall_shows(
    tmp_path: Path, name: str, lacking: float
) -> None:
    """By hand: a wall of 2 lines where 3 are asked lacks a third, 2 layers of 4 lack a half.

    The solid keeps its volume (divergence theorem).
    """
    check = CASES[name].check()
    found = leak_map(check)
    cut = Part("cut", found.vertices, found.triangles)
    assert cut.volume_mm3 == pytest.approx(check.layers.part.volume_mm3, rel=1e-9)
    edges = np.linalg.norm(np.roll(cut.corners, -1, axis=1) - cut.corners, axis=2)
    assert edges.max() <= LONGEST_EDGE_MM + 1e-9
    assert found.lacks.max() == pytest.approx(lacking, abs=1e-6)
    assert found.lacks.min() >= 0.0
    with np.load(found.save(tmp_path / "leak_map.npz")) as stored:
        np.testing.assert_array_equal(stored["lacks"], found.lacks)

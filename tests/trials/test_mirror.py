"""A finger and its mirror image bend as mirror images."""

from __future__ import annotations

import numpy as np
import pytest

from fiddlehead.mechanics.body import make_body
from fiddlehead.mechanics.solve import Path, follow, make_loading, make_solid, stack
from fiddlehead.mesh.build import build_mesh
from fiddlehead.trials.rig import clamp
from tests.trials.made import BULK_MPA, COARSE, LAW, SMALL

# reflecting turns a brick inside out: exchange its two ends, and walk its faces the other way
BRICK = [*range(4, 8), *range(4), *range(12, 16), *range(8, 12), *range(16, 20)]
FACE = [0, 3, 2, 1, 7, 6, 5, 4]


@pytest.mark.slow
def test_a_mirrored_finger_bends_to_the_other_side() -> None:
    mesh = build_mesh(SMALL, COARSE)
    fixed = clamp(mesh)

    def inflate(points: np.ndarray, elements: np.ndarray, cavity: np.ndarray) -> Path:
        body = make_body(points, elements, pressure_faces=cavity, fixed=fixed)
        solid = make_solid(body, points, LAW, BULK_MPA)
        return follow(
            body, stack([solid]), stack([make_loading(body, pressure=0.1)]), [0.0, 0.5, 1.0]
        )

    cavity = mesh.faces["cavity"]
    one = inflate(mesh.points, mesh.elements, cavity)
    flip = np.array([1.0, -1.0, 1.0])
    other = inflate(mesh.points * flip, mesh.elements[:, BRICK], cavity[:, FACE])
    assert one.outcome == other.outcome
    assert np.abs(one.displacement[0, -1, :, 1]).max() > 1.0
    assert other.displacement == pytest.approx(one.displacement * flip, abs=1e-6)

"""Walls of the pad's openings that may close: who faces whom."""

from __future__ import annotations

import dataclasses

import jax.numpy as jnp
import numpy as np
import pytest

from fiddlehead.finger.pad.parameters import PadParameters
from fiddlehead.mechanics.walls import gaps
from fiddlehead.mesh.build import build_mesh
from fiddlehead.mesh.closing import closing_walls
from fiddlehead.mesh.settings import PRESETS
from tests.finger.cases import THREE_CHAMBERS

PADS = {
    "ribs": PadParameters(rib_count=4),
    "re-entrant": PadParameters(
        cells="re-entrant", cell_count=3, cell_depth_mm=6.0, strut_thickness_mm=0.6
    ),
}


@pytest.mark.parametrize("kind", PADS)
def test_every_opening_has_walls_that_face_each_other_and_are_apart(kind: str) -> None:
    finger = dataclasses.replace(THREE_CHAMBERS, pad=PADS[kind])
    mesh = build_mesh(finger, PRESETS["preview"])
    pairs = closing_walls(mesh.points, mesh.void_loops)
    assert pairs.shape[1] == 16
    for loop in mesh.void_loops:
        inside = set(loop.ravel().tolist())
        assert any(set(pair.tolist()) <= inside for pair in pairs)
    apart = np.asarray(gaps(jnp.asarray(mesh.points[pairs])))
    assert apart.min() > 0
    # opposite nodes lie in one layer across the width
    assert mesh.points[pairs[:, :8], 2] == pytest.approx(mesh.points[pairs[:, 8:], 2])


def test_a_mesh_without_openings_has_none() -> None:
    mesh = build_mesh(THREE_CHAMBERS, PRESETS["preview"])
    assert closing_walls(mesh.points, mesh.void_loops).shape == (0, 16)

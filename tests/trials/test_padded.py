"""A finger with a pad in the rigs: it runs, and the pad stiffens it by a share, not by a wall."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from fiddlehead.finger.pad.parameters import PadParameters
from fiddlehead.material.laws.neo_hookean import NeoHookean
from fiddlehead.mesh.settings import PRESETS
from fiddlehead.trials.bend import bend
from fiddlehead.trials.block import block
from tests.finger.cases import THREE_CHAMBERS

LAW, BULK_MPA, PRESSURES_MPA = NeoHookean(1.0), 20.0, [0.02]
PADDED = dataclasses.replace(
    THREE_CHAMBERS,
    pad=PadParameters(cells="re-entrant", cell_count=3, cell_depth_mm=6.0, strut_thickness_mm=0.6),
)


@pytest.mark.slow
def test_a_pad_of_cells_stiffens_bending_by_a_fifth_and_blocked_force_hardly() -> None:
    """Shares measured with the standard mesh: 0.80 of the angle, 0.97 of the force. A plain pad of
    two thirds the depth leaves 0.37 of the angle."""
    bare, padded = (
        bend(finger, LAW, BULK_MPA, PRESSURES_MPA, mesh_settings=PRESETS["preview"])
        for finger in (THREE_CHAMBERS, PADDED)
    )
    assert padded.history.complete
    share = padded.tip_angle_deg[-1] / bare.tip_angle_deg[-1]
    assert share == pytest.approx(0.80, abs=0.02)
    assert padded.tip_path_mm[-1, 1] < -1, "towards the gripping side"
    held = block(PADDED, LAW, BULK_MPA, PRESSURES_MPA, mesh_settings=PRESETS["preview"])
    assert held.history.complete
    assert held.force_n[-1] == pytest.approx(0.97 * 0.1275, rel=0.02)
    assert np.ptp(held.mesh.points[held.mesh.faces["underside"], 1]) == pytest.approx(0)

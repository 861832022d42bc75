"""Trial squeeze: ribs and cells that close push and do not pass, and the force shows it."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from fiddlehead.errors import ParameterError
from fiddlehead.finger.pad.parameters import PadParameters
from fiddlehead.material.laws.neo_hookean import NeoHookean
from fiddlehead.mesh.settings import PRESETS
from fiddlehead.trials.squeeze import squeeze
from tests.finger.cases import THREE_CHAMBERS

PADDED = dataclasses.replace(
    THREE_CHAMBERS,
    pad=PadParameters(cells="re-entrant", cell_count=3, cell_depth_mm=6.0, strut_thickness_mm=0.6),
)


@pytest.mark.slow
def test_cells_that_close_push_and_do_not_pass() -> None:
    """Struts fold at nearly constant force until, at three tenths, they meet: densification."""
    found = squeeze(
        PADDED, NeoHookean(1.0), 20.0, [0.1, 0.2, 0.3], mesh_settings=PRESETS["preview"]
    )
    assert found.history.complete, found.history.reason
    assert found.smallest_void_mm[2] > 0.1, "still apart"
    assert -0.05 < found.smallest_void_mm[3] < 0.0, "they meet, and overlap by micrometres"
    folding, closing = np.diff(found.force_n)[1:]
    assert closing > 5 * abs(folding)


def test_what_cannot_be_squeezed_is_refused() -> None:
    law = NeoHookean(1.0)
    with pytest.raises(ParameterError, match="no pad"):
        squeeze(THREE_CHAMBERS, law, 20.0, [0.1])
    for closures in ([], [0.2, 0.1], [0.0], [1.0]):
        with pytest.raises(ParameterError, match="rise from above zero"):
            squeeze(PADDED, law, 20.0, closures)

"""A run that was cut off goes on from its last finished step, and what it had can be read."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from fiddlehead.mechanics.solve import Progressed
from fiddlehead.trials.angles import tip_angle_deg
from fiddlehead.trials.bend import bend
from fiddlehead.trials.unfinished import Unfinished
from tests.trials.made import BULK_MPA, COARSE, LAW, SMALL

PRESSURES = [0.05, 0.1, 0.15]


def run(unfinished: Unfinished | None, progress: Any = None) -> Any:
    return bend(
        SMALL, LAW, BULK_MPA, PRESSURES, mesh_settings=COARSE, progress=progress,
        unfinished=unfinished,
    )  # fmt: skip


@pytest.mark.slow
def test_a_killed_run_goes_on_and_ends_as_an_undisturbed_one(tmp_path: Path) -> None:
    def power_cut(at: Progressed) -> None:
        if at.stops_done >= 2:
            raise SystemError("power cut")

    place = tmp_path / "bend-unfinished.npz"
    with pytest.raises(SystemError):
        run(Unfinished(place, SMALL, LAW), power_cut)
    with np.load(place, allow_pickle=False) as kept:
        assert kept["pressure_mpa"] == pytest.approx([0.0, 0.05, 0.1])
        shapes = kept["displacement_mm"]
    whole = run(None)
    assert shapes == pytest.approx(whole.displacement_mm[:3], abs=1e-9)
    assert tip_angle_deg(whole.mesh, shapes)[2] == pytest.approx(whole.tip_angle_deg[2])
    told: list[int] = []
    again = Unfinished(place, SMALL, LAW)
    rest = run(again, lambda at: told.append(at.solves))
    assert told[0] > 5  # counted on, not from the start
    assert rest.history.solves == whole.history.solves
    assert rest.tip_angle_deg == pytest.approx(whole.tip_angle_deg, rel=1e-12)
    again.remove()
    assert not place.exists()
    again.remove()


@pytest.mark.slow
def test_a_run_of_other_inputs_or_a_damaged_file_is_not_taken_up(tmp_path: Path) -> None:
    place = tmp_path / "bend-unfinished.npz"
    assert Unfinished(place, SMALL).state() is None
    run(Unfinished(place, SMALL, LAW))
    assert Unfinished(place, SMALL, LAW).state() is not None
    assert Unfinished(place, SMALL, 2.0).state() is None
    place.write_bytes(place.read_bytes()[:1000])
    assert Unfinished(place, SMALL, LAW).state() is None

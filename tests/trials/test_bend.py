"""Trial bend: curves a bench would show, in the house's definitions."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
import pytest

from fiddlehead.errors import ParameterError
from fiddlehead.material.laws import NeoHookean
from fiddlehead.mechanics.solve import Cancelled, Progressed
from fiddlehead.trials.angles import chord_angle_deg, tip_angle_deg, tip_path_mm
from fiddlehead.trials.bend import bend
from fiddlehead.trials.bend_many import bend_batch
from tests.trials.made import BULK_MPA, COARSE, LAW, SMALL

PRESSURES = [0.05, 0.1, 0.15]


@pytest.fixture(scope="module")
def bent() -> Any:
    return bend(SMALL, LAW, BULK_MPA, PRESSURES, mesh_settings=COARSE)


def test_curves_start_at_rest_and_rise(bent: Any) -> None:
    assert bent.history.complete
    assert bent.pressure_mpa == pytest.approx([0.0, *PRESSURES])
    for curve in (
        bent.tip_angle_deg,
        bent.chord_angle_deg,
        bent.strain.peak,
        bent.strain_energy_mj,
    ):
        assert curve[0] == pytest.approx(0.0, abs=1e-9)
        assert np.all(np.diff(curve) > 0)
    assert np.all(np.diff(bent.cavity_volume_mm3) > 0)
    assert np.all(bent.tip_path_mm[1:, 1] < 0)  # towards the gripping side


def test_air_work_is_stored_energy(bent: Any) -> None:
    """``dU = p dV`` for a closed cavity, by Simpson's rule over the reported steps."""
    fine = bend(SMALL, LAW, BULK_MPA, np.linspace(0, 0.1, 11), mesh_settings=COARSE)
    p, v = fine.pressure_mpa, fine.cavity_volume_mm3
    work = np.trapezoid(p, v)
    assert work == pytest.approx(fine.strain_energy_mj[-1], rel=3e-3)


def test_strain_record_is_consistent(bent: Any) -> None:
    s = bent.strain
    assert np.all(s.p95 <= s.peak)
    assert np.all(s.in_plane <= s.peak + 1e-12)
    assert np.all(s.across_layers <= s.peak + 1e-12)
    assert np.all(s.smallest[1:] < 0)
    assert all(name in bent.mesh.region_names for name in s.region)
    assert bent.node_strain.shape == (4, len(bent.mesh.points))


def test_layers_lie_as_the_part_is_built(bent: Any) -> None:
    upright = bend(
        SMALL, LAW, BULK_MPA, PRESSURES, mesh_settings=COARSE, build_orientation="upright"
    )
    assert upright.tip_angle_deg == pytest.approx(bent.tip_angle_deg)
    # bending stretches the finger along x, which is across the layers only when built upright
    assert upright.strain.across_layers[-1] > 1.5 * bent.strain.across_layers[-1]


def test_stiffer_material_under_more_pressure_bends_alike(bent: Any) -> None:
    """Dimensional analysis: (law, bulk, pressure) times c leaves the shape unchanged."""
    law = dataclasses.replace(
        LAW, c10_mpa=3 * LAW.c10_mpa, c20_mpa=3 * LAW.c20_mpa, c30_mpa=3 * LAW.c30_mpa
    )
    scaled = bend(SMALL, law, 3 * BULK_MPA, np.array(PRESSURES) * 3, mesh_settings=COARSE)
    assert scaled.tip_angle_deg == pytest.approx(bent.tip_angle_deg, rel=1e-6, abs=1e-9)


def test_a_batch_is_what_its_members_are_alone(bent: Any) -> None:
    """Three fingers in two lanes: the third boards when a lane is free."""
    fingers = [dataclasses.replace(SMALL, base_thickness_mm=t) for t in (2.0, 2.6, 3.0)]
    batch = bend_batch(fingers, LAW, BULK_MPA, PRESSURES, mesh_settings=COARSE, lanes=2)
    alone = batch[0]
    assert alone.tip_angle_deg == pytest.approx(bent.tip_angle_deg, rel=1e-7, abs=1e-9)
    assert alone.strain.p95 == pytest.approx(bent.strain.p95, rel=1e-6, abs=1e-9)
    assert alone.node_strain == pytest.approx(bent.node_strain, rel=1e-6, abs=1e-9)
    assert alone.cavity_volume_mm3 == pytest.approx(bent.cavity_volume_mm3, rel=1e-7)
    ends = [one.tip_angle_deg[-1] for one in batch]
    assert ends == sorted(ends, reverse=True)
    assert {one.history.batch for one in batch} == {2}
    assert all(one.history.complete for one in batch)


def test_bursting_pressure_keeps_the_part_of_the_curve_that_holds() -> None:
    result = bend(SMALL, NeoHookean(0.5), 250.0, [0.02, 0.04, 5.0], mesh_settings=COARSE)
    assert not result.history.complete
    assert result.history.reason
    assert len(result.pressure_mpa) == 3
    assert result.pressure_mpa[-1] <= result.history.pressure_reached_mpa < 5.0


def test_cancelling_keeps_the_finished_steps() -> None:
    def stop(at: Progressed) -> None:
        if at.stops_done >= 1:
            raise Cancelled

    result = bend(SMALL, LAW, BULK_MPA, PRESSURES, mesh_settings=COARSE, progress=stop)
    assert result.history.outcome == "cancelled"
    assert 2 <= len(result.pressure_mpa) < 4


@pytest.mark.parametrize("wrong", [[], [0.1, 0.05], [-0.1], [0.1, float("nan")], [0.0]])
def test_pressures_that_do_not_rise_are_refused(wrong: list[float]) -> None:
    with pytest.raises(ParameterError, match="pressures must rise"):
        bend(SMALL, LAW, BULK_MPA, wrong, mesh_settings=COARSE)


def test_fingers_of_other_topology_cannot_share_a_batch() -> None:
    other = dataclasses.replace(SMALL, bellows_count=3)
    with pytest.raises(ParameterError, match="different topology"):
        bend_batch([SMALL, other], LAW, BULK_MPA, PRESSURES, mesh_settings=COARSE)


def test_angles_of_a_rigid_turn_are_that_turn(bent: Any) -> None:
    """A finger turned as a whole about its root by any angle, also past 180 degrees."""
    turns = np.radians([0.0, 20.0, 90.0, 170.0, 200.0])
    x = bent.mesh.points
    moved = np.stack(
        [
            np.stack(
                [
                    x[:, 0] * np.cos(a) + x[:, 1] * np.sin(a),
                    -x[:, 0] * np.sin(a) + x[:, 1] * np.cos(a),
                    x[:, 2],
                ],
                axis=1,
            )
            - x
            for a in turns
        ]
    )
    assert tip_angle_deg(bent.mesh, moved) == pytest.approx(np.degrees(turns), abs=1e-9)
    chord = chord_angle_deg(tip_path_mm(bent.mesh, moved))
    assert chord == pytest.approx(np.degrees(turns), abs=1e-9)

"""The [air] and [experiment] sections: from entries to requests and plans, and their mistakes."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from fiddlehead.air.cavity import Cavity
from fiddlehead.air.sizing import size_supply
from fiddlehead.project.air import air_request
from fiddlehead.project.check import examine
from fiddlehead.project.experiment import experiment_plan

BASE = '[material]\nlaw_from = "hardness"\nshore_a_hardness = 85.0\n'
SOFT = Cavity(np.array([0.0, 150.0]), np.array([10.0, 14.0]))


def examined(folder: Path, text: str):  # type: ignore[no-untyped-def]
    (folder / "fiddlehead.toml").write_text(BASE + text, encoding="utf-8")
    return examine(folder)


def test_request_follows_the_entries(tmp_path: Path) -> None:
    text = (
        '[air]\nfingers = 4\nvalves = "one per finger"\nsupply_pressure_kpa = 250.0\n'
        "fill_valve_dm3_per_s_bar = 0.5\ntube_bore_mm = 4.0\ntube_length_m = 1.0\n"
        "room_temperature_deg_c = 25.0\n"
    )
    found = examined(tmp_path, text)
    assert found.of_kind("mistake") == found.of_kind("question") == ()
    request = air_request(found.require().air, 150.0, SOFT, wall_energy_mj=7.0)
    assert not request.shared_valve
    assert [part.name for part in request.fill_chain.parts] == ["fill valve", "tube"]
    assert [part.name for part in request.vent_chain.parts] == ["tube", "vent valve"]
    assert request.vent_chain.parts[1].conductance_dm3_per_s_bar == 0.5
    assert request.temperature_k == pytest.approx(298.15)
    result = size_supply(request)
    assert result.dead_volume_cm3 == pytest.approx(4 * np.pi / 4 * 16.0)
    assert result.wall_energy_mj == 28.0


def test_without_a_supply_the_working_pressure_feeds(tmp_path: Path) -> None:
    request = air_request(examined(tmp_path, "").require().air, 150.0, SOFT)
    assert request.supply_pressure_kpa == 150.0
    assert size_supply(request).fill.pressure_kpa[-1] == pytest.approx(142.5)


def test_a_pump_feeds_instead(tmp_path: Path) -> None:
    text = "[air]\npump_free_flow_l_per_min = 6.0\npump_highest_pressure_kpa = 200.0\n"
    request = air_request(examined(tmp_path, text).require().air, 150.0, SOFT)
    assert request.pump is not None
    assert request.pump.highest_pressure_kpa == 200.0


def test_a_supply_above_the_proof_pressure_is_advised_against(tmp_path: Path) -> None:
    found = examined(tmp_path, "[air]\nsupply_pressure_kpa = 250.0\n")
    assert any(advice.field == "air.supply_pressure_kpa" for advice in found.of_kind("advice"))
    lower = examined(tmp_path, "[air]\nsupply_pressure_kpa = 220.0\n")
    assert not any(f.field == "air.supply_pressure_kpa" for f in lower.findings)


@pytest.mark.parametrize(
    ("text", "field"),
    [
        ("[air]\nsupply_pressure_kpa = 100.0\n", "air.supply_pressure_kpa"),
        ("[air]\npump_free_flow_l_per_min = 6.0\n", "air.pump_highest_pressure_kpa"),
        ("[air]\npump_highest_pressure_kpa = 200.0\n", "air.pump_free_flow_l_per_min"),
        (
            "[air]\npump_free_flow_l_per_min = 6.0\npump_highest_pressure_kpa = 150.0\n",
            "air.pump_highest_pressure_kpa",
        ),
        ("[air]\ncritical_ratio = 1.0\n", "air.critical_ratio"),
        ('[experiment]\nfactors = ["colour"]\n', "experiment.factors"),
        ('[experiment]\ndesign = "Box-Behnken"\n', "experiment.factors"),
        ("[experiment]\nblocks = 3\n", "experiment.blocks"),
        ("[experiment]\nresolution = 8\n", "experiment.resolution"),
        ("[experiment.ranges]\ncooling_percent = [0.0, 20.0]\n", "experiment.ranges"),
        ("[experiment.ranges]\nflow_percent = [110.0, 100.0]\n", "experiment.ranges"),
    ],
)
def test_mistakes_are_told_where_they_are(tmp_path: Path, text: str, field: str) -> None:
    found = examined(tmp_path, text)
    assert not found.usable
    (mistake,) = found.of_kind("mistake")
    assert mistake.field == field
    assert mistake.remedy or mistake.allowed


def test_plan_follows_the_entries(tmp_path: Path) -> None:
    text = (
        '[experiment]\ndesign = "Box-Behnken"\n'
        'factors = ["flow_percent", "layer_height_mm", "cooling_percent"]\n'
        "centre_points = 3\nreplicates = 1\nblocks = 1\nseed = 7\n"
        "[experiment.ranges]\ncooling_percent = [0.0, 20.0]\n"
    )
    plan = experiment_plan(examined(tmp_path, text).require().experiment)
    assert len(plan.coded) == 15
    assert plan.factors[2].high == 20.0
    assert plan.seed == 7

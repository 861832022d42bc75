"""The slicing sheet: complete, sourced, filled in from the project, and readable by machines."""

from __future__ import annotations

import dataclasses
import tomllib
from pathlib import Path

from fiddlehead.fabricate.process import process
from fiddlehead.fabricate.slicing_sheet import (
    flat_layers,
    slicing_settings,
    usual_settings,
    wall_loops,
)
from fiddlehead.finger.print_settings import PrintSettings
from fiddlehead.project.load import load_project
from fiddlehead.report.document import html
from fiddlehead.report.slicing import neutral_toml, sheet, write_sheet
from tests.finger.cases import ZIG_ZAG

DEMO = Path(__file__).resolve().parents[2] / "examples/greenware"
MUST = {
    "line_width_mm", "flow_percent", "layer_height_mm", "nozzle_temperature_deg_c",
    "bed_temperature_deg_c", "wall_speed_mm_per_s", "volumetric_limit_mm3_per_s", "retraction_mm",
    "wall_loops", "infill_percent", "infill_pattern", "overlap_percent", "seam", "cooling_percent",
    "bridge_flow_percent", "bridge_speed_mm_per_s", "top_bottom_layers", "ironing", "drying",
    "pressure_advance", "restart_extra_mm",
}  # fmt: skip


def test_every_setting_has_reason_standing_and_a_start_within_its_range() -> None:
    settings = usual_settings()
    keys = [s.key for s in settings]
    assert set(keys) >= MUST
    assert len(set(keys)) == len(keys)
    for setting in settings:
        assert setting.reason.endswith(".")
        assert setting.standing
        if setting.searchable:
            assert setting.low <= setting.start <= setting.high  # type: ignore[operator]


def test_the_project_fills_in_what_it_decides() -> None:
    printing = PrintSettings(line_width_mm=0.6, layer_height_mm=0.3, nozzle_diameter_mm=0.6)
    settings = {s.key: s for s in slicing_settings(ZIG_ZAG, printing, process(printing))}
    assert settings["line_width_mm"].start == 0.6
    assert settings["line_width_mm"].from_project
    assert settings["layer_height_mm"].outside  # 0.3 mm is above the usual range
    assert not settings["seam"].from_project
    assert "3.6 mm³/s" in settings["wall_speed_mm_per_s"].reason


def test_loops_and_flat_layers_follow_the_walls() -> None:
    side = PrintSettings()
    # base: six lines, three loops from either side; side walls of 1.2 mm lie flat
    assert wall_loops(ZIG_ZAG, side) == 3
    assert flat_layers(ZIG_ZAG, side, process(side)) == 6
    thick = dataclasses.replace(ZIG_ZAG, base_thickness_mm=3.2)
    assert wall_loops(thick, side) == 4
    down = dataclasses.replace(side, build_orientation="base_down")
    assert flat_layers(ZIG_ZAG, down, process(down)) == 12  # the base lies flat


def test_toml_and_page_hold_every_setting(tmp_path: Path) -> None:
    project = load_project(DEMO)
    settings = slicing_settings(project.finger, project.printing, project.process)
    data = tomllib.loads(neutral_toml(project, settings))
    page = html(sheet(project, settings, None))
    for setting in settings:
        assert data[setting.key]["start"] == setting.start
        assert data[setting.key]["standing"] == setting.standing
        assert setting.name in page
    assert "hotter than 200" in page
    assert "serial number" in page
    written = write_sheet(tmp_path, project)
    assert {f.name for f in written.files} >= {"slicing.html", "slicing.toml", "slicing.png"}

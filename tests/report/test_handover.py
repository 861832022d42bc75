"""The handover sheet: parts, label, ratings, nothing claimed that was not done."""

from __future__ import annotations

import csv
import dataclasses
import json
from pathlib import Path

import numpy as np
import pytest

from fiddlehead.air.cavity import Cavity
from fiddlehead.air.sizing import size_supply
from fiddlehead.project.air import air_request
from fiddlehead.project.load import Project, load_project
from fiddlehead.report.document import Steps, Table
from fiddlehead.report.export.store import save_result
from fiddlehead.report.figures.label import UNTESTED, PressureLabel, draw_label
from fiddlehead.report.handover import Handover, handover_sheet, predicted_values, write_handover
from fiddlehead.report.parts_list import parts_list
from tests.cli.command import SMALL
from tests.report.made_up import made_up_bend, made_up_block

SOFT = Cavity(np.array([0.0, 100.0]), np.array([3.0, 4.0]))
MASS = 12.5
PROJECT = SMALL + '\n[mount]\nmount = "plain"\nserial = "G7"\n'


def project_of(folder: Path, text: str = PROJECT) -> Project:
    (folder / "fiddlehead.toml").write_text(text, encoding="utf-8")
    return load_project(folder)


def handed(project: Project, tested: str = "") -> Handover:
    air = size_supply(air_request(project.sections.air, 100.0, SOFT))
    predicted = (("bending angle, tip tangent", "90°"),)
    return Handover(project, air, MASS, "measured", "2026-11-25", tested, predicted)


def test_label_claims_no_test_that_was_not_done(tmp_path: Path) -> None:
    label = handed(project_of(tmp_path)).label
    assert label.lines[0] == "small   G7"
    assert label.lines[1] == "MAX. WORKING  100 kPa (1 bar)"
    assert label.lines[2] == "PROOF  150 kPa (1.5 bar), 60 s"
    assert label.lines[3] == UNTESTED
    tested = handed(project_of(tmp_path), "2026-12-01").label
    assert tested.lines[3] == "proof tested 2026-12-01"


def test_a_long_name_stays_inside_the_frame() -> None:
    label = PressureLabel("n" * 60, "S", 100.0, 150.0, "2026-11-25", "")
    figure = draw_label(label)
    figure.draw_without_rendering()
    text = next(t for t in figure.axes[0].texts if t.get_text().startswith("nnn"))
    assert text.get_window_extent().x1 < figure.bbox.x1
    short = PressureLabel("bowls", "S", 100.0, 150.0, "2026-11-25", "")
    assert draw_label(short).axes[0].texts[0].get_fontsize() == 10.0


def test_everything_is_written(tmp_path: Path) -> None:
    project = project_of(tmp_path)
    written = write_handover(tmp_path / "results", handed(project))
    record = json.loads((written.folder / "handover.json").read_text())
    assert record["proof_pressure_kpa"] == pytest.approx(150.0)
    assert record["proof_tested"] == ""
    assert record["serial"] == "G7"
    page = (written.folder / "handover.html").read_text(encoding="utf-8")
    assert project.input_hash in page
    assert "ISO 4414" in page
    with (written.folder / "parts.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert "12.5 g each" in rows[0]["size"]
    assert record["finger_mass_g"] == MASS
    price = project.sections.printer.price_per_kg
    assert float(rows[0]["printed_cost"]) == pytest.approx(4 * MASS * price / 1e3, abs=0.01)


@pytest.mark.parametrize(
    ("mount", "part"),
    [
        ('port = "bore"', "O-ring"),
        ('port = "barb"\nhose_bore_mm = 4.0', "hose clip"),
        ('port = "thread"\nthread = "M5"', "screwed fitting M5"),
        ('port = "thread"\nthread_form = "self-forming"', "screwed fitting M5"),
    ],
)
def test_parts_follow_port_and_valves(tmp_path: Path, mount: str, part: str) -> None:
    text = SMALL + f'\n[mount]\nmount = "plain"\n{mount}\n[air]\nvalves = "one per finger"\n'
    project = project_of(tmp_path, text)
    items = {item.what: item for item in parts_list(project, handed(project).air, MASS)}
    assert items[part].quantity == "3"
    tapped = "thread" in mount and "self-forming" not in mount
    assert ("tap M5 (ISO 261)" in items) == tapped
    assert items["valve 3/2, normally closed"].quantity == "3"
    assert items["tube, polyurethane"].quantity == "1.5 m"
    assert "110 kPa" in items["relief valve"].size
    assert "0 to 200 kPa" in items["pressure sensor at the manifold"].size


def test_parts_of_the_base_follow_its_flange_and_slots() -> None:
    project = load_project(Path(__file__).resolve().parents[2] / "examples" / "greenware")
    items = {item.what: item for item in parts_list(project, handed(project).air, MASS)}
    assert items["cap screw M6"].quantity == "4"
    assert items["base with 6 slots, printed"].quantity == "1"
    assert items["blanking plug, printed"].quantity == "3"
    assert items["locking pin"].quantity == "3"


def test_plain_roots_are_clamped(tmp_path: Path) -> None:
    project = project_of(tmp_path)
    items = {item.what for item in parts_list(project, handed(project).air, MASS)}
    assert "plate with 3 clamps" in items
    assert not any(what.startswith("base with") for what in items)


def test_sheet_tells_what_is_predicted_and_what_to_do(tmp_path: Path) -> None:
    handover = handed(project_of(tmp_path))
    sheet = handover_sheet(handover, parts_list(handover.project, handover.air, MASS))
    blocks = [block for part in sheet.sections for block in part.blocks]
    tables = [block for block in blocks if isinstance(block, Table)]
    assert all(len(row) == len(t.header) for t in tables for row in t.rows)
    ratings = {row[0]: row for row in tables[0].rows}
    assert ratings["bending angle, tip tangent"][2].startswith("predicted")
    assert "not yet" in ratings["proof pressure, gauge, 60 s"][2]
    steps = next(block for block in blocks if isinstance(block, Steps)).lines
    proof = next(n for n, line in enumerate(steps) if "raise slowly to 150 kPa" in line)
    assert "behind the screen" in steps[proof]
    near = next(n for n, line in enumerate(steps) if "Only now work near the fingers" in line)
    assert near > proof  # nobody brushes soap on a finger under pressure that has not been proven
    assert "110 kPa" in steps[near]
    assert steps[-1].startswith("Only then")


def test_predictions_come_from_results_at_the_working_pressure(tmp_path: Path) -> None:
    assert predicted_values(tmp_path, 100.0) == ()
    save_result(tmp_path / "bend", "bend", made_up_bend(), {})
    save_result(tmp_path / "block" / "preset_0_deg", "block", made_up_block(), {})
    found = dict(predicted_values(tmp_path, 100.0))
    assert found["bending angle, tip tangent"] == "90°"
    assert found["blocked force of one finger, plate met at 0°"] == "2 N"
    assert predicted_values(tmp_path, 80.0) == ()


def test_a_serial_is_optional(tmp_path: Path) -> None:
    handover = handed(project_of(tmp_path, SMALL))
    assert "no serial number" in handover_sheet(handover, ()).subtitle
    assert dataclasses.replace(handover.label, serial="").lines[0] == "small"

"""Grasps from the command line: a small finger on the coarsest mesh and a ball of its own."""

from __future__ import annotations

import csv

import pytest

from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.report.export.grasps import load_grasp
from tests.cli.command import SMALL, Shell

FINGER = """\
[finger]
bellows_count = 2
flank_angle_deg = 70.0
pitch_mm = 11.0
valley_gap_mm = 1.6
height_mm = 18.0
valley_height_mm = 8.0
wall_thickness_mm = 1.2
roof_thickness_mm = 1.2
base_thickness_mm = 2.0
side_wall_thickness_mm = 1.2
width_mm = 20.0
channel_width_mm = 8.0
root_length_mm = 6.0
tip_length_mm = 5.0
"""
LIBRARY = """\
[[object]]
name = "ball"
shape = "sphere"
sizes = { diameter_mm = 30.0 }
mass_g = 8.0
friction_coefficient = 0.5
contact_pressure_limit_kpa = 5000.0
"""
GRASP = """
[grasp]
library = "objects.toml"
finger_counts = [2, 3]
tips_below_middle_mm = 6.0
position_error_mm = 0.5
shake_m_per_s2 = 1.0
trials = 10
"""


def project(shell: Shell, more: str = GRASP) -> None:
    start, rest = SMALL.split("[finger]")
    _, rest = rest.split("[loads]")
    text = f"{start}{FINGER}\n[loads]{rest}{more}"
    shell.write(text.replace("working_pressure_kpa = 100.0", "working_pressure_kpa = 200.0"))
    (shell.folder / "objects.toml").write_text(LIBRARY, encoding="utf-8")


@pytest.mark.slow
def test_grasp_from_project_to_files(shell: Shell) -> None:
    project(shell)
    said = shell("grasp", "--json")
    assert said.code == 0, said.err
    document = said.document
    run, guess = document["full_run"], document["estimate"]
    assert run["verdict"]["outcome"] == guess["verdict"]["outcome"] == "held"
    assert run["payload_kg"] > 0.008
    assert document["estimate_over_full_run"]["normal_force"] > 0
    assert document["probability"]["trials"] == 10
    folder = shell.folder / "results/grasp/ball"
    assert {f.name for f in folder.iterdir()} >= {"grasp.png", "grasp.gif", "grasp.csv"}
    saved = load_grasp(folder)
    assert saved.payload_kg == pytest.approx(run["payload_kg"])
    with (folder / "grasp.csv").open(encoding="utf-8") as stream:
        assert len(list(csv.DictReader(stream))) == len(saved.phase)
    assert "pull-off" in said.err
    assert "ISO 4414" in said.err


@pytest.mark.slow
def test_grasp_table_of_estimates(shell: Shell, monkeypatch: pytest.MonkeyPatch) -> None:
    def bare(finger: FingerParameters) -> dict[str, FingerParameters]:
        return {"without pad": finger}

    monkeypatch.setattr("fiddlehead.project.grasp.bare_and_padded", bare)
    project(shell)
    said = shell("grasp-table", "--json")
    assert said.code == 0, said.err
    table = said.document["table"]
    assert table["object"] == ["ball", "ball"]
    assert table["fingers"] == [2, 3]
    assert table["method"] == ["estimate", "estimate"]
    assert (shell.folder / "results/grasp-table/grasp_table.png").is_file()


def test_an_unknown_object_is_told_by_the_check(shell: Shell) -> None:
    project(shell, GRASP + 'objects = ["bal"]\n')
    said = shell("check")
    assert said.code == 2
    assert "bal" in said.out
    assert "grasp.objects" in said.out


def test_a_missing_library_is_told_by_the_check(shell: Shell) -> None:
    project(shell, GRASP.replace("objects.toml", "gone.toml"))
    said = shell("check")
    assert said.code == 2
    assert "no such object library" in said.out

"""Verbs that go to the printer: solid and printcheck."""

from __future__ import annotations

import json

import pytest

from fiddlehead.fabricate.exporters.stl import write_stl
from tests.cli.command import SMALL, Shell
from tests.fabricate.labelled import CASES
from tests.fabricate.made import box, part_of


def test_solid_from_project_to_files(shell: Shell) -> None:
    longer = SMALL.replace("root_length_mm = 5.0", "root_length_mm = 7.0")
    shell.write(longer + '[mount]\nserial = "A1"\n')
    said = shell("solid", "--json")
    assert said.code == 0
    finger = said.document["finger"]
    assert finger["volume_mm3"] == pytest.approx(finger["expected_volume_mm3"], rel=1e-4)
    assert finger["surface_volume_mm3"] == pytest.approx(finger["volume_mm3"], rel=1e-3)
    folder = shell.folder / "results/solid"
    names = {path.name for path in folder.iterdir()}
    assert {"finger.stl", "finger.3mf", "finger.step", "solid.png", "drawing.pdf"} <= names
    record = json.loads((folder / "solid.json").read_text(encoding="utf-8"))
    assert "engraving" in record["finger"]["volume_by_feature_mm3"]
    assert "Design" in shell.reported()


def test_a_mount_that_does_not_suit_is_told_before_anything_is_computed(shell: Shell) -> None:
    shell.write(
        SMALL + '[mount]\nport = "barb"\nbarb_on = "root face"\ndovetail_neck_width_mm = 50.0\n'
    )
    said = shell("solid")
    assert said.code == 2
    assert "mount.barb_on" in said.out
    assert "barb" in said.out
    assert not (shell.folder / "results").exists()


def test_printcheck_compares_three_orientations(shell: Shell) -> None:
    shell.write(SMALL)
    said = shell("printcheck", "--json")
    assert said.code == 0
    document = said.document
    assert set(document["orientations"]) == {"side", "upright", "base_down"}
    assert document["check"] == document["orientations"]["side"]
    assert document["check"]["estimate"]["time_s"] > 60
    folder = shell.folder / "results/printcheck"
    names = {path.name for path in folder.iterdir()}
    assert {"tightness.png", "layers.png", "orientations.png", "spans.csv"} <= names
    rows = (folder / "findings.csv").read_text(encoding="utf-8").splitlines()
    assert len(rows) == 1 + len(document["findings"])
    assert "Layer check" in shell.reported()


def test_strict_printcheck_tells_faults_by_its_code(shell: Shell) -> None:
    shell.write(SMALL)
    write_stl(part_of(CASES["ledge of 3 mm"].make()), shell.folder / "ledge.stl")
    said = shell("printcheck", "--strict", "--part", "ledge.stl")
    assert said.code == 1
    assert "overhang" in said.out


def test_printcheck_of_another_part(shell: Shell) -> None:
    shell.write(SMALL)
    write_stl(box((10, 8, 6)), shell.folder / "block.stl")
    said = shell("printcheck", "--json", "--part", "block.stl")
    assert said.code == 0
    assert said.document["check"]["verdict"].startswith("printable")
    assert (shell.folder / "results/printcheck-block/layers.png").is_file()
    shell.write(b"nonsense", "broken.stl")
    for name in ("broken.stl", "nowhere.stl"):
        said = shell("printcheck", "--part", name)
        assert said.code == 2
        assert name in said.err
        assert said.err.count("\n") == 1


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ("[print]\nlayer_height_mm = 0.0\n", "layer_height_mm"),
        ("[print]\nline_width_mm = 2.5\n", "wider than the thinnest wall"),
        ("[printer]\nplate_width_mm = 10.0\nplate_depth_mm = 10.0\n", "larger than the printer"),
    ],
)
def test_prints_that_cannot_be_are_told(shell: Shell, wrong: str, told: str) -> None:
    shell.write(SMALL + wrong)
    said = shell("printcheck")
    assert said.code == 2
    assert told in said.out + said.err


def test_sheet_from_project_to_files(shell: Shell) -> None:
    shell.write(SMALL)
    said = shell("sheet", "--json", "--quick")
    assert said.code == 0
    assert said.document["settings"]["line_width_mm"] == 0.4
    folder = shell.folder / "results/sheet"
    assert {"slicing.html", "slicing.toml", "slicing.png"} <= {p.name for p in folder.iterdir()}
    assert (
        "layer check" not in (folder / "slicing.html").read_text(encoding="utf-8").split("<h2")[0]
    )


def test_base_from_project_to_files(shell: Shell) -> None:
    fitting = SMALL.replace("root_length_mm = 5.0", "root_length_mm = 8.0")
    shell.write(
        fitting + '[base]\nflange = "31.5-4-M5"\npitch_radius_mm = 25.0\nair = "separate"\n'
    )
    said = shell("base", "--json", "--quick")
    assert said.code == 0, said.err
    document = said.document["base"]
    assert document["blanking_plugs"] == 3
    folder = shell.folder / "results/base"
    names = {path.name for path in folder.iterdir()}
    assert {"base.stl", "plug.stl", "base.3mf", "assembly.step", "drawing.pdf"} <= names
    assert "Base" in shell.reported()
    shell.write(fitting + "[base]\npitch_radius_mm = 20.0\n")
    said = shell("base")
    assert said.code == 2
    assert "base.flange" in said.err

"""Verbs that go to the printer: solid."""

from __future__ import annotations

import json

import pytest

from tests.cli.command import SMALL, Shell


def test_solid_from_project_to_files(shell: Shell) -> None:
    shell.write(SMALL + '[mount]\nserial = "A1"\n')
    said = shell("solid", "--json")
    assert said.code == 0
    finger = said.document["finger"]
    assert finger["volume_mm3"] == pytest.approx(finger["expected_volume_mm3"], rel=1e-4)
    assert finger["surface_volume_mm3"] == pytest.approx(finger["volume_mm3"], rel=1e-3)
    folder = shell.folder / "results/solid"
    names = {path.name for path in folder.iterdir()}
    assert {"finger.stl", "finger.3mf", "finger.step", "solid.png", "solid.json"} <= names
    record = json.loads((folder / "solid.json").read_text(encoding="utf-8"))
    assert "engraving" in record["finger"]["volume_by_feature_mm3"]


def test_a_mount_that_does_not_suit_is_told_before_anything_is_computed(shell: Shell) -> None:
    shell.write(SMALL + '[mount]\nport = "barb"\ndovetail_neck_width_mm = 50.0\n')
    said = shell("solid")
    assert said.code == 2
    assert "mount.port" in said.out
    assert "barb" in said.out
    assert not (shell.folder / "results").exists()

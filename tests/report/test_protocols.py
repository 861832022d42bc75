"""Test sheets and limits take the proof pressure from the one place that states its factor."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from fiddlehead.bench.protocols import PROTOCOLS
from fiddlehead.project.bench import limits_of
from fiddlehead.project.load import load_project
from fiddlehead.report import protocols

PROJECT = (
    '[material]\nlaw_from = "hardness"\nshore_a_hardness = 85.0\n'
    "[loads]\nworking_pressure_kpa = 100.0\n[air]\nproof_factor = 2.0\n"
)


def test_proof_pressure_follows_the_project(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "fiddlehead.toml").write_text(PROJECT, encoding="utf-8")
    project = load_project(tmp_path)
    sections = project.sections
    assert limits_of(sections.bench, sections.air).proof_factor == 2.0
    told: list[str] = []
    draw = protocols.draw_test_sheet

    def noted(protocol: Any, name: str, notes: Any) -> Any:
        told.extend(notes)
        return draw(protocol, name, notes)

    monkeypatch.setattr(protocols, "draw_test_sheet", noted)
    written = protocols.write_protocols(tmp_path / "results", project, [PROTOCOLS["leak"]])
    assert told[0] == "working pressure 100 kPa gauge; proof 200 kPa"
    assert {file.name for file in written.files} >= {"contents.json", "leak.pdf"}

"""``fiddlehead report``."""

from __future__ import annotations

import shutil
from pathlib import Path

from tests.cli.command import SMALL, Shell


def test_report_of_one_part(shell: Shell) -> None:
    shell.write(SMALL)
    shell("handover", "--date", "2026-11-25")
    said = shell("report", "--date", "2026-11-25", "--json")
    assert said.code == 0, said.err
    assert said.document["parts"] == {"handover": "current"}
    assert "Pressure label" in said.document["sections"]
    assert {Path(f).name for f in said.document["files"]} >= {"report.html", "report.pdf"}
    assert "Compressed air" in said.err


def test_report_without_results(shell: Shell) -> None:
    shell.write(SMALL)
    said = shell("report")
    assert said.code == 4
    assert "no results to report yet" in said.err


def test_a_stale_part_is_told_and_counts_when_strict(shell: Shell) -> None:
    shell.write(SMALL)
    shell("handover", "--date", "2026-11-25")
    shell.write(SMALL.replace("working_pressure_kpa = 100.0", "working_pressure_kpa = 90.0"))
    said = shell("report", "--no-package", "--strict")
    assert said.code == 1
    assert "older project file" in said.out
    assert not (shell.folder / "results/report/data.zip").exists()


def test_a_broken_folder_is_told(shell: Shell) -> None:
    shell.write(SMALL)
    shell("handover", "--date", "2026-11-25")
    shutil.copytree(shell.folder / "results/handover", shell.folder / "results/air")
    (shell.folder / "results/air/contents.json").write_text("[]")
    said = shell("report", "--no-package")
    assert said.code == 0
    assert "cannot be read" in said.out

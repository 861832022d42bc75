"""One results folder of a small project, with a part from every room that is quick to make."""

from __future__ import annotations

from pathlib import Path

import pytest

from fiddlehead.cli.main import main
from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.project.load import load_project
from fiddlehead.project.material import make_material
from fiddlehead.report.results import Run, write_bend, write_block, write_lateral, write_material
from tests.bench.made import bending
from tests.cli.command import SMALL
from tests.report.made_up import made_up_bend, made_up_block, made_up_lateral

BENCH = """
[report]
author = "A. Potter"
data_licence = "cc-by-4.0"

[[bench.records]]
files = ["bench/log.csv"]
test = "bend"
finger_column = "who"
pressure_column = "P"
pressure_unit = "bar"
angle_column = "a"
angle_definition = "tip tangent"

[[bench.records]]
files = ["bench/leak.csv"]
test = "leak"

[[bench.records]]
files = ["bench/picks.csv"]
test = "picks"
"""
QUICK_VERBS = (
    ("air",),
    ("sheet", "--quick"),
    ("handover", "--date", "2026-11-25"),
    ("measure",),
    ("compare", "--quick"),
)


@pytest.fixture(scope="session")
def finished_job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A project folder with results; copy it before you change it."""
    folder = tmp_path_factory.mktemp("job")
    (folder / "fiddlehead.toml").write_text(SMALL + BENCH, encoding="utf-8")
    _measurements(folder / "bench")
    project = load_project(folder)
    material = make_material(project, "2026-11-25")
    results = folder / "results"
    write_material(results, project, material)
    run = Run(project, material.card, MeshSettings(), "2026-11-25T10:00:00+00:00")
    write_bend(results, run, made_up_bend())
    write_block(results, run, [made_up_block(), made_up_block(22.5)])
    write_lateral(results, run, made_up_lateral())
    for verb, *options in QUICK_VERBS:
        assert main([verb, str(folder), *options]) == 0
    return folder


def _measurements(folder: Path) -> None:
    """Two fingers bent, one leaking, some picks."""
    folder.mkdir()
    rows = ["who,P,a"]
    for finger, gain in {"A": 0.88, "B": 0.92}.items():
        record = bending(finger, gain=gain, hysteresis_deg=2.0)
        for p, a in zip(record.values["pressure_kpa"], record.values["angle_deg"], strict=True):
            rows.append(f"{finger},{p / 150:.5f},{a / 1.5:.4f}")
    (folder / "log.csv").write_text("\n".join(rows) + "\n")
    decay = [f"A,{t},{100.0 - 0.01 * t:.4f}" for t in range(0, 181, 2)]
    (folder / "leak.csv").write_text("\n".join(["finger,time_s,pressure_kpa", *decay]) + "\n")
    picks = ["finger,object,picked,damaged", *["A,bowl,yes,no"] * 9, "A,bowl,no,no"]
    (folder / "picks.csv").write_text("\n".join(picks) + "\n")

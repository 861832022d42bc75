"""Verbs that solve: a small finger on the coarsest mesh, start to files."""

from __future__ import annotations

import csv
import itertools
import json
import os
import signal
from typing import TYPE_CHECKING

import pytest

from fiddlehead.cli.interrupts import Interrupts
from fiddlehead.cli.output import Voice
from fiddlehead.cli.progress import PressureSteps, duration
from fiddlehead.report.export.store import (
    load_bend_result,
    load_block_result,
    load_lateral_result,
    load_press_result,
)
from tests.cli.command import SMALL, Shell

if TYPE_CHECKING:
    from fiddlehead.mechanics.solve import Progressed


@pytest.mark.slow
def test_bend_from_project_to_files(shell: Shell) -> None:
    shell.write(SMALL)
    said = shell("bend", "--json", "--pressure-kpa", "80")
    assert said.code == 0
    document = said.document
    assert document["outcomes"] == ["complete"]
    assert document["curve"]["pressure_kpa"] == pytest.approx([0, 20, 40, 60, 80])
    angles = document["curve"]["tip_angle_deg"]
    assert angles[0] == 0.0
    assert all(a < b for a, b in itertools.pairwise(angles))
    assert "step 4 of 4" in said.err
    assert "ISO 4414" in said.err
    with (shell.folder / "results/bend/bend.csv").open(encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    assert [float(row["tip_angle_deg"]) for row in rows] == pytest.approx(angles, rel=1e-8)
    saved = load_bend_result(shell.folder / "results/bend")
    assert saved.history.complete
    for name in document["files"]:
        assert (shell.folder / name).is_file()


@pytest.mark.slow
def test_ctrl_c_keeps_the_finished_steps(shell: Shell, monkeypatch: pytest.MonkeyPatch) -> None:
    shell.write(SMALL)
    tell = PressureSteps.__call__

    def press_ctrl_c_after_the_first_step(self: PressureSteps, at: Progressed) -> None:
        if at.stops_done == 1 and not self.interrupts.requested:
            os.kill(os.getpid(), signal.SIGINT)
        tell(self, at)

    monkeypatch.setattr(PressureSteps, "__call__", press_ctrl_c_after_the_first_step)
    before = signal.getsignal(signal.SIGINT)
    said = shell("bend")
    assert said.code == 130
    assert signal.getsignal(signal.SIGINT) is before
    assert "finished steps are kept" in said.out
    saved = load_bend_result(shell.folder / "results/bend-cancelled")
    assert 1 < len(saved.pressure_mpa) < 5
    assert not (shell.folder / "results/bend").exists()


@pytest.mark.slow
def test_a_pressure_that_bursts_the_path_leaves_a_partial_curve_with_its_reason(
    shell: Shell,
) -> None:
    one = SMALL.replace("bellows_count = 2", "bellows_count = 1")
    soft = one.replace("shore_a_hardness = 85.0", "shore_a_hardness = 30.0")
    shell.write(soft.replace("kpa = 100.0", "kpa = 480.0").replace("steps = 4", "steps = 8"))
    said = shell("bend", "--json")
    assert said.code == 3
    assert said.document["outcomes"] != ["complete"]
    assert said.document["reasons"][0]
    saved = load_bend_result(shell.folder / "results/bend")
    assert 1 < len(saved.pressure_mpa) < 9
    assert saved.history.outcome == "limit_point"
    record = json.loads((shell.folder / "results/bend/record.json").read_text(encoding="utf-8"))
    assert record["values"]["history"]["reason"] == saved.history.reason


@pytest.mark.slow
def test_block_from_project_to_files(shell: Shell) -> None:
    shell.write(SMALL + "[tests.block]\npreset_angles_deg = [0.0, 5.0]\n")
    said = shell("block", "--json")
    assert said.code == 0
    straight, bent = said.document["curves"]
    assert straight["force_n"][-1] > bent["force_n"][-1] > 0.0
    assert straight["force_n"][0] == pytest.approx(0.0, abs=1e-9)
    saved = load_block_result(shell.folder / "results/block/preset_5_deg")
    assert saved.touch_angle_deg == pytest.approx(5.0, abs=0.5)
    assert (shell.folder / "results/block/force_pressure.png").is_file()


@pytest.mark.slow
def test_lateral_from_project_to_files(shell: Shell) -> None:
    shell.write(SMALL)
    said = shell("lateral", "--json", "--pressure-kpa", "80")
    assert said.code == 0
    document = said.document
    curve = document["curve"]
    assert curve["pressure_kpa"] == pytest.approx([0, 20, 40, 60, 80])
    assert all(stiffness > 0.0 for stiffness in curve["stiffness_n_per_mm"])
    assert curve["unstable_shapes"] == [0] * 5
    assert "no source" in document["margin_standing"]
    assert "lateral stiffness" in said.err
    assert "ISO 4414" in said.err
    saved = load_lateral_result(shell.folder / "results/lateral")
    assert list(saved.stiffness_n_per_mm) == pytest.approx(curve["stiffness_n_per_mm"])
    assert (shell.folder / "results/lateral/lateral_stiffness.png").is_file()


def test_progress_counts_pressures_from_the_end_of_each_path(shell: Shell) -> None:
    from fiddlehead.mechanics.solve import Cancelled, Progressed

    interrupts = Interrupts(Voice())
    tell = PressureSteps(Voice(), interrupts, (0.05, 0.1, 0.15, 0.2))
    shell.capture.readouterr()
    tell(Progressed(stops_done=0, stops_wanted=4, solves=1, load_factor=0.1, elapsed_s=1.0))
    tell(Progressed(stops_done=1, stops_wanted=4, solves=2, load_factor=0.25, elapsed_s=10.0))
    tell(Progressed(stops_done=2, stops_wanted=4, solves=3, load_factor=0.5, elapsed_s=12.0))
    tell(Progressed(stops_done=4, stops_wanted=4, solves=4, load_factor=1.0, elapsed_s=16.0))
    tell(Progressed(stops_done=1, stops_wanted=2, solves=1, load_factor=0.4, elapsed_s=3.0))
    tell(Progressed(stops_done=1, stops_wanted=1, solves=1, load_factor=1.0, elapsed_s=0.5))
    tell(Progressed(stops_done=2, stops_wanted=2, solves=1, load_factor=1.0, elapsed_s=0.2))
    said = [" ".join(line.split()) for line in shell.capture.readouterr().out.splitlines()]
    assert said == [
        "50 kPa step 1 of 4 10 s",
        "100 kPa step 2 of 4 12 s, about 4 s left",
        "200 kPa step 4 of 4 16 s",
        "150 kPa step 3 of 4 3 s",
        "200 kPa step 4 of 4 0 s",
    ]
    interrupts.requested = True
    with pytest.raises(Cancelled):
        tell(Progressed(stops_done=1, stops_wanted=2, solves=2, load_factor=0.4, elapsed_s=4.0))


@pytest.mark.parametrize(
    ("seconds", "text"), [(0.2, "0 s"), (59.4, "59 s"), (60.0, "1 min 00 s"), (125.0, "2 min 05 s")]
)
def test_durations(seconds: float, text: str) -> None:
    assert duration(seconds) == text


@pytest.mark.slow
def test_press_from_project_to_files(shell: Shell) -> None:
    shell.write(SMALL)
    said = shell("press", "--json", "--object", "bowl", "--smooth")
    assert said.code == 0
    document = said.document
    (curve,) = document["curves"]
    assert curve["object"] == "bowl"
    force = curve["grip_force_n"]
    assert force[0] == 0.0
    assert all(a < b for a, b in itertools.pairwise(force))
    assert "points of the mesh touch" in " ".join(document["warnings"])
    assert "ISO 4414" in said.err
    saved = load_press_result(shell.folder / "results/press/bowl")
    assert saved.grip_force_n == pytest.approx(force, rel=1e-8)


def test_press_tells_what_it_cannot_press_on(shell: Shell) -> None:
    shell.write(SMALL)
    said = shell("press", "--object", "bowel")
    assert said.code == 2
    assert "Did you mean bowl?" in said.err
    shell.write(SMALL + '\n[tests.press]\nobjects = ["vase"]\n')
    said = shell("check")
    assert "no such object in the library" in said.out
    said = shell("pads", "--pad", "bubbles")
    assert said.code == 2

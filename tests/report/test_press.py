"""Pressing and the comparison of pads on paper and on disk, from made-up results."""

from __future__ import annotations

import csv
import dataclasses
from pathlib import Path
from typing import Any

import meshio
import numpy as np
import pytest

from fiddlehead.material.making import card_from_hardness
from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.objects.library import find_object
from fiddlehead.project.load import load_project
from fiddlehead.report.export.store import load_press_result
from fiddlehead.report.figures.press import draw_press_map, press_map, press_map_picture
from fiddlehead.report.pads import map_pictures, summarise_pads, write_pads
from fiddlehead.report.pressed import press_warnings, summarise_press, write_press
from fiddlehead.report.results import Run
from fiddlehead.trials.pads import compare_pads
from tests.cli.command import SMALL
from tests.report.made_up import STEPS, made_up_press
from tests.report.test_figures import overlapping, texts

CARD = card_from_hardness(85.0, name="made up", date="2026-11-25")
BOWL, BOTTLE = find_object("bowl"), find_object("bottle")


@pytest.fixture
def run(tmp_path: Path) -> Run:
    (tmp_path / "fiddlehead.toml").write_text(SMALL, encoding="utf-8")
    return Run(load_project(tmp_path), CARD, MeshSettings(), "2026-11-25T10:00:00+01:00")


def test_folder_holds_everything_and_loads_again(run: Run, tmp_path: Path) -> None:
    found = [made_up_press(), made_up_press("tile edge")]
    written = write_press(tmp_path / "results", run, found, [BOWL, find_object("tile edge")])
    names = {str(path.relative_to(written.folder)) for path in written.files}
    assert {"bowl/press.csv", "tile_edge/press.pvd", "map_bowl.png", "grip_force_pressure.svg",
            "bowl/contact_pressure.png", "bowl/record.json"} <= names  # fmt: skip
    again = load_press_result(written.folder / "bowl")
    assert again.point_pressure_mpa == pytest.approx(found[0].point_pressure_mpa)
    assert again.object_name == "bowl"
    with (written.folder / "bowl/press.csv").open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert len(rows) == STEPS
    assert float(rows[-1]["contact_pressure_peak_kpa"]) == pytest.approx(60.0)
    grid = meshio.read(written.folder / f"bowl/steps/press_{STEPS - 1:03d}.vtu")
    assert grid.point_data["contact_pressure_mpa"].max() > 0.03


def test_the_map_has_one_scale_and_no_words_over_each_other() -> None:
    picture = press_map_picture(made_up_press(), "small: pressing on bowl", "made up")
    assert picture.most_kpa == pytest.approx(60.0, rel=0.1)
    figure = draw_press_map(picture)
    assert not overlapping(figure)
    assert "contact pressure on the gripping face at integration points (kPa)" in texts(figure)


def test_each_patch_has_the_pressure_of_the_point_inside_it() -> None:
    """Largest where the made-up patch has its middle, nothing beyond its rim, alike on both
    sides of the mid-plane."""
    shown = press_map(made_up_press(), "")
    middle = shown.patches.mean(1)
    off = np.hypot(middle[:, 0] - 18.0, middle[:, 1])
    assert off[shown.pressure_kpa.argmax()] < 1.5
    assert shown.pressure_kpa[off > 6.0] == pytest.approx(0.0)
    half = len(middle) // 2
    assert middle[half:] == pytest.approx(middle[:half] * [1.0, -1.0])
    assert shown.pressure_kpa[half:] == pytest.approx(shown.pressure_kpa[:half])


def test_a_map_between_two_steps_lies_between_them() -> None:
    made = made_up_press()
    half, low, high = (press_map(made, "", step).pressure_kpa for step in (2.5, 2.0, 3.0))
    assert half == pytest.approx((low + high) / 2)


def test_limits_and_a_handful_of_points_are_told(run: Run) -> None:
    made = made_up_press()
    assert press_warnings(made, BOWL) == ()
    told = " ".join(press_warnings(made, BOTTLE))
    assert "limit of 20 kPa" in told
    assert "memory" in told
    few = dataclasses.replace(made, points_touching=np.full(STEPS, 5))
    assert "peak means nothing" in " ".join(press_warnings(few, BOWL))
    none = dataclasses.replace(made, points_touching=np.zeros(STEPS, int))
    assert "does not touch" in " ".join(press_warnings(none, BOWL))
    summary = summarise_press([made], [BOWL], run.project.loads, CARD)
    assert "grip force 2 N at 100 kPa" in summary.sentences[0]


def test_pads_on_disk_and_in_words(run: Run, tmp_path: Path) -> None:
    found: dict[str, Any] = {"none": made_up_press(), "ribs": made_up_press(softer=2.0)}
    rough = {"none": made_up_press(), "ribs": made_up_press(softer=4.0)}
    compared = compare_pads(found, rough)
    written = write_pads(tmp_path / "results", run, compared, found)
    names = {str(path.relative_to(written.folder)) for path in written.files}
    assert {"pads.csv", "reduction.png", "histogram.png", "maps_1.png", "ribs/press.csv"} <= names
    summary = summarise_pads(compared, {"re-entrant": "the gap is closed"}, CARD)
    assert "2.0 times lower" in " ".join(summary.sentences)
    told = " ".join(summary.warnings)
    assert "ribs: the 95th percentile changes by 50 %" in told
    assert "no pad 're-entrant'" in told
    (picture,) = map_pictures(compared, found, "pads", "")
    assert len(picture.maps) == 2
    assert picture.most_kpa == max(one.pressure_kpa.max() for one in picture.maps)
    assert not overlapping(draw_press_map(picture))

"""Lateral stiffness on paper and on disk, from made-up results."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import meshio
import numpy as np
import pytest

from fiddlehead.material.making import card_from_hardness
from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.project.load import load_project
from fiddlehead.report.export.series import whole_mesh
from fiddlehead.report.export.store import load_lateral_result
from fiddlehead.report.figures.lateral import draw_lateral, lateral_picture
from fiddlehead.report.results import Run, write_lateral
from fiddlehead.report.summary import summarise_lateral
from tests.cli.command import SMALL
from tests.report.made_up import STEPS, made_up_lateral
from tests.report.test_figures import overlapping, texts

CARD = card_from_hardness(85.0, name="made up", date="2026-11-25")


@pytest.fixture
def written(tmp_path: Path) -> Any:
    (tmp_path / "fiddlehead.toml").write_text(SMALL, encoding="utf-8")
    run = Run(load_project(tmp_path), CARD, MeshSettings(), "2026-11-25T10:00:00+01:00")
    return write_lateral(tmp_path / "results", run, made_up_lateral(0.8))


def test_folder_holds_everything_and_loads_again(written: Any) -> None:
    names = {str(path.relative_to(written.folder)) for path in written.files}
    assert {"lateral.csv", "lateral.pvd", "lateral_stiffness.png", "record.json"} <= names
    again, made = load_lateral_result(written.folder), made_up_lateral(0.8)
    assert again.stiffness_n_per_mm == pytest.approx(made.stiffness_n_per_mm)
    assert again.buckling_pressure_mpa == pytest.approx(0.5)
    assert again.margin_standing == made.margin_standing
    with (written.folder / "lateral.csv").open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert len(rows) == STEPS
    assert float(rows[-1]["stiffness_n_per_mm"]) == pytest.approx(0.64)
    json.loads(
        (written.folder / "record.json").read_text(encoding="utf-8"),
        parse_constant=lambda word: pytest.fail(f"{word} is not JSON"),
    )


def test_series_moves_both_halves_the_same_way(written: Any) -> None:
    grid = meshio.read(written.folder / "steps/lateral_000.vtu")
    assert grid.point_data["weakest_sideways_mm"] == pytest.approx(
        np.tile([0.0, 0.0, 1.0], (len(grid.points), 1))
    )


def test_a_sideways_field_is_a_rigid_turn_on_both_halves() -> None:
    """Turned about the axis y: u = (z, 0, -x) is antisymmetric, and stays itself when mirrored."""
    mesh = made_up_lateral().mesh
    whole = whole_mesh(mesh)

    def turn(x: np.ndarray) -> np.ndarray:
        return np.stack([x[:, 2], 0 * x[:, 1], -x[:, 0]], axis=1)

    assert whole.sideways(turn(mesh.points)) == pytest.approx(turn(whole.points))


@pytest.mark.parametrize(
    ("result", "words"),
    [
        (made_up_lateral(1.1), ""),
        (made_up_lateral(0.9), ""),
        (made_up_lateral(0.2), "Lateral buckling is near"),
        (made_up_lateral(-0.2, unstable=1), "Lateral buckling is passed"),
    ],
)
def test_picture_and_words_tell_the_same(result: Any, words: str) -> None:
    picture = lateral_picture(result, "finger: lateral stiffness", "made up")
    figure = draw_lateral(picture)
    assert picture.remark.startswith(words)
    assert bool(picture.remark) == bool(words)
    assert ("buckling near" in texts(figure)) == bool(words)
    assert overlapping(figure) == []
    told = summarise_lateral(result, CARD)
    assert [w for w in told.warnings if w not in CARD.warnings] == ([result.warning] * bool(words))
    assert ("none at 100 kPa" in told.sentences[0]) == bool(result.unstable_shapes.any())


def test_an_early_end_is_told() -> None:
    result = made_up_lateral(outcome="limit_point")
    assert "Ends early" in lateral_picture(result, "finger").remark
    assert any("ends at 100 kPa" in warning for warning in summarise_lateral(result, CARD).warnings)


def test_far_buckling_is_a_multiple_and_a_stiffening_finger_has_none() -> None:
    assert "8 times" in summarise_lateral(made_up_lateral(0.875), CARD).sentences[1]
    assert "in sight up to 10 times" in summarise_lateral(made_up_lateral(1.1), CARD).sentences[1]

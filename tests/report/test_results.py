"""Results folders and what is said about them, from made-up results."""

from __future__ import annotations

import dataclasses
import json
from pathlib import Path

import numpy as np
import pytest

from fiddlehead.material.making import card_from_hardness
from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.project.load import Project, load_project
from fiddlehead.project.material import make_material
from fiddlehead.project.run_sections import LoadsSection
from fiddlehead.report.export.store import load_bend_result, load_block_result, read_record
from fiddlehead.report.results import Run, saved_card, write_bend, write_block, write_material
from fiddlehead.report.summary import summarise_bend, summarise_block
from tests.cli.command import SMALL
from tests.report.made_up import made_up_bend, made_up_block

CARD = card_from_hardness(85.0, name="made up", date="2026-11-25")
LOADS = LoadsSection()


@pytest.fixture
def project(tmp_path: Path) -> Project:
    (tmp_path / "fiddlehead.toml").write_text(SMALL, encoding="utf-8")
    return load_project(tmp_path)


@pytest.fixture
def run(project: Project) -> Run:
    return Run(project, CARD, MeshSettings(), "2026-11-25T10:00:00+01:00")


def test_bend_folder_holds_everything_and_loads_again(tmp_path: Path, run: Run) -> None:
    written = write_bend(tmp_path / "results", run, made_up_bend())
    names = {str(path.relative_to(written.folder)) for path in written.files}
    pictures = ("angle_pressure", "shapes", "strain_pressure", "tip_path", "section")
    assert {f"{name}.{kind}" for name in pictures for kind in ("png", "svg")} <= names
    assert {"bend.csv", "bend.pvd", "steps/bend_005.vtu", "regions.csv"} <= names
    assert all(path.is_file() for path in written.pictures)
    record = read_record(written.folder)
    assert record["project"]["input_hash_sha256"] == run.project.input_hash
    assert record["project"]["entries"]["finger"]["bellows_count"] == 2
    assert record["material"]["law_name"] == "neo_hookean"
    assert record["mesh"]["smallest_scaled_jacobian"] > 0.0
    assert record["mesh"]["elements"] == len(made_up_bend().mesh.elements)
    assert record["versions"]["fiddlehead"]
    assert record["versions"]["jax"]
    assert record["values"]["history"]["elapsed_s"] == 1.5
    assert record["values"]["history"]["outcome"] == "complete"
    again = load_bend_result(written.folder)
    np.testing.assert_array_equal(again.tip_angle_deg, made_up_bend().tip_angle_deg)


def test_a_cancelled_run_does_not_replace_a_finished_one(tmp_path: Path, run: Run) -> None:
    finished = write_bend(tmp_path, run, made_up_bend())
    before = (finished.folder / "record.json").read_bytes()
    cancelled = write_bend(tmp_path, run, made_up_bend(outcome="cancelled"))
    assert cancelled.folder.name == "bend-cancelled"
    assert (finished.folder / "record.json").read_bytes() == before
    stopped = write_bend(tmp_path, run, made_up_bend(outcome="limit_point"))
    assert stopped.folder == finished.folder


def test_block_folder_has_one_folder_per_preset_angle(tmp_path: Path, run: Run) -> None:
    written = write_block(tmp_path, run, [made_up_block(), made_up_block(22.5)])
    assert (written.folder / "force_pressure.svg").is_file()
    again = load_block_result(written.folder / "preset_22.5_deg")
    assert again.preset_angle_deg == 22.5
    assert (written.folder / "preset_0_deg/block.csv").is_file()


def test_a_card_is_used_again_until_its_input_changes(tmp_path: Path, project: Project) -> None:
    results = tmp_path / "results"
    assert saved_card(results, project) is None
    write_material(results, project, make_material(project, "2026-11-25"))
    card = saved_card(results, project)
    assert card is not None
    assert card.law_name == "neo_hookean"
    project.path.write_text(SMALL.replace("pitch_mm = 8.0", "pitch_mm = 8.5"), encoding="utf-8")
    assert saved_card(results, load_project(project.path)) == card  # the finger does not matter
    project.path.write_text(SMALL.replace("85.0", "80.0"), encoding="utf-8")
    assert saved_card(results, load_project(project.path)) is None
    (results / "material/contents.json").write_text("damaged", encoding="utf-8")
    assert saved_card(results, project) is None


def test_contents_name_every_file(tmp_path: Path, run: Run) -> None:
    written = write_bend(tmp_path, run, made_up_bend())
    contents = json.loads((written.folder / "contents.json").read_text(encoding="utf-8"))
    listed = {written.folder / name for name in contents["files"]}
    assert listed == set(written.files) - {written.folder / "contents.json"}


def test_bend_in_words() -> None:
    told = summarise_bend(made_up_bend(), LOADS, CARD)
    assert told.sentences[0] == "Bending angle 90° tip tangent (45° chord) at 100 kPa."
    assert "at the roof of bellows 2" in told.sentences[2]
    assert "across layers up to" in told.sentences[2]
    chord_first = summarise_bend(made_up_bend(), LOADS, CARD, first="chord")
    assert chord_first.sentences[0] == "Bending angle 45° chord (90° tip tangent) at 100 kPa."


def test_limits_early_ends_and_guesses_are_minded() -> None:
    result = made_up_bend(outcome="limit_point")
    loads = LoadsSection(strain_limit_percent=20.0, strain_limit_across_layers_percent=60.0)
    told = summarise_bend(result, loads, CARD).warnings
    assert told[0] == "The curve ends at 100 kPa: The pressure reached its maximum."
    first = result.pressure_mpa[np.argmax(100 * result.strain.in_plane > 20.0)]
    assert f"passes your limit of 20 % at {1e3 * first:g} kPa" in told[1]
    assert not any("across layers" in text for text in told)
    assert any("hardness alone" in text for text in told)


def test_strain_beyond_the_data_or_the_check_is_minded() -> None:
    tested = dataclasses.replace(CARD, data_strain={"uniaxial": (0.0, 0.1)}, warnings=())
    assert any(
        "data to 10 %" in text for text in summarise_bend(made_up_bend(), LOADS, tested).warnings
    )
    checked = dataclasses.replace(CARD, use_strain=0.1, warnings=())
    told = summarise_bend(made_up_bend(), LOADS, checked).warnings
    assert any("checked to 10 %" in text for text in told)
    wide = dataclasses.replace(CARD, use_strain=3.0, warnings=())
    assert not any(
        "checked" in text for text in summarise_bend(made_up_bend(), LOADS, wide).warnings
    )


def test_block_in_words_names_the_angle_and_the_explanation() -> None:
    odd = dataclasses.replace(made_up_block(30.0), explanation="The plate is met near the root.")
    told = summarise_block([made_up_block(), odd], LOADS, CARD)
    assert told.sentences[0].startswith("Blocked force 2 N at 100 kPa, plate met at 0°")
    assert "hand bound 2.3 N" in told.sentences[0]
    assert "At 30°: The plate is met near the root." in told.warnings

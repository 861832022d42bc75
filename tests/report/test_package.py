"""The data package: whole, described, and readable by the library of its own standard."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import shutil
import zipfile
from pathlib import Path

import pytest
from rocrate.rocrate import ROCrate

from fiddlehead.errors import ParameterError
from fiddlehead.grasp.records import GraspTable
from fiddlehead.grasp.table import cell
from fiddlehead.project.load import load_project
from fiddlehead.project.study import ENTRIES
from fiddlehead.report.export.grasps import grasp_columns, table_columns
from fiddlehead.report.export.tables import (
    bend_columns,
    block_columns,
    lateral_columns,
    press_columns,
)
from fiddlehead.report.job.columns import UNKNOWN, described
from fiddlehead.report.job.package import NO_LICENCE, data_package
from fiddlehead.report.job.parts import look_through
from fiddlehead.report.pads import pad_rows
from fiddlehead.study.catalogue import CATALOGUE
from fiddlehead.trials.pads import compare_pads
from tests.grasp.made import gripper
from tests.report.made_up import made_up_bend, made_up_block, made_up_lateral, made_up_press
from tests.report.test_grasp import made_up_run

DAY = "2026-11-25"


def packed(folder: Path) -> zipfile.ZipFile:
    job = look_through(load_project(folder), folder / "results", DAY)
    return zipfile.ZipFile(io.BytesIO(data_package(job, {"report.html": b"page"})))


@pytest.fixture(scope="module")
def package(finished_job: Path) -> zipfile.ZipFile:
    return packed(finished_job)


def test_checksums_cover_every_file(package: zipfile.ZipFile) -> None:
    lines = package.read("manifest-sha256.txt").decode().splitlines()
    told = {name: digest for digest, name in (line.split("  ") for line in lines)}
    assert set(told) == set(package.namelist()) - {"manifest-sha256.txt"}
    assert all(hashlib.sha256(package.read(n)).hexdigest() == told[n] for n in told)


def test_raw_data_and_results_are_in_it(package: zipfile.ZipFile, finished_job: Path) -> None:
    for name in ("project/fiddlehead.toml", "project/bench/log.csv", "results/bend/bend.csv",
                 "results/material/card.toml", "report.html", "LICENCE.txt"):  # fmt: skip
        assert name in package.namelist()
    raw = finished_job / "bench" / "log.csv"
    assert package.read("project/bench/log.csv") == raw.read_bytes()


def test_every_column_has_unit_and_meaning(package: zipfile.ZipFile) -> None:
    rows = list(csv.DictReader(io.StringIO(package.read("columns.csv").decode())))
    assert [row for row in rows if row["meaning"] == UNKNOWN] == []
    told = {(row["file"], row["column"]): row for row in rows}
    assert told["results/bend/bend.csv", "tip_angle_deg"]["unit"] == "°"
    assert told["project/bench/log.csv", "P"]["unit"] == "bar gauge"
    tables = {name for name in package.namelist() if name.endswith(".csv")} - {"columns.csv"}
    assert {row["file"] for row in rows} == tables


def test_columns_of_trials_are_all_in_the_dictionary() -> None:
    one = cell(gripper(2), made_up_run())
    table = GraspTable(objects=("ball",), columns=(one.column,), cells=(one,), wanted_margin=2.0)
    columns = (
        *bend_columns(made_up_bend()),
        *block_columns(made_up_block()),
        *lateral_columns(made_up_lateral()),
        *press_columns(made_up_press()),
        *pad_rows(compare_pads({"none": made_up_press()}, {"none": made_up_press()})),
        *grasp_columns(made_up_run()),
        *table_columns(table),
        *(name for kind in CATALOGUE.values() for name in kind.quantities),
        *ENTRIES,
    )
    assert [name for name in columns if not described(name)[1]] == []
    assert described("nobody_wrote_this_mm") == ("mm", "")
    assert described("flow_percent")[1].startswith("Extruded over nominal volume")


def test_the_crate_is_read_by_its_own_library(package: zipfile.ZipFile, tmp_path: Path) -> None:
    """RO-Crate Metadata Specification 1.1: the root has name, description, date and licence;
    every file is linked from it; the rocrate library reads it without complaint."""
    package.extractall(tmp_path)
    crate = ROCrate(tmp_path)
    assert crate.name == "small: data of a printed pneumatic soft gripper"
    assert crate.description
    assert crate.root_dataset["datePublished"].startswith(DAY)
    assert crate.license.id == "https://spdx.org/licenses/CC-BY-4.0"
    assert crate.root_dataset["author"]["name"] == "A. Potter"
    files = {entity.id for entity in crate.data_entities if entity.type == "File"}
    assert files == set(package.namelist()) - {"ro-crate-metadata.json"}
    runs = {entity["name"] for entity in crate.contextual_entities if entity.type == "CreateAction"}
    assert {"fiddlehead bend", "fiddlehead measure"} <= runs
    bend = crate.dereference("results/bend/")
    assert crate.dereference("results/bend/bend.csv") in bend["hasPart"]


def test_entities_of_the_crate_are_told_once(package: zipfile.ZipFile) -> None:
    graph = json.loads(package.read("ro-crate-metadata.json"))["@graph"]
    names = [entity["@id"] for entity in graph]
    assert len(names) == len(set(names))


def test_the_readme_names_units_licence_and_how_to_rebuild(package: zipfile.ZipFile) -> None:
    text = package.read("README.md").decode()
    for word in ("CC-BY-4.0", "A. Potter", "gauge", "fiddlehead bend", "sha256sum --check"):
        assert word in text


@pytest.mark.parametrize(("written", "told"), [("", "No licence given"), ("free", "SPDX lists")])
def test_licences_left_out_or_unknown(
    finished_job: Path, tmp_path: Path, written: str, told: str
) -> None:
    folder = Path(shutil.copytree(finished_job, tmp_path / "own"))
    path = folder / "fiddlehead.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("cc-by-4.0", written))
    if written:
        with pytest.raises(ParameterError, match=told):
            packed(folder)
    else:
        made = packed(folder)
        assert NO_LICENCE in made.read("LICENCE.txt").decode()
        graph = json.loads(made.read("ro-crate-metadata.json"))["@graph"]
        terms = next(entity for entity in graph if entity["@id"] == "LICENCE.txt")
        assert terms["name"] == told


def test_data_from_outside_the_project_folder_come_along(
    tmp_path: Path, finished_job: Path
) -> None:
    folder = Path(shutil.copytree(finished_job, tmp_path / "own"))
    shutil.move(folder / "bench" / "log.csv", tmp_path / "log.csv")
    path = folder / "fiddlehead.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("bench/log.csv", "../log.csv"))
    assert "project/from-elsewhere/log.csv" in packed(folder).namelist()

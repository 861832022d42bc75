"""The report of a job that pressed on objects, compared pads and gripped things."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest

from fiddlehead.grasp.estimate import estimate
from fiddlehead.grasp.records import GraspTable
from fiddlehead.grasp.table import cell, cell_of_estimate
from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.objects.library import DEMO_LIBRARY, read_library
from fiddlehead.project.load import load_project
from fiddlehead.project.material import make_material
from fiddlehead.report.document import Note, Section, Table, pictures_of
from fiddlehead.report.grasp import write_grasp, write_grasp_table
from fiddlehead.report.job.assemble import job_sheet
from fiddlehead.report.job.parts import look_through
from fiddlehead.report.pads import write_pads
from fiddlehead.report.pressed import write_press
from fiddlehead.report.results import Run
from fiddlehead.trials.pads import compare_pads
from tests.grasp.made import TASK, bending, gripper
from tests.report.made_up import made_up_press
from tests.report.test_grasp import HELD, made_up_run

DAY = "2026-11-25"


@pytest.fixture(scope="module")
def told(finished_job: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Section]:
    """Sections by heading, of a job that also went to the objects."""
    folder = Path(shutil.copytree(finished_job, tmp_path_factory.mktemp("objects") / "job"))
    project, results = load_project(folder), folder / "results"
    run = Run(project, make_material(project, DAY).card, MeshSettings(), f"{DAY}T10:00:00+00:00")
    bowl = read_library(DEMO_LIBRARY)["bowl"]
    write_press(results, run, [made_up_press()], [bowl])
    found: dict[str, Any] = {"none": made_up_press(), "ribs": made_up_press(softer=2.5)}
    write_pads(results, run, compare_pads(found, found), found)
    guess = estimate(bending(), gripper(), HELD, TASK)
    write_grasp(results, run, made_up_run(), guess, None, {})
    cells = (
        cell_of_estimate(bending(), gripper(), HELD, TASK),
        cell(gripper(2), made_up_run()),
    )
    columns = tuple(one.column for one in cells)
    table = GraspTable(objects=("ball",), columns=columns, cells=cells, wanted_margin=2.0)
    write_grasp_table(results, run, table, "made up")
    sheet = job_sheet(look_through(project, results, DAY))
    for picture in pictures_of(sheet):
        assert (results / picture.file).is_file()
    return {section.heading: section for section in sheet.sections}


def tables(section: Section) -> list[Table]:
    return [block for block in section.blocks if isinstance(block, Table)]


def test_objects_come_after_force_and_before_printing(told: dict[str, Section]) -> None:
    order = list(told)
    own = ["Pressing on objects", "Pads compared", "Lateral stiffness", "Grasps", "Grasp table"]
    at = order.index("Blocked force")
    assert order[at + 1 : at + 6] == own
    assert "Further results" not in told


def test_pressing_tells_force_and_pressure(told: dict[str, Section]) -> None:
    (table,) = tables(told["Pressing on objects"])
    assert table.rows == (("bowl", "100", "2.00", "50", "60", "40.0", "50", "0.4"),)


def test_a_pad_softer_by_a_factor_lowers_the_pressure_by_it(told: dict[str, Section]) -> None:
    (table,) = tables(told["Pads compared"])
    ribs = next(row for row in table.rows if row[0] == "ribs, equal grip force")
    assert ribs[-2:] == ("2.50", "2.50")


def test_a_grasp_tells_verdict_margins_and_remarks(told: dict[str, Section]) -> None:
    (one,) = told["Grasps"].blocks
    assert isinstance(one, Section)
    assert one.heading == "ball: held"
    (table,) = tables(one)
    rows = dict(table.rows)
    assert rows["margin: slip (1 is the limit)"] == "3.2"
    assert rows["pull-off force"] == "0.9 N"
    assert [block.text for block in one.blocks if isinstance(block, Note)] == ["A remark."]


def test_the_grasp_table_names_its_method(told: dict[str, Section]) -> None:
    (table,) = tables(told["Grasp table"])
    assert [row[-1] for row in table.rows] == ["estimate", "full run"]
    assert table.rows[1][1:4] == ("held", "", "3.2")

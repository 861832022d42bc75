"""Files and pictures of grasps, from a record that is made up: nothing is solved."""

from __future__ import annotations

import csv
import dataclasses
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from fiddlehead.errors import StoreError
from fiddlehead.grasp.records import GraspRun, GraspTable, Margins, Verdict
from fiddlehead.grasp.skin import skin
from fiddlehead.grasp.table import cell, cell_of_estimate
from fiddlehead.grasp.task import ready
from fiddlehead.mesh.build import build_mesh
from fiddlehead.report.export.grasps import grasp_columns, load_grasp, save_grasp, table_columns
from fiddlehead.report.export.tables import write_table
from fiddlehead.report.figures.grasp import (
    chosen_frames,
    draw_grasp,
    grasp_picture,
    write_frames,
)
from fiddlehead.report.figures.grasp_table import draw_table, table_picture
from fiddlehead.report.figures.style import save
from tests.grasp.made import BALL, TASK, bending, gripper
from tests.trials.made import COARSE, SMALL

HELD = ready(BALL)


def made_up_run() -> GraspRun:
    """Five steps of a grasp in which the object sinks."""
    mesh = build_mesh(SMALL, COARSE)
    phases = ("inflate", "inflate", "lift", "shake", "pull-off")
    steps = len(phases)
    motion = np.zeros((steps, 6))
    motion[:, 2] = -np.linspace(0.0, 2.0, steps)
    wrench = np.zeros((steps, 6))
    wrench[:, 2] = [0.0, -0.1, 0.2, 0.3, 0.9]
    one = gripper()
    return GraspRun(
        object=BALL,
        directions_deg=one.directions_deg,
        group=np.zeros(3, dtype=int),
        half_fingers=True,
        phase=phases,
        pressure_mpa=np.array([0.0, 0.1, 0.1, 0.1, 0.1]),
        load_n=-wrench[:, :3],
        motion=motion,
        wrench=wrench,
        normal_n=np.array([[0.0], [1.0], [1.1], [1.1], [1.2]]),
        tangential_n=np.array([[0.0], [0.5], [0.1], [0.1], [0.6]]),
        contact_area_mm2=np.full((steps, 1), 8.0),
        peak_mpa=np.full((steps, 1), 0.3),
        p95_mpa=np.full((steps, 1), 0.2),
        slip_share=np.array([[0.0], [1.0], [0.0], [0.0], [1.0]]),
        iterations=np.full(steps, 5),
        displacement_mm=np.zeros((steps, 1, len(mesh.points), 3)),
        place=np.stack([one.place(k) for k in range(3)]),
        mesh=mesh,
        centre_mm=np.zeros(3),
        start_position_mm=np.array([0.0, 0.0, -30.0]),
        start_turn=np.eye(3),
        skin_mm=skin(HELD),
        touch_pressure_mpa=0.05,
        payload_kg=0.09,
        pull_off_n=0.9,
        pull_direction=np.array([0.0, 0.0, -1.0]),
        stiffness=np.eye(6),
        deflection_mm=np.full(3, 0.2),
        epsilon_n=0.4,
        length_mm=15.0,
        verdict=Verdict(
            outcome="held",
            reason="",
            margins=Margins(slip=3.2, damage=None, reach=2.0, lateral=8.0),
            remarks=("A remark.",),
        ),
        partial="",
        solves=25,
        elapsed_s=1.5,
    )


def test_a_grasp_loads_as_it_was_saved(tmp_path: Path) -> None:
    run = made_up_run()
    save_grasp(tmp_path, run, {"date": "2026-11-25"})
    again = load_grasp(tmp_path)
    for field in dataclasses.fields(run):
        one, other = getattr(run, field.name), getattr(again, field.name)
        if isinstance(one, np.ndarray):
            np.testing.assert_array_equal(one, other)
        elif field.name != "mesh":
            assert one == other, field.name
    np.testing.assert_array_equal(run.mesh.faces["underside"], again.mesh.faces["underside"])
    (tmp_path / "arrays.npz").write_bytes(b"spoilt")
    with pytest.raises(StoreError, match="not those"):
        load_grasp(tmp_path)


def test_every_step_is_a_row(tmp_path: Path) -> None:
    path = write_table(tmp_path / "grasp.csv", grasp_columns(made_up_run()))
    with path.open(encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    assert [row["phase"] for row in rows] == list(made_up_run().phase)
    assert float(rows[-1]["fingers_z_n"]) == 0.9
    assert float(rows[2]["finger_3_normal_n"]) == 1.1
    assert float(rows[1]["pressure_kpa"]) == 100.0


def test_the_picture_says_what_the_record_says(tmp_path: Path) -> None:
    picture = grasp_picture(made_up_run(), "a heading", "a detail")
    assert picture.weight_n == pytest.approx(0.008 * 9.80665)
    np.testing.assert_allclose(picture.pull_n, [0.3, 0.9])
    np.testing.assert_allclose(picture.travel_mm, [0.0, 0.5])
    assert picture.margins == {"slip": 3.2, "reach": 2.0, "sideways": 8.0}
    assert picture.words.startswith("Held.")
    assert len(picture.scene.fingers) == 3
    png, _ = save(draw_grasp(picture), tmp_path, "grasp")
    assert png.stat().st_size > 20_000


def test_frames_move(tmp_path: Path) -> None:
    path = write_frames(tmp_path, made_up_run(), "ball")
    assert len(list((tmp_path / "frames").glob("*.png"))) == 5
    with Image.open(path) as moving:
        assert getattr(moving, "n_frames", 1) == 5
    assert chosen_frames(200)[-1] == 199
    assert len(chosen_frames(200)) == 24


def test_the_table_shows_every_cell(tmp_path: Path) -> None:
    estimated = cell_of_estimate(bending(), gripper(), HELD, TASK)
    full = dataclasses.replace(cell(gripper(2), made_up_run()), object_name="ball")
    assert (estimated.method, full.method) == ("estimate", "full run")
    table = GraspTable(
        objects=("ball",),
        columns=(full.column, estimated.column, "4 fingers, with pad"),
        cells=(full, estimated),
        wanted_margin=2.0,
    )
    picture = table_picture(table, "a heading", "a detail")
    left, right, none = picture.cells[0]
    assert none is None
    assert left is not None
    assert left.verdict == "✓ held"
    assert "out of plane 0.2 mm" in left.numbers
    assert right is not None
    png, _ = save(draw_table(picture), tmp_path, "table")
    assert png.stat().st_size > 20_000
    columns = table_columns(table)
    assert columns["slip_margin"][0] == 3.2
    assert columns["damage_margin"][0] == ""
    assert columns["method"] == ["full run", "estimate"]

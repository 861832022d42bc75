"""Files of results: tables, mesh series and records, read back by other programs' rules."""

from __future__ import annotations

import csv
import dataclasses
import json
import subprocess
import sys
import xml.etree.ElementTree as ET
from pathlib import Path

import meshio
import numpy as np
import pytest

from fiddlehead.errors import StoreError
from fiddlehead.files import write_folder, write_text
from fiddlehead.report.export.series import whole_mesh, write_series
from fiddlehead.report.export.store import (
    load_bend_result,
    load_block_result,
    read_record,
    save_result,
)
from fiddlehead.report.export.tables import bend_columns, block_columns, write_table
from tests.report.made_up import STEPS, made_up_bend, made_up_block


def test_csv_has_units_in_its_header_and_every_step(tmp_path: Path) -> None:
    path = write_table(tmp_path / "bend.csv", bend_columns(made_up_bend()))
    with path.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert len(rows) == STEPS
    assert float(rows[-1]["pressure_kpa"]) == pytest.approx(100.0)
    assert float(rows[-1]["tip_angle_deg"]) == pytest.approx(90.0)
    assert rows[-1]["largest_in"] == "roof of bellows 2"
    unitless = {"largest_in", "largest_across_layers_in", "linear_solves"}
    ends = ("_kpa", "_deg", "_mm", "_mm3", "_mj", "_percent", "_n")
    for columns in (bend_columns(made_up_bend()), block_columns(made_up_block())):
        assert all(name.endswith(ends) for name in set(columns) - unitless)


def brick_volume(points: np.ndarray, elements: np.ndarray) -> np.ndarray:
    """Volume of straight-edged bricks by six tetrahedra each; negative when turned inside out."""
    x = points[elements[:, :8]]
    corners = [(0, 1, 2, 6), (0, 2, 3, 6), (0, 3, 7, 6), (0, 7, 4, 6), (0, 4, 5, 6), (0, 5, 1, 6)]
    return sum(
        np.einsum("ei,ei->e", np.cross(x[:, b] - x[:, a], x[:, c] - x[:, a]), x[:, d] - x[:, a])
        / 6.0
        for a, b, c, d in corners
    )


def test_whole_mesh_is_right_handed_shares_the_mid_plane_and_doubles_the_half() -> None:
    mesh = made_up_bend().mesh
    whole = whole_mesh(mesh)
    volumes = brick_volume(whole.points, whole.elements)
    assert volumes.min() > 0.0
    assert volumes.sum() == pytest.approx(2 * 1252.0, rel=1e-9)
    assert len(np.unique(whole.points.round(9), axis=0)) == len(whole.points)
    middles = [(0, 1), (1, 2), (2, 3), (3, 0), (4, 5), (5, 6), (6, 7), (7, 4)]
    middles += [(0, 4), (1, 5), (2, 6), (3, 7)]
    for number, (a, b) in enumerate(middles, start=8):
        between = whole.points[whole.elements[:, [a, b]]].mean(1)
        np.testing.assert_allclose(whole.points[whole.elements[:, number]], between, atol=1e-9)


def test_series_opens_as_quadratic_bricks_over_pressure(tmp_path: Path) -> None:
    result = made_up_bend()
    pvd = write_series(tmp_path, "bend", result)
    sets = ET.parse(pvd).getroot().findall("./Collection/DataSet")
    assert [float(s.attrib["timestep"]) for s in sets] == pytest.approx([0, 20, 40, 60, 80, 100])
    last = tmp_path / sets[-1].attrib["file"]
    grid = meshio.read(last)
    assert list(grid.cells_dict) == ["hexahedron20"]
    types = ET.parse(last).getroot().find(".//Cells/DataArray[@Name='types']")
    assert types is not None
    whole = whole_mesh(result.mesh)
    np.testing.assert_array_equal(grid.cells_dict["hexahedron20"], whole.elements)
    moved = grid.points + grid.point_data["displacement_mm"]
    half = result.mesh.points + result.displacement_mm[-1]
    np.testing.assert_allclose(moved[: len(half)], half)
    np.testing.assert_allclose(moved[:, 2].sum(), 0.0, atol=1e-6)
    assert grid.point_data["largest_log_strain"].max() == result.node_strain[-1].max()
    with (tmp_path / "regions.csv").open(encoding="utf-8") as stream:
        names = {int(row["region"]): row["name"] for row in csv.DictReader(stream)}
    assert names[int(grid.cell_data["region"][0][0])] == result.mesh.region_of(0)


def same(a: object, b: object) -> None:
    """Two records hold the same values."""
    assert type(a) is type(b)
    if dataclasses.is_dataclass(a):
        for field in dataclasses.fields(a):
            if field.name != "template":
                same(getattr(a, field.name), getattr(b, field.name))
    elif isinstance(a, np.ndarray):
        np.testing.assert_array_equal(a, b)
        assert a.dtype == b.dtype  # type: ignore[attr-defined]
    elif isinstance(a, dict):
        assert list(a) == list(b)  # type: ignore[call-overload]
        for key in a:
            same(a[key], b[key])  # type: ignore[index]
    else:
        assert a == b


def test_results_load_as_they_were(tmp_path: Path) -> None:
    about = {"project": {"name": "bowls"}, "date": "2026-11-25"}
    save_result(tmp_path / "bend", "bend", made_up_bend(outcome="limit_point"), about)
    save_result(tmp_path / "block", "block", made_up_block(30.0), about)
    same(load_bend_result(tmp_path / "bend"), made_up_bend(outcome="limit_point"))
    same(load_block_result(tmp_path / "block"), made_up_block(30.0))
    record = read_record(tmp_path / "bend")
    assert record["project"] == {"name": "bowls"}
    assert record["values"]["history"]["outcome"] == "limit_point"


def test_the_same_result_gives_the_same_bytes(tmp_path: Path) -> None:
    for name in ("a", "b"):
        save_result(tmp_path / name, "bend", made_up_bend(), {})
    for file in ("record.json", "arrays.npz"):
        assert (tmp_path / "a" / file).read_bytes() == (tmp_path / "b" / file).read_bytes()


def test_damaged_or_foreign_results_are_refused(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="no readable result"):
        load_bend_result(tmp_path)
    save_result(tmp_path, "bend", made_up_bend(), {})
    with pytest.raises(StoreError, match="another kind"):
        load_block_result(tmp_path)
    arrays = tmp_path / "arrays.npz"
    arrays.write_bytes(arrays.read_bytes()[:-10])
    with pytest.raises(StoreError, match="not those the record was written with"):
        load_bend_result(tmp_path)
    arrays.unlink()
    with pytest.raises(StoreError, match="not those the record was written with"):
        load_bend_result(tmp_path)
    record = json.loads((tmp_path / "record.json").read_text(encoding="utf-8"))
    record["format"] = "something else"
    (tmp_path / "record.json").write_text(json.dumps(record), encoding="utf-8")
    with pytest.raises(StoreError, match="another format"):
        load_bend_result(tmp_path)
    (tmp_path / "record.json").write_text("{", encoding="utf-8")
    with pytest.raises(StoreError, match="no readable result"):
        load_bend_result(tmp_path)


def test_loading_a_result_does_not_load_jax(tmp_path: Path) -> None:
    save_result(tmp_path, "bend", made_up_bend(), {})
    code = (
        "import sys; from pathlib import Path\n"
        "from fiddlehead.report.export.store import load_bend_result\n"
        "from fiddlehead.report.figures.curves import angle_picture\n"
        f"angle_picture(load_bend_result(Path({str(tmp_path)!r})), '')\n"
        "assert 'jax' not in sys.modules\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_a_folder_is_replaced_whole_or_not_at_all(tmp_path: Path) -> None:
    place = tmp_path / "bend"
    write_folder(place, lambda room: write_text(room / "record.json", "old"), ours="record.json")

    def fails(room: Path) -> None:
        write_text(room / "record.json", "new")
        raise OSError("disk full")

    with pytest.raises(StoreError, match="disk full"):
        write_folder(place, fails, ours="record.json")
    assert (place / "record.json").read_text() == "old"
    write_folder(place, lambda room: write_text(room / "record.json", "new"), ours="record.json")
    assert (place / "record.json").read_text() == "new"
    assert [path.name for path in tmp_path.iterdir()] == ["bend"]


def test_foreign_folders_are_left_alone(tmp_path: Path) -> None:
    (tmp_path / "thesis.tex").write_text("years of work")
    with pytest.raises(StoreError, match="holds other things"):
        write_folder(tmp_path, lambda room: None, ours="record.json")
    assert (tmp_path / "thesis.tex").read_text() == "years of work"

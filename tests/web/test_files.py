"""Files in and out: what is taken, how it is shown, and what the page gets of a result."""

from __future__ import annotations

import io
import json
import zipfile
from pathlib import Path

import numpy as np
import pytest

from fiddlehead.bench.spreadsheet import write_workbook
from fiddlehead.errors import InputError, StoreError
from fiddlehead.report.export.store import save_result
from fiddlehead.report.surface import whole_surface
from fiddlehead.web.app import STATIC
from fiddlehead.web.results import keep, table
from fiddlehead.web.scenes import scene
from fiddlehead.web.uploads import preview, store
from tests.report.made_up import STEPS, made_up_bend, made_up_press
from tests.web.made_up import cube_stl, made_up_project
from tests.web.served import Served

CSV = b"t [s],P [bar]\n0.0,0.1\n0.5,0.2\n"


def unpacked(data: bytes) -> tuple[dict, dict[str, np.ndarray]]:
    """What the page reads out of a packed answer."""
    length = int.from_bytes(data[:4], "little")
    head, at, arrays = json.loads(data[4 : 4 + length]), 4 + length, {}
    for one in head["arrays"]:
        count = int(np.prod(one["shape"]))
        values = np.frombuffer(data, f"<{one['kind']}", count, at).reshape(one["shape"])
        arrays[one["name"]] = values
        at += 4 * count
    assert at == len(data)
    return head, arrays


def volume(points: np.ndarray, triangles: np.ndarray) -> float:
    """Enclosed by triangles whose normals point outwards (divergence theorem)."""
    a, b, c = (points[triangles[:, k]].astype(float) for k in range(3))
    return float(np.einsum("ti,ti->", a, np.cross(b, c))) / 6.0


@pytest.mark.parametrize(
    ("drawer", "name", "data"),
    [
        ("tensile", "a.exe", CSV),
        ("tensile", "a.csv.html", CSV),
        ("tensile", "a.csv", b""),
        ("tensile", "a.csv", b"PK\x03\x04\x00\x00"),
        ("photos", "a.jpg", CSV),
        ("photos", "a.svg", b"<svg/>"),
        ("objects", "a.stl", CSV),
        ("bench", "a.xlsx", CSV),
        ("tensile", "...", CSV),
        ("tensile", "", CSV),
        ("etc", "a.csv", CSV),
    ],
)
def test_what_does_not_belong_is_refused(
    tmp_path: Path, drawer: str, name: str, data: bytes
) -> None:
    with pytest.raises(InputError):
        store(tmp_path, drawer, name, data)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", ["../../a.csv", "/etc/a.csv", "C:\\x\\a.csv", ".a.csv", "a.csv"])
def test_a_file_stays_in_its_drawer(tmp_path: Path, name: str) -> None:
    placed = store(tmp_path, "tensile", name, CSV)
    assert placed == "tensile/a.csv"
    assert (tmp_path / placed).read_bytes() == CSV


def test_an_older_file_is_kept(tmp_path: Path) -> None:
    first = store(tmp_path, "bench", "a.csv", CSV)
    assert store(tmp_path, "bench", "a.csv", CSV) == first
    assert store(tmp_path, "bench", "a.csv", CSV + b"1,2\n") == "bench/a-2.csv"
    assert (tmp_path / first).read_bytes() == CSV


@pytest.mark.parametrize(
    ("text", "delimiter", "decimal", "columns"),
    [
        ("# told\nt [s],P [bar]\n0.0,0.1\n", "comma", ".", ["t [s]", "P [bar]"]),
        ("strain;stress\n%;MPa\n0,1;2,5\n", "semicolon", ",", ["strain", "stress"]),
        ("clock\tangle\n10:03:00,5\t1,25\n10:03:01\t2,5\n", "tab", ",", ["clock", "angle"]),
        ("machine 7\n\nforce_N,mm\n1,2\n3,4\n", "comma", ".", ["force_N", "mm"]),
    ],
)
def test_a_table_is_recognised(
    tmp_path: Path, text: str, delimiter: str, decimal: str, columns: list[str]
) -> None:
    path = tmp_path / "t.csv"
    path.write_text(text)
    seen = preview(path)
    assert (seen["delimiter"], seen["decimal"], seen["columns"]) == (delimiter, decimal, columns)


def test_columns_are_guessed(tmp_path: Path) -> None:
    path = tmp_path / "t.csv"
    path.write_text("elapsed s,Pressure bar,bending angle deg,load gf\n0,1,2,3\n")
    guesses = preview(path)["guesses"]
    assert list(guesses.values()) == ["time", "pressure", "angle", "force"]


def test_a_workbook_is_shown(tmp_path: Path) -> None:
    path = write_workbook(tmp_path / "w.xlsx", "form", ["line of words"], ["time_s", "angle_deg"])
    with pytest.raises(InputError, match="no table"):
        preview(path)


@pytest.mark.parametrize("text", ["", "nothing but words\nmore words\n", "1,2\n3,4\n"])
def test_what_is_no_table_is_told(tmp_path: Path, text: str) -> None:
    path = tmp_path / "t.csv"
    path.write_text(text)
    with pytest.raises(InputError, match="no table"):
        preview(path)


def test_an_object_is_measured(site: Served) -> None:
    """A cube of 10 mm holds 1 cm3, and its surface as sent holds the same."""
    name = site("PUT", "/api/upload/objects/cube.stl", cube_stl(10.0)).json["file"]
    head, arrays = unpacked(site.get(f"/api/object?file={name}").body)
    assert head["size_mm"] == [10.0, 10.0, 10.0]
    assert head["volume_cm3"] == pytest.approx(1.0)
    assert volume(arrays["positions"][0], arrays["triangles"]) == pytest.approx(1000.0)


def test_an_open_object_is_refused_with_the_reason(site: Served) -> None:
    whole = cube_stl()
    holed = whole[:80] + (11).to_bytes(4, "little") + whole[84:-50]
    name = site("PUT", "/api/upload/objects/holed.stl", holed).json["file"]
    told = site.get(f"/api/object?file={name}")
    assert told.status == 422
    assert "open" in told.json["message"]


def test_a_scene_is_the_saved_result(tmp_path: Path) -> None:
    folder = made_up_project(tmp_path) / "results/bend"
    result = made_up_bend()
    head, arrays = unpacked(scene(folder))
    assert [step["label"] for step in head["steps"]][-1] == "100 kPa"
    assert len(head["steps"]) == STEPS == len(arrays["positions"])
    surface = whole_surface(result.mesh)
    expected = surface.place(result.mesh.points + result.displacement_mm[-1])
    np.testing.assert_allclose(arrays["positions"][-1][: len(expected)], expected, atol=1e-4)
    values = arrays["node_strain"][-1]
    nodes = 100.0 * result.node_strain[-1][surface.node]
    np.testing.assert_allclose(values[: len(nodes)], nodes, rtol=1e-5)
    assert nodes.min() <= values.min()
    assert values.max() <= nodes.max() + 1e-4, "colours never go beyond the nodes"
    assert arrays["triangles"].max() == arrays["positions"].shape[1] - 1
    assert head["peaks"][-1].endswith("roof of bellows 2")


def test_a_scene_of_contact_tells_the_peak_that_its_colours_smooth(tmp_path: Path) -> None:
    result = made_up_press()
    save_result(tmp_path / "press", "press", result, {})
    head, _ = unpacked(scene(tmp_path / "press"))
    assert head["peaks"] == [
        f"{1e3 * top:.3g} kPa at one point; 95th percentile {1e3 * most:.3g} kPa"
        for top, most in zip(result.peak_mpa, result.p95_mpa, strict=True)
    ]
    assert "mean around each node" in head["fields"][0]["label"]


def test_the_design_at_rest_holds_its_material(site: Served) -> None:
    """Solid and cavity from the closed form of the volumes (finger.volumes) bound the surface."""
    head, arrays = unpacked(site.post("/api/shape", {}).body)
    told = site.post("/api/try", {}).json["measures"]
    outside = volume(arrays["positions"][0], arrays["triangles"]) / 1e3
    whole = told["material_volume_cm3"] + told["cavity_volume_cm3"]
    assert outside == pytest.approx(whole, rel=1e-6)
    assert head["fields"] == []


def test_a_row_of_a_study_becomes_changes_and_a_finger(site: Served) -> None:
    row = {"pitch_mm": 9.5, "bellows_count": 3, "working_pressure_kpa": 55, "flow_percent": 105.0,
           "tip_angle_deg": 35.5}  # fmt: skip
    head, arrays = unpacked(site.post("/api/design", {"row": row}).body)
    assert {tuple(change["path"]): change["value"] for change in head["changes"]} == {
        ("finger", "pitch_mm"): 9.5,
        ("finger", "bellows_count"): 3,
        ("loads", "working_pressure_kpa"): 55,
        ("printer", "flow_percent"): 105.0,
    }
    _, own = unpacked(site.post("/api/shape", {"changes": []}).body)
    assert arrays["positions"][..., 0].max() > own["positions"][..., 0].max() + 9.0


def test_a_design_that_is_no_row_is_refused(site: Served) -> None:
    told = site.post("/api/design", {"row": [1, 2]})
    assert told.status == 422
    assert "table of names and values" in told.json["message"]


def test_results_are_listed_and_known_to_be_old(site: Served) -> None:
    told = site.get("/api/results").json
    (bend,) = [r for r in told["results"] if r["place"] == "bend"]
    assert bend["fits"] is False, "written with another input hash"
    assert bend["scenes"] == ["bend"]
    assert "bend.csv" in bend["files"]
    assert told["card"]["constants"] == {"mu_mpa": 2.0}


def test_the_summary_is_that_of_the_command_line(site: Served) -> None:
    told = site.get("/api/summary?place=bend").json
    assert any("90°" in sentence for sentence in told["sentences"])


def test_a_result_is_kept_beside_a_later_one(tmp_path: Path) -> None:
    results = made_up_project(tmp_path) / "results"
    keep(results, "bend", "first try")
    assert scene(results / "kept/first try/bend") == scene(results / "bend")
    for name in ("", "../out", "a/b", "x" * 60):
        with pytest.raises(InputError):
            keep(results, "bend", name)
    with pytest.raises(StoreError):
        keep(results, "nowhere", "again")


def test_everything_can_be_saved(site: Served) -> None:
    with zipfile.ZipFile(io.BytesIO(site.get("/zip/bend").body)) as archive:
        assert archive.testzip() is None
        assert "bend/bend.csv" in archive.namelist()
    saved = site.get("/files/results/bend/bend.csv?save=1")
    assert saved.headers["content-disposition"].startswith("attachment")
    assert saved.body.startswith(b"pressure_kpa,")


def test_a_table_is_numbers_where_it_can_be(tmp_path: Path) -> None:
    path = tmp_path / "t.csv"
    path.write_text("a,b,c\n1,x,\n2.5,y,nan\n,z,inf\n")
    told = table(path)
    assert told["columns"][0] == [1.0, 2.5, None]
    assert told["columns"][1] == ["x", "y", "z"]
    assert json.dumps(told, allow_nan=False)


def test_a_damaged_result_is_told(site: Served) -> None:
    (site.workbench.desk.results / "bend/arrays.npz").write_bytes(b"broken")
    told = site.get("/api/scene?place=bend")
    assert told.status == 422
    assert "cannot be read" in told.json["message"]


def test_the_page_asks_for_all_its_modules_at_once() -> None:
    """A module that is found only inside another one costs the page a round of waiting."""
    page = (STATIC / "index.html").read_text()
    own = {path.relative_to(STATIC).as_posix() for path in (STATIC / "app").rglob("*.js")}
    assert {name for name in own if f'href="/static/{name}"' not in page} == {"app/main.js"}
    assert "://" not in page

"""The air sheet: numbers, pictures and refusals."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import numpy as np
import pytest

from fiddlehead.air.cautions import CAUTIONS
from fiddlehead.air.cavity import Cavity
from fiddlehead.air.sizing import size_supply
from fiddlehead.errors import StoreError
from fiddlehead.finger.volumes import cavity_volume_mm3, inlet_volume_mm3
from fiddlehead.project.air import air_request
from fiddlehead.project.load import Project, load_project
from fiddlehead.report.document import Picture, Section, Sheet, Steps, Table, html
from fiddlehead.report.export.store import save_result
from fiddlehead.report.figures.air import cycle_picture, draw_cycle, volume_picture
from fiddlehead.report.supply import air_sheet, write_air
from fiddlehead.report.volume import finger_volume
from tests.cli.command import SMALL
from tests.report.made_up import made_up_bend

SOFT = Cavity(np.array([0.0, 50.0, 100.0]), np.array([3.0, 3.4, 4.0]))


@pytest.fixture
def project(tmp_path: Path) -> Project:
    (tmp_path / "fiddlehead.toml").write_text(SMALL, encoding="utf-8")
    return load_project(tmp_path)


def sized(project: Project):  # type: ignore[no-untyped-def]
    return size_supply(air_request(project.sections.air, 100.0, SOFT, 20.0))


def test_everything_is_written(project: Project, tmp_path: Path) -> None:
    result = sized(project)
    written = write_air(tmp_path / "results", project, SOFT, result, "measured")
    page = (written.folder / "air.html").read_text(encoding="utf-8")
    for caution in CAUTIONS:
        assert caution.replace("&", "&amp;") in page
    for name in ("cycle.png", "volume_pressure.png"):
        assert f'src="{name}"' in page
        assert (written.folder / name).stat().st_size > 5000
    record = json.loads((written.folder / "air.json").read_text())
    assert record["free_air_per_cycle_cm3"] == result.free_air_per_cycle_cm3
    with (written.folder / "fill.csv").open() as file:
        rows = list(csv.DictReader(file))
    assert float(rows[-1]["time_s"]) == pytest.approx(result.fill.duration_s)
    assert float(rows[-1]["pressure_kpa"]) == pytest.approx(95.0)


def test_sheet_tells_paths_energy_and_sizes(project: Project) -> None:
    result = sized(project)
    sheet = air_sheet("small", result, "measured")
    tables = [block for part in sheet.sections for block in part.blocks if isinstance(block, Table)]
    cells = {cell for table in tables for row in table.rows for cell in row}
    assert "narrowest: fill valve" in cells
    assert any("opens at 110 kPa" in cell for cell in cells)
    assert any("stalls at 150 kPa" in cell for cell in cells)
    assert "stretched walls of all fingers" in cells
    assert all(len(row) == len(table.header) for table in tables for row in table.rows)


def test_pictures_hold_the_numbers(project: Project) -> None:
    result = sized(project)
    picture = cycle_picture(result, "one grasp", "")
    assert picture.hold == (result.fill.duration_s, result.fill.duration_s + 3.0)
    assert picture.vent.x[-1] == pytest.approx(result.shortest_cycle_s)
    texts = [text.get_text() for text in draw_cycle(picture).axes[1].texts]
    assert any(f"{1e3 * result.vent.duration_s:.3g} ms" in text for text in texts)
    volume = volume_picture(SOFT, 100.0, 101.325, "air", "")
    assert volume.curves[1].y[-1] == pytest.approx((201.325 * 4.0 - 101.325 * 3.0) / 100.0)


def test_volume_from_a_saved_bend_result(project: Project, tmp_path: Path) -> None:
    bent = made_up_bend()
    about = {"project": {"entries": project.sections.model_dump(mode="json")}}
    save_result(tmp_path / "bend", "bend", bent, about)
    found = finger_volume(project, tmp_path)
    inlet = inlet_volume_mm3(project.finger) / 1e3
    top = found.cavity.volume_at(np.array([100.0]))[0]
    assert top == pytest.approx(bent.cavity_volume_mm3[-1] / 1e3 + inlet)
    assert found.wall_energy_mj == pytest.approx(bent.strain_energy_mj[-1])
    assert found.remarks == ()


def test_a_changed_finger_is_noticed(project: Project, tmp_path: Path) -> None:
    entries = project.sections.model_dump(mode="json")
    entries["finger"]["height_mm"] = 13.0
    entries["air"]["fingers"] = 5  # of no matter to V(p)
    save_result(tmp_path / "bend", "bend", made_up_bend(), {"project": {"entries": entries}})
    (remark,) = finger_volume(project, tmp_path).remarks
    assert "[finger] changed" in remark


def test_rigid_needs_no_result(project: Project, tmp_path: Path) -> None:
    found = finger_volume(project, tmp_path, rigid=True)
    volume = cavity_volume_mm3(project.finger) + inlet_volume_mm3(project.finger)
    assert found.cavity.volume_cm3[0] == pytest.approx(volume / 1e3)
    assert "rigid" in found.remarks[0]


def test_no_result_or_too_short_a_one(project: Project, tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="not known yet") as caught:
        finger_volume(project, tmp_path)
    assert "fiddlehead bend" in caught.value.remedy
    (tmp_path / "fiddlehead.toml").write_text(
        SMALL.replace("working_pressure_kpa = 100.0", "working_pressure_kpa = 120.0")
    )
    save_result(tmp_path / "bend", "bend", made_up_bend(), {})
    with pytest.raises(StoreError, match="ends below the working pressure"):
        finger_volume(load_project(tmp_path), tmp_path)


def test_a_page_escapes_and_keeps_order() -> None:
    blocks = ("a < b", Table(("x & y",), (("<1>",),)), Picture('p".png', "it"), Steps(("one",)))
    page = html(Sheet("T <i>", "sub", (Section("S & s", blocks),), cautions=("mind",)))
    for text in (
        "T &lt;i&gt;",
        "a &lt; b",
        "x &amp; y",
        "&lt;1&gt;",
        "p&#34;.png",
        "<li>one</li>",
    ):
        assert text in page
    assert page.index("S &amp; s") < page.index("mind")
    assert "http" not in page

"""Sheets, tables and pictures of an airtightness experiment, on the invented coupons."""

from __future__ import annotations

import csv
import importlib.util
import tomllib
from pathlib import Path

import numpy as np
import pytest

from fiddlehead.errors import StoreError
from fiddlehead.fabricate.coupon import leak_coupon
from fiddlehead.fabricate.experiment_analysis import ExperimentResult, analyse
from fiddlehead.fabricate.experiment_factors import FACTORS, chosen_factors
from fiddlehead.fabricate.experiment_plan import make_plan
from fiddlehead.fabricate.experiment_sheet import read_sheet
from fiddlehead.project.experiment import experiment_plan
from fiddlehead.project.load import Project, load_project
from fiddlehead.report.document import Steps, Table
from fiddlehead.report.experiment import write_analysis, write_plan
from fiddlehead.report.experiment_sheets import analysis_sheet, plan_sheet
from fiddlehead.report.figures.chance import chance_picture, draw_chance
from fiddlehead.report.figures.experiment import (
    contour_picture,
    draw_contour,
    draw_effects,
    draw_trade,
    effects_picture,
    factor_label,
    trade_picture,
    word_label,
)
from fiddlehead.report.figures.main_effects import draw_main_effects, main_effects_picture

DEMO = Path(__file__).resolve().parents[2] / "examples" / "greenware"
SHEET = DEMO / "coupons" / "result_sheet.csv"


@pytest.fixture(scope="module")
def inventor():  # type: ignore[no-untyped-def]
    spec = importlib.util.spec_from_file_location("invent_coupons", DEMO / "invent_coupons.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def project() -> Project:
    return load_project(DEMO)


@pytest.fixture(scope="module")
def result() -> ExperimentResult:
    return analyse(read_sheet(SHEET))


def test_the_shipped_sheet_is_the_invented_one(inventor, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    assert inventor.invent(DEMO, tmp_path).read_bytes() == SHEET.read_bytes()


def test_the_invented_truth_is_found(inventor, result: ExperimentResult) -> None:  # type: ignore[no-untyped-def]
    best = result.recommendation
    truth = inventor.log_leak(np.array(best.coded))
    _, low, high = best.leak_cm3_per_min
    assert low < 10**truth < high
    expected = {"flow_percent": "115", "layer_height_mm": "0.08", "wall_speed_mm_per_s": "10"}
    assert expected.items() <= best.settings.items()
    assert "could" not in " ".join(result.remarks)


def test_plan_is_written_and_a_filled_sheet_spared(project: Project, tmp_path: Path) -> None:
    plan = experiment_plan(project.sections.experiment)
    coupon = leak_coupon(project.finger, project.fittings)
    written = write_plan(tmp_path, project, plan, coupon)
    sheet = written.folder / "result_sheet.csv"
    with sheet.open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == len(plan.coded)
    assert rows[0]["flow_percent"] == plan.setting(0, 0)
    assert (written.folder / "coupon.3mf").stat().st_size > 1000
    page = (written.folder / "plan.html").read_text(encoding="utf-8")
    assert "eye protection" in page
    assert "C36" in page
    write_plan(tmp_path, project, plan, coupon)  # nobody has written into the sheet
    sheet.write_text(sheet.read_text(encoding="utf-8") + "remark\n", encoding="utf-8")
    with pytest.raises(StoreError, match="filled in"):
        write_plan(tmp_path, project, plan, coupon)
    assert sheet.read_text(encoding="utf-8").endswith("remark\n")


def test_analysis_is_written(project: Project, result: ExperimentResult, tmp_path: Path) -> None:
    written = write_analysis(tmp_path, project, result, SHEET)
    assert [p.name for p in written.pictures] == [
        "effects.png", "main_effects.png", "chance.png", "contour.png", "tight_against_soft.png"
    ]  # fmt: skip
    recommended = tomllib.loads((written.folder / "recommended.toml").read_text(encoding="utf-8"))
    assert recommended["flow_percent"] == 115
    assert set(recommended) == {factor.name for factor in result.sheet.factors}
    with (written.folder / "effects.csv").open(encoding="utf-8") as file:
        first = next(csv.DictReader(file))
    assert first["effect"] == "flow"
    assert float(first["change_of_log10_leak"]) < -0.8


def test_sheets_have_tables_that_fit(project: Project, result: ExperimentResult) -> None:
    plan = experiment_plan(project.sections.experiment)
    coupon = leak_coupon(project.finger, project.fittings)
    sheets = (
        plan_sheet("demo", plan, coupon, 7.8, 150.0, "side", 0.5),
        analysis_sheet("demo", result, ("effects",)),
    )
    for sheet in sheets:
        tables = [b for part in sheet.sections for b in part.blocks if isinstance(b, Table)]
        assert tables
        assert all(len(row) == len(t.header) for t in tables for row in t.rows)
        assert sheet.cautions
    text = " ".join(b for p in sheets[0].sections for b in p.blocks if isinstance(b, str))
    steps = [line for p in sheets[0].sections for b in p.blocks if isinstance(b, Steps)
             for line in b.lines]  # fmt: skip
    assert any("no more than 0.5 % of its gauge pressure" in line for line in steps)
    assert "ae = bc = df" in text  # what the fraction cannot tell apart


def test_pictures_hold_the_numbers(result: ExperimentResult) -> None:
    effects = effects_picture(result, "what", "")
    assert effects is not None
    assert effects.labels[0] == "flow"
    assert effects.active[0]
    assert any(label.endswith("*") for label in effects.labels)
    assert len(draw_effects(effects).axes) == 2
    contour = contour_picture(result, "leak")
    assert contour is not None
    assert (contour.across.name, contour.up.name) == ("flow_percent", "layer_height_mm")
    assert contour.best == pytest.approx((115.0, 0.08))
    lowest = result.recommendation.leak_cm3_per_min[0]
    assert contour.leak_cm3_per_min[0, -1] == pytest.approx(lowest)
    assert contour.leak_cm3_per_min.min() == pytest.approx(lowest)
    assert draw_contour(contour).axes
    trade = trade_picture(result, "trade")
    assert trade is not None
    assert (np.diff(trade.front[:, 0]) > 0).all()
    assert (np.diff(trade.front[:, 1]) < 0).all()
    assert draw_trade(trade).axes


def test_main_effects_lie_on_the_surface(result: ExperimentResult) -> None:
    picture = main_effects_picture(result, "leak over each setting", "")
    flow = picture.panels[0]
    assert flow.levels == ("100", "107.5", "115")
    middle = np.zeros((1, 6))
    middle[0, 0] = 1.0
    assert flow.leak_cm3_per_min[-1] == pytest.approx(10 ** result.surface.predict(middle)[0][0])
    assert (flow.low < flow.leak_cm3_per_min).all()
    assert (flow.high > flow.leak_cm3_per_min).all()
    assert len(flow.coupons) == np.isfinite(result.log_leak).sum()
    assert flow.active
    assert not picture.panels[5].active
    assert np.ptp(picture.panels[5].leak_cm3_per_min) == pytest.approx(0.0, abs=1e-12)
    assert picture.pair is not None
    assert picture.pair.line_levels == ("0.08", "0.24")
    at_low, at_high = picture.pair.leak_cm3_per_min
    assert at_high[0] / at_high[1] > at_low[0] / at_low[1]  # flow helps most in thick layers
    shown = [axes for axes in draw_main_effects(picture).axes if axes.get_visible()]
    assert len(shown) == 7


def test_chance_rises_with_flow(result: ExperimentResult) -> None:
    picture = chance_picture(result, "chance", "")
    assert picture is not None
    assert picture.factor.name == "flow_percent"
    assert (np.diff(picture.chance) > 0).all()
    assert (picture.low < picture.chance).all()
    assert (picture.high > picture.chance).all()
    assert len(picture.coupons) == 36
    dots = draw_chance(picture).axes[0].collections[1].get_offsets()
    above = dots[:, 1] > 100.0
    np.testing.assert_array_equal(above, picture.coupons[:, 1] == 1.0)
    assert len(np.unique(dots, axis=0)) == 36  # none hides another


def test_labels() -> None:
    factors = chosen_factors(("flow_percent", "layer_height_mm", "ironing"), {})
    assert factor_label(factors[0]) == "flow (%)"
    assert factor_label(factors[2]) == "ironing of flat roofs"
    speed = chosen_factors(("wall_speed_mm_per_s",), {})[0]
    assert factor_label(speed) == "speed of walls (mm/s)"
    assert word_label("ab", factors) == "flow × layer height"
    assert word_label("aa", factors) == "flow²"


def test_three_levels_have_no_half_normal_plot(tmp_path: Path, project: Project) -> None:
    numeric = [f for f in FACTORS.values() if not f.words][:3]
    plan = make_plan(tuple(numeric), "Box-Behnken", replicates=1, blocks=1)
    rng = np.random.default_rng(2)
    lines = ["run,block," + ",".join(f.name for f in numeric) + ",leak_cm3_per_min"]
    for run, coded in enumerate(plan.coded):
        leak = 10 ** (0.5 * coded[0] ** 2 - 0.4 * coded[1] + 0.02 * rng.standard_normal())
        cells = [plan.setting(run, place) for place in range(3)]
        lines.append(f"{run + 1},1,{','.join(cells)},{leak:.4f}")
    sheet = tmp_path / "sheet.csv"
    sheet.write_text("\n".join(lines), encoding="utf-8")
    found = analyse(read_sheet(sheet))
    assert effects_picture(found, "", "") is None
    assert trade_picture(found, "") is None
    written = write_analysis(tmp_path, project, found, sheet)
    assert [p.name for p in written.pictures] == ["main_effects.png", "contour.png"]

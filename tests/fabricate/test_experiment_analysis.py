"""From a filled sheet to a recommendation: known truths are found again, gaps are survived."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
import statsmodels.api as sm

from fiddlehead.errors import CurveError, ParameterError
from fiddlehead.fabricate.experiment_analysis import ExperimentResult, analyse
from fiddlehead.fabricate.experiment_effects import half_normal_quantiles, two_level_effects
from fiddlehead.fabricate.experiment_factors import FACTORS, FIRST_SIX, chosen_factors
from fiddlehead.fabricate.experiment_odds import fit_odds
from fiddlehead.fabricate.experiment_plan import ExperimentPlan, make_plan
from fiddlehead.fabricate.experiment_sheet import blank_rows, read_sheet
from fiddlehead.fabricate.experiment_surface import fit_surface, places

SCREENING = make_plan(chosen_factors(FIRST_SIX, {}), "fractional factorial", seed=3)
THREE = make_plan(
    chosen_factors(("flow_percent", "layer_height_mm", "nozzle_temperature_deg_c"), {}),
    "Box-Behnken", centre_points=4, replicates=2, seed=3,
)  # fmt: skip


def filled(
    plan: ExperimentPlan,
    folder: Path,
    *,
    scatter: float = 0.1,
    semicolons: bool = False,
    lost: int = 0,
) -> Path:
    """A sheet with a made-up truth: flow seals, layers leak, both together more; hot is softer."""
    random = np.random.default_rng(5)
    rows = blank_rows(plan)
    header = rows[0]
    for run, row in enumerate(rows[1:]):
        a, b, c = plan.coded[run, :3]
        log_leak = 0.3 - 0.6 * a + 0.4 * b - 0.3 * a * b + 0.2 * (plan.block[run] - 1.5)
        if not plan.two_level:
            log_leak += 0.5 * a * a
        leak = 10 ** (log_leak + scatter * random.standard_normal())
        values = {
            "leak_cm3_per_min": f"{leak:.4f}", "holds": "yes" if leak < 2.0 else "no",
            "mass_g": f"{6 + 0.3 * a:.3f}",
            "wall_thickness_mm": f"{1.2 + 0.06 * a + 0.002 * random.standard_normal():.4f}",
            "modulus_mpa": f"{12 - 0.5 * c + 0.05 * random.standard_normal():.3f}",
        }  # fmt: skip
        if run < lost:
            values = {"leak_cm3_per_min": "", "holds": "no"}
        for name, value in values.items():
            row[header.index(name)] = value.replace(".", ",") if semicolons else value
        if semicolons:
            row[:] = [cell.replace(".", ",") for cell in row]
    path = folder / "sheet.csv"
    with path.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file, delimiter=";" if semicolons else ",").writerows(rows)
    return path


def test_sheet_comes_back_as_planned(tmp_path: Path) -> None:
    sheet = read_sheet(filled(SCREENING, tmp_path))
    assert [f.name for f in sheet.factors] == list(FIRST_SIX)
    np.testing.assert_allclose(sheet.coded, SCREENING.coded, atol=1e-9)
    np.testing.assert_array_equal(sheet.block, SCREENING.block)
    assert sheet.coupon[0] == "C01"
    european = read_sheet(filled(SCREENING, tmp_path, semicolons=True))
    np.testing.assert_allclose(european.leak_cm3_per_min, sheet.leak_cm3_per_min)


@pytest.fixture(scope="module")
def screened(tmp_path_factory: pytest.TempPathFactory) -> ExperimentResult:
    return analyse(read_sheet(filled(SCREENING, tmp_path_factory.mktemp("sheet"))))


def test_screening_finds_what_moves_the_leak(screened: ExperimentResult) -> None:
    assert screened.two_level
    assert screened.effects is not None
    values = {effect.word: effect.value for effect in screened.effects.effects}
    assert values["a"] == pytest.approx(-1.2, abs=0.1)
    assert values["b"] == pytest.approx(0.8, abs=0.1)
    assert values["ab"] == pytest.approx(-0.6, abs=0.1)
    assert {"a", "b", "ab"} <= set(screened.surface.words)
    assert len(screened.surface.words) <= 5  # 1 in 20 of 15 effects may slip in, no more
    truth = {"a": -0.6, "b": 0.4, "ab": -0.3}
    for word, value in truth.items():
        place = 1 + screened.surface.words.index(word)
        error = np.sqrt(screened.surface.covariance[place, place])
        assert abs(screened.surface.coefficients[place] - value) < 4 * error


def test_recommendation_is_the_tight_corner(screened: ExperimentResult) -> None:
    best = screened.recommendation
    assert best.settings["flow_percent"] == "115"
    assert best.settings["layer_height_mm"] == "0.08"
    best_leak, low, high = best.leak_cm3_per_min
    # a = 1, b = -1: 0.3 - 0.6 - 0.4 + 0.3
    assert low < 10**-0.4 < high
    assert low < best_leak < high
    assert best.next_coupon_cm3_per_min[0] < low
    assert best.next_coupon_cm3_per_min[1] > high
    assert best.chance_to_hold is not None
    assert best.chance_to_hold[0] > 0.9
    assert "retraction_mm" in best.without_effect
    assert any("Confirm" in remark for remark in screened.remarks)


def test_tightness_against_stiffness(screened: ExperimentResult) -> None:
    assert "bending stiffness" in screened.stiffness_name
    front = screened.front
    assert 1 < front.sum() < len(front)
    leak, stiff = screened.grid_leak[front], screened.grid_stiffness[front]
    order = np.argsort(leak)
    assert (np.diff(stiff[order]) < 0).all()
    soft = float(np.median(screened.grid_stiffness))
    softer = analyse(screened.sheet, stiffest=soft)
    assert softer.recommendation.stiffness is not None
    assert softer.recommendation.stiffness[0] <= soft
    assert softer.recommendation.leak_cm3_per_min[0] > screened.recommendation.leak_cm3_per_min[0]
    with pytest.raises(ParameterError, match="as soft as that"):
        analyse(screened.sheet, stiffest=0.1)


def test_three_levels_find_the_valley(tmp_path: Path) -> None:
    found = analyse(read_sheet(filled(THREE, tmp_path, scatter=0.05)))
    assert not found.two_level
    assert found.effects is None
    assert {"a", "b", "ab", "aa"} <= set(found.surface.words)
    # d/da (-0.6 a - 0.3 a b + 0.5 a²) = 0 at b = -1: a = 0.3; grid of 21 levels
    assert found.recommendation.coded[1] == -1.0
    assert found.recommendation.coded[0] == pytest.approx(0.3, abs=0.25)


def test_lost_coupons_cost_precision_only(tmp_path: Path) -> None:
    found = analyse(read_sheet(filled(SCREENING, tmp_path, lost=5)))
    assert {"a", "b", "ab"} <= set(found.surface.words)
    assert "5 coupons have no leak rate" in found.remarks[0]


def test_noise_alone_recommends_nothing(tmp_path: Path) -> None:
    path = filled(SCREENING, tmp_path)
    sheet = read_sheet(path)
    noise = 10 ** (0.1 * np.random.default_rng(11).standard_normal(len(sheet.coded)))
    quiet = analyse(type(sheet)(**{**vars(sheet), "leak_cm3_per_min": noise}))
    assert len(quiet.surface.words) <= 2
    assert len(quiet.recommendation.without_effect) >= 4


def test_coupons_that_all_leak_the_same_say_nothing(tmp_path: Path) -> None:
    sheet = read_sheet(filled(SCREENING, tmp_path))
    same = type(sheet)(**{**vars(sheet), "leak_cm3_per_min": np.zeros(len(sheet.coded))})
    with pytest.raises(ParameterError, match="all coupons leak the same"):
        analyse(same)


def test_one_noisy_replicate_keeps_to_the_mean(tmp_path: Path) -> None:
    """Nothing stands out: no terms, no blocks, and still an answer with its scatter."""
    plan = make_plan(
        chosen_factors(FIRST_SIX[:3], {}), "full factorial", centre_points=0, replicates=1, blocks=1
    )
    sheet = read_sheet(filled(plan, tmp_path))
    noise = 10 ** (0.3 * np.random.default_rng(1).standard_normal(len(plan.coded)))
    found = analyse(type(sheet)(**{**vars(sheet), "leak_cm3_per_min": noise}))
    assert found.surface.words == ()
    assert [row.source for row in found.variance] == ["residual"]
    assert found.recommendation.coded == (0.0, 0.0, 0.0)
    mean = np.exp(np.log(noise).mean())
    assert found.recommendation.leak_cm3_per_min[0] == pytest.approx(mean)


def test_stiffness_that_never_changes_is_no_stiffness(tmp_path: Path) -> None:
    sheet = read_sheet(filled(SCREENING, tmp_path))
    flat = np.full(len(sheet.coded), np.nan)
    found = analyse(
        type(sheet)(
            **{
                **vars(sheet),
                "modulus_mpa": flat,
                "wall_thickness_mm": np.full(len(sheet.coded), 1.2),
            }
        )
    )
    assert "mass" in found.stiffness_name


def test_half_normal_quantiles_are_those_of_the_formula() -> None:
    """Median of the half-normal distribution is 0.6745 standard deviations."""
    assert half_normal_quantiles(15)[7] == pytest.approx(0.6745, abs=1e-4)


def test_effects_survive_missing_corners() -> None:
    corners = np.array([[a, b, c] for a in (-1, 1) for b in (-1, 1) for c in (-1, 1)], float)
    response = 3.0 + 2.0 * corners[:, 0] - corners[:, 1]
    response[2] = np.nan
    found = {e.word: e.value for e in two_level_effects(corners, response).effects}
    assert found["a"] == pytest.approx(4.0)
    assert found["b"] == pytest.approx(-2.0)
    response[2:7] = np.nan
    with pytest.raises(ParameterError, match="too few different corners"):
        two_level_effects(corners, response)


def test_blocks_do_not_bend_the_surface() -> None:
    plan = make_plan(chosen_factors(FIRST_SIX[:3], {}), "full factorial", seed=2)
    block = plan.block.astype(float)
    response = 1.0 + 0.5 * plan.coded[:, 0] + 10.0 * (block - 1.5)
    surface = fit_surface(plan.coded, response, ("a",), block)
    np.testing.assert_allclose(surface.coefficients, [1.0, 0.5], atol=1e-9)


def test_odds_of_a_two_by_two_table_add_half_a_coupon() -> None:
    """Firth's estimate of a log odds ratio adds 1/2 to each cell (Firth 1993)."""
    coded = np.repeat([-1.0, 1.0], [10, 12])[:, None]
    holds = np.concatenate([np.repeat([1.0, 0.0], [3, 7]), np.repeat([1.0, 0.0], [12, 0])])
    found = fit_odds(coded, holds)
    expected = np.log((12.5 / 0.5) / (3.5 / 7.5)) / 2.0
    assert found.coefficients[1] == pytest.approx(expected, rel=1e-6)
    best, low, high = found.chance(np.array([1.0]))
    assert best == pytest.approx(12.5 / 13.0, rel=1e-6)
    assert 0.0 < low < best < high < 1.0


def test_odds_of_many_coupons_are_ordinary_logistic_regression() -> None:
    random = np.random.default_rng(4)
    coded = random.choice([-1.0, 1.0], (4000, 2))
    holds = (random.random(4000) < 1 / (1 + np.exp(-(0.3 + coded @ [0.8, -0.5])))).astype(float)
    ordinary = sm.Logit(holds, sm.add_constant(coded)).fit(disp=0)
    found = fit_odds(coded, holds)
    np.testing.assert_allclose(found.coefficients, ordinary.params, atol=2e-3)
    np.testing.assert_allclose(np.sqrt(np.diag(found.covariance)), ordinary.bse, rtol=0.01)


def test_odds_need_answers() -> None:
    with pytest.raises(ParameterError, match="too few yes-or-no"):
        fit_odds(np.array([[1.0], [-1.0]]), np.array([1.0, np.nan]))


def test_grid_is_of_a_size_that_can_be_searched() -> None:
    for count in range(2, 9):
        grid = places(tuple(FACTORS.values())[:count])
        assert count * 10 < 100 or len(grid) <= 20000
        assert grid.min() == -1.0
        assert grid.max() == 1.0
    worded = places((FACTORS["flow_percent"], FACTORS["ironing"]))
    assert set(worded[:, 1]) == {-1.0, 1.0}
    assert 0.0 in worded[:, 0]


BAD_SHEETS = {
    "empty": "",
    "no sheet": "a,b\n1,2\n",
    "no numbers": "run,block,flow_percent,leak_cm3_per_min\n1,1,100,much\n2,1,115,1\n",
    "unreadable setting": "run,block,flow_percent,leak_cm3_per_min\n1,1,a lot,1\n2,1,115,1\n",
    "nothing filled in": "run,block,flow_percent,leak_cm3_per_min\n1,1,100,\n2,1,115,\n",
    "odd answer": "run,block,flow_percent,leak_cm3_per_min,holds\n"
    + "".join(f"{i},1,{100 + i},1,perhaps\n" for i in range(6)),
    "block in words": "run,block,flow_percent,leak_cm3_per_min\n"
    + "".join(f"{i},red,{100 + i},1\n" for i in range(6)),
    "doubled column": "run,flow_percent,flow_percent,leak_cm3_per_min\n1,1,1,1\n",
    "one level only": "run,block,flow_percent,leak_cm3_per_min\n"
    + "".join(f"{i},1,100,1\n" for i in range(6)),
}


@pytest.mark.parametrize("case", BAD_SHEETS)
def test_a_wrong_sheet_is_refused(case: str, tmp_path: Path) -> None:
    path = tmp_path / "sheet.csv"
    path.write_text(BAD_SHEETS[case], encoding="utf-8")
    with pytest.raises((CurveError, ParameterError)) as caught:
        read_sheet(path)
    assert len(str(caught.value).splitlines()) == 1


def test_no_sheet_at_all(tmp_path: Path) -> None:
    with pytest.raises(CurveError, match="cannot be read"):
        read_sheet(tmp_path / "nowhere.csv")

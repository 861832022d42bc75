"""Pictures of a study: the numbers behind them, and that crowds are thinned and told."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from fiddlehead.report.figures.study.designs import designs_picture, draw_designs
from fiddlehead.report.figures.study.front import draw_front, front_picture
from fiddlehead.report.figures.study.labels import MOST_MARKS, label, split_unit, written
from fiddlehead.report.figures.study.matrix import draw_matrix, matrix_picture
from fiddlehead.report.figures.study.parallel import draw_parallel, parallel_picture
from fiddlehead.report.figures.study.search import draw_search, search_picture
from fiddlehead.report.figures.style import save
from fiddlehead.study.evolution import Search
from fiddlehead.study.goals import Goals, Limit, Objective
from fiddlehead.study.sampling import sample
from tests.report.test_figures import seen
from tests.study.analytic import FINGER, PATTERN, SPACE

GOALS = Goals(
    (Objective("tip_angle_deg", "largest"), Objective("mass_g", "smallest")),
    (Limit("mass_g", at_most=4.0),),
)


def designs(count: int):  # type: ignore[no-untyped-def]
    rows = sample(SPACE, "Sobol sequence", count, 1)
    unit = SPACE.unit(rows)
    return rows, {"tip_angle_deg": 90.0 * (1 - unit[:, 0]), "mass_g": 1.0 + 3 * unit.sum(1)}


@pytest.mark.parametrize(
    ("name", "axis"),
    [
        ("mass_g", "mass (g)"),
        ("lateral_stiffness_n_per_mm", "lateral stiffness (N/mm)"),
        ("print_time_min", "print time (min)"),
        ("tip_angle_deg", "tip angle (°)"),
        ("cavity_volume_cm3", "cavity volume (cm³)"),
        ("bellows_count", "bellows count"),
        ("working_pressure_kpa", "working pressure (kPa)"),
        ("blocked_force_n", "blocked force (N)"),
        ("strain_p95_percent", "strain p95 (%)"),
    ],
)
def test_axes_carry_units(name: str, axis: str) -> None:
    assert label(name) == axis


def test_values_carry_units() -> None:
    assert written("wall_thickness_mm", 1.2) == "1.2 mm"
    assert written("pad_cells", "hexagonal") == "hexagonal"
    assert split_unit("modulus_factor") == ("modulus factor", "")


def test_front_names_the_best_and_shows_limits(tmp_path: Path) -> None:
    _, columns = designs(64)
    picture = front_picture(GOALS, columns, np.arange(1, 65), [3, 5], "front", "64 designs")
    assert picture.pairs == (("tip_angle_deg", "mass_g"),)
    assert picture.named == ((3, "4"), (5, "6"))
    assert picture.limits["mass_g"] == (None, 4.0)
    assert not (picture.first & ~picture.met).any()
    assert save(draw_front(picture), tmp_path, "front")[0].stat().st_size > 10_000


def test_the_small_print_ends_before_the_frame_where_the_saved_picture_ends() -> None:
    _, columns = designs(64)
    columns["mass_g"] = columns["mass_g"] + 12.25
    detail = "300 designs on the draft mesh; best again on standard; study 'shorter finger'"
    figure = draw_front(front_picture(GOALS, columns, np.arange(64), [3], "front", detail))
    figure.canvas.draw()
    (small,) = [text for text in seen(figure) if text.get_text() == detail]
    assert small.get_window_extent().x1 <= figure.axes[0].get_window_extent().x1


def test_crowds_are_thinned_but_the_best_stay(tmp_path: Path) -> None:
    rows, columns = designs(3 * MOST_MARKS)
    best = [7, 1234, 5999]
    lines = parallel_picture(SPACE, GOALS, rows, columns, best, "all", "many")
    assert MOST_MARKS <= len(lines.heights) <= MOST_MARKS + 3
    assert len(lines.best) == 3
    assert f"of {3 * MOST_MARKS} designs drawn" in lines.detail
    unit = SPACE.unit([rows[k] for k in best])
    assert lines.heights[list(lines.best), : len(SPACE.names)] == pytest.approx(unit)
    assert lines.heights.min() >= 0.0
    assert lines.heights.max() <= 1.0
    matrix = matrix_picture(SPACE, GOALS, rows, columns, best, "matrix", "many")
    assert matrix.best.sum() == 3
    assert matrix.words == {"bellows_count": ("2", "3")}
    for figure in (draw_parallel(lines), draw_matrix(matrix)):
        assert save(figure, tmp_path, "crowd")[0].stat().st_size > 10_000


def test_designs_without_a_number_are_left_out_of_lines() -> None:
    rows, columns = designs(20)
    columns["mass_g"][3] = np.nan
    lines = parallel_picture(SPACE, GOALS, rows, columns, [3, 4], "all", "")
    assert len(lines.heights) == 19
    assert len(lines.best) == 1


def test_side_by_side_marks_what_differs_and_what_misses(tmp_path: Path) -> None:
    start = PATTERN.start(SPACE.names)
    other = {**start, "wall_thickness_mm": 1.0}
    found = {"tip_angle_deg": 40.0, "mass_g": 5.0}
    picture = designs_picture(
        [("own", FINGER, start, found), ("other", PATTERN.design(other).finger, other, found)],
        GOALS, "two", "",
    )  # fmt: skip
    marks = {name: mark for name, _, mark in picture.cards[1].lines}
    assert marks["wall thickness"] == "differs"
    assert marks["base thickness"] == ""
    assert marks["mass"] == "missed"
    unknown = dict.fromkeys(found, float("nan"))
    (card,) = designs_picture([("own", FINGER, start, unknown)], GOALS, "one", "").cards
    assert ("mass", "not known", "") in card.lines  # nobody knows whether it misses its limit
    assert save(draw_designs(picture), tmp_path, "two")[0].stat().st_size > 10_000


def test_searches_are_measured_by_one_reference(tmp_path: Path) -> None:
    costs = np.array([[3.0, 3.0], [1.0, 2.0], [2.0, 1.0]])
    rows = [{"x": float(k)} for k in range(3)]
    one = Search(rows, costs, np.zeros((3, 0)), np.array([1, 2, 3]))
    missed = Search(rows, costs, np.array([[-1.0], [1.0], [1.0]]), np.array([1, 2, 3]))
    picture = search_picture({"a": one, "b": missed}, np.array([4.0, 4.0]), "search", "")
    (_, asked, share), (_, _, other) = picture.lines
    assert asked.tolist() == [1.0, 2.0, 3.0]
    assert share == pytest.approx(np.array([1.0, 6.0, 8.0]) / 8.0)
    assert other == pytest.approx(np.array([1.0, 1.0, 1.0]) / 8.0)
    assert save(draw_search(picture), tmp_path, "search")[0].stat().st_size > 10_000

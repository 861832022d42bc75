"""Variables, goals and samples: laws that hold for all of them, and what is refused."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fiddlehead.errors import ParameterError
from fiddlehead.study.catalogue import CATALOGUE, trial, trial_of, trials_for
from fiddlehead.study.goals import Goals, Limit, Objective
from fiddlehead.study.pattern import variable_names
from fiddlehead.study.sampling import sample
from fiddlehead.study.space import Choice, Range, Space
from tests.study.analytic import PATTERN, SPACE

SPACE_OF_ALL = Space(
    (Range("a", -2.0, 5.0), Range("b", 0.8, 2.0, steps=4), Choice("c", ("x", "y", "z")))
)


@given(st.lists(st.floats(0.0, 1.0), min_size=3, max_size=3))
def test_designs_go_to_the_cube_and_back(share: list[float]) -> None:
    (row,) = SPACE_OF_ALL.rows(np.array([share]))
    assert SPACE_OF_ALL.rows(SPACE_OF_ALL.unit([row])) == [pytest.approx(row)]
    assert -2.0 <= row["a"] <= 5.0  # type: ignore[operator]
    assert row["b"] in [pytest.approx(0.8 + 0.4 * k) for k in range(4)]


def test_grid_has_every_combination_once() -> None:
    rows = sample(SPACE_OF_ALL, "full grid", 0, 0)
    assert len(rows) == len({tuple(row.values()) for row in rows}) == 3 * 4 * 3
    assert {row["b"] for row in rows} == {SPACE_OF_ALL["b"].at(k / 3.0001) for k in range(4)}


def test_one_at_a_time_moves_one_variable() -> None:
    start = PATTERN.start(SPACE.names)
    rows = sample(SPACE, "one at a time", 0, 0, start)
    assert rows[0] == start
    moved = [sum(row[n] != start[n] for n in start) for row in rows[1:]]
    assert moved == [1] * len(moved)
    assert len(rows) == 1 + 3 + 3 + 1  # 1.2 and 2.0 lie on no level of either range
    with pytest.raises(ParameterError, match="start from"):
        sample(SPACE, "one at a time", 0, 0)


@pytest.mark.parametrize("method", ["Latin hypercube", "Sobol sequence"])
def test_a_seed_decides_the_sample(method: str) -> None:
    first, again, other = (sample(SPACE, method, 20, seed) for seed in (1, 1, 2))  # type: ignore[arg-type]
    assert first == again
    assert first != other
    assert {row["bellows_count"] for row in first} == {2, 3}


def test_a_longer_sobol_sequence_goes_on_from_a_shorter() -> None:
    assert sample(SPACE, "Sobol sequence", 40, 1)[:16] == sample(SPACE, "Sobol sequence", 16, 1)


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        (lambda: Range("a", 2.0, 1.0), "bounds must rise"),
        (lambda: Range("a", 0.0, float("nan")), "bounds must rise"),
        (lambda: Range("a", 0.0, 1.0, steps=1), "too few steps"),
        (lambda: Choice("a", (1,)), "two or more"),
        (lambda: Choice("a", (1, 1)), "two or more"),
        (lambda: Choice("a", (1, 2)).share(3), "not one of the choices"),
        (lambda: Space(()), "nothing varies"),
        (lambda: Space((Range("a", 0, 1), Range("a", 0, 1))), "named twice"),
        (lambda: Limit("a"), "at_least"),
        (lambda: Limit("a", at_least=2.0, at_most=1.0), "at_least"),
        (lambda: Goals(()), "nothing is wanted"),
        (lambda: sample(SPACE, "dice", 3, 1), "no such sampling"),  # type: ignore[arg-type]
        (lambda: sample(SPACE, "Latin hypercube", 0, 1), "too few designs"),
        (
            lambda: sample(
                Space((Range("a", 0, 1, 400), Range("b", 0, 1, 400))), "full grid", 0, 0
            ),
            "too large",
        ),
        (lambda: trial("wiggle"), "no such trial"),
        (lambda: trial_of("charm"), "no trial finds"),
        (lambda: PATTERN.design({"colour": 1.0}), "cannot vary"),
        (lambda: PATTERN.design({"pad_rib_count": 3}), "cannot vary"),
    ],
)
def test_what_makes_no_sense_is_refused(wrong, told: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(ParameterError, match=told):
        wrong()


def test_trials_are_found_by_what_they_measure() -> None:
    kinds = trials_for(["tip_angle_deg", "mass_g", "strain_p95_percent"], ["lateral"])
    assert [kind.name for kind in kinds] == ["size", "bend", "lateral"]
    named = [name for kind in CATALOGUE.values() for name in kind.quantities]
    assert len(named) == len(set(named))
    assert not set(named) & set(variable_names(with_pad=True))


def test_limits_and_objectives() -> None:
    goals = Goals(
        (Objective("a", "largest"), Objective("b", "smallest")),
        (Limit("a", at_least=2.0), Limit("b", at_least=-1.0, at_most=4.0)),
    )
    columns = {"a": np.array([1.0, 2.0, 3.0, np.nan]), "b": np.array([4.0, 4.0, 6.0, 0.0])}
    assert goals.met(columns).tolist() == [False, True, False, False]
    assert goals.excess(columns)[0].tolist() == [0.5, 0.0]
    assert goals.excess(columns)[2, 1] == pytest.approx(0.5)
    assert np.isinf(goals.excess(columns)[3, 0])
    assert goals.costs(columns)[:, 0].tolist() == [-1.0, -2.0, -3.0, np.inf]
    assert goals.quantities == ("a", "b")
    assert goals.limits[1].says == "b ≥ -1 and b ≤ 4"


def test_a_print_with_errors_has_other_walls() -> None:
    wider = PATTERN.design({"line_width_error_mm": 0.04}).finger
    assert wider.wall_thickness_mm == pytest.approx(1.24)
    assert wider.base_thickness_mm == pytest.approx(2.04)
    assert wider.side_wall_thickness_mm == 1.2  # built up in layers when it lies on its side
    assert PATTERN.design({"flow_error_percent": 10.0}).finger == wider
    higher = PATTERN.design({"layer_height_error_mm": -0.1}).finger
    assert (higher.side_wall_thickness_mm, higher.wall_thickness_mm) == (pytest.approx(1.1), 1.2)
    stiff = PATTERN.design({"modulus_factor": 1.1})
    assert stiff.constants["c20_mpa"] == pytest.approx(-0.121)
    assert stiff.bulk_modulus_mpa == pytest.approx(1100.0)

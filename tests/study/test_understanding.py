"""Predictions with their error, effects, small changes, searches and odds, on closed forms."""

from __future__ import annotations

import dataclasses
import math
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.stats import norm

from fiddlehead.errors import ParameterError
from fiddlehead.study import catalogue
from fiddlehead.study.change import smallest_change
from fiddlehead.study.definition import Study
from fiddlehead.study.descent import descend
from fiddlehead.study.evolution import evolve
from fiddlehead.study.explore import asker, explore, offered, ranked, row_of
from fiddlehead.study.fronts import hypervolume
from fiddlehead.study.goals import Goals, Limit, Objective
from fiddlehead.study.prints import tolerance_of
from fiddlehead.study.sampling import latin_hypercube, sobol_sequence
from fiddlehead.study.slopes import Slopes
from fiddlehead.study.space import Choice, Range, Space
from fiddlehead.study.store import Store
from fiddlehead.study.surrogate import Surrogate
from fiddlehead.study.tolerance import Cause, by_adjoint
from fiddlehead.study.understand import understand
from tests.study.analytic import FINGER, KIND, MESH, PATTERN, SPACE, softness

GOALS = Goals(
    (Objective("softness", "largest"), Objective("stress", "smallest")),
    (Limit("softness", at_least=0.35),),
)
CUBE = Space(tuple(Range(f"x{k}", 0.0, 1.0) for k in range(4)))


@pytest.fixture
def study(monkeypatch: pytest.MonkeyPatch) -> Study:
    monkeypatch.setitem(catalogue.CATALOGUE, KIND.name, KIND)
    return Study(
        name="demo",
        pattern=PATTERN,
        space=SPACE,
        goals=GOALS,
        designs=40,
        mesh_name="draft",
        mesh=MESH,
        full_mesh_name="preview",
        full_mesh=dataclasses.replace(MESH, rows_flank=2),
        causes=(
            Cause("line_width_error_mm", 0.0, 0.02),
            Cause("modulus_factor", 1.0, 0.05),
        ),
    )


def smooth(unit: np.ndarray) -> np.ndarray:
    return np.sin(3.0 * unit[:, 0]) + unit[:, 1] ** 2 + 0.3 * unit[:, 0] * unit[:, 2]


@pytest.mark.parametrize("noise", [0.0, 0.1])
def test_bands_hold_designs_that_were_not_seen(noise: float) -> None:
    """95 % bands of ten samples hold 90 to 100 % of 200 held-out designs each, 95 % on average
    within what the mean of so few bands scatters."""
    inside = []
    for seed in range(6):
        random = np.random.default_rng(seed)
        unit, held_out = latin_hypercube(4, 50, seed), random.random((200, 4))
        columns = {"f": smooth(unit) + noise * random.standard_normal(50)}
        told = Surrogate(CUBE, CUBE.rows(unit), columns, ["f"]).predict_unit(held_out)["f"]
        true = smooth(held_out) + noise * random.standard_normal(200)
        inside.append(np.mean(np.abs(true - told.mean) <= told.band))
    assert np.mean(inside) > 0.92
    assert min(inside) > 0.85


def test_leaving_out_in_closed_form_is_leaving_out() -> None:
    unit = latin_hypercube(4, 20, 0)
    values = smooth(unit)
    surrogate = Surrogate(CUBE, CUBE.rows(unit), {"f": values}, ["f"])
    process = surrogate.fits["f"].process
    kernel = process.regressor.kernel_
    for left in (0, 7, 19):
        others = np.arange(20) != left
        k = kernel(unit[others])
        cross = process.kernel(unit[[left]], unit[others])
        mean = process.middle + process.scale * (cross @ np.linalg.solve(k, process.values[others]))
        assert surrogate.checked["f"].foretold[left] == pytest.approx(mean[0], abs=1e-6)


def test_a_slider_gets_its_answer_in_50_ms() -> None:
    unit = latin_hypercube(4, 300, 0)
    columns = {name: smooth(unit) * k for k, name in enumerate("abc", 1)}
    surrogate = Surrogate(
        CUBE, CUBE.rows(unit[:60]), {n: v[:60] for n, v in columns.items()}, "abc"
    )
    row = CUBE.rows(unit[:1])
    surrogate.predict(row)
    began = time.perf_counter()
    surrogate.predict(row)
    assert time.perf_counter() - began < 0.05


def test_the_least_sure_designs_are_offered_and_not_twice() -> None:
    unit = latin_hypercube(4, 30, 0)
    unit[:, 0] *= 0.5  # nothing is known beyond the middle of x0
    surrogate = Surrogate(CUBE, CUBE.rows(unit), {"f": smooth(unit)}, ["f"])
    candidates = sobol_sequence(4, 128, 0)
    rows = surrogate.unsure(candidates, 4)
    assert np.mean([row["x0"] > 0.5 for row in rows]) == 1.0  # type: ignore[operator]
    assert len({tuple(row.values()) for row in rows}) == 4


def test_too_few_designs_are_told() -> None:
    unit = latin_hypercube(4, 5, 0)
    with pytest.raises(ParameterError, match="too few designs"):
        Surrogate(CUBE, CUBE.rows(unit), {"f": smooth(unit)}, ["f"])


def test_words_and_counts_are_foretold() -> None:
    space = Space((Range("a", 0.0, 1.0), Choice("kind", ("x", "y", "z")), Choice("n", (3, 5, 9))))
    rows = space.rows(latin_hypercube(3, 60, 1))
    height = {"x": 0.0, "y": 5.0, "z": 1.0}
    values = np.array([r["a"] + height[r["kind"]] + 0.1 * r["n"] ** 2 for r in rows])  # type: ignore[index, operator]
    surrogate = Surrogate(space, rows, {"f": values}, ["f"])
    told = surrogate.predict([{"a": 0.5, "kind": "y", "n": 5}])["f"]
    assert told.mean[0] == pytest.approx(8.0, abs=0.05)


def test_smallest_change_to_a_plane() -> None:
    """x0 + x1 >= 1.2 from the origin: nearest point (0.6, 0.6, 0, 0)."""
    unit = latin_hypercube(4, 60, 0)
    surrogate = Surrogate(CUBE, CUBE.rows(unit), {"f": unit[:, 0] + unit[:, 1]}, ["f"])
    goals = Goals((Objective("f", "largest"),), (Limit("f", at_least=1.2),))
    found = smallest_change(surrogate, goals, dict.fromkeys(CUBE.names, 0.0))
    assert found is not None
    assert set(found.moved) == {"x0", "x1"}
    assert found.distance == pytest.approx(math.sqrt(0.72), rel=0.1)
    assert found.foretold["f"][0] - found.foretold["f"][1] >= 1.2 - 1e-3
    held = smallest_change(
        surrogate, goals, {**dict.fromkeys(CUBE.names, 0.0), "x0": 1.0, "x1": 1.0}
    )
    assert held is not None
    assert held.moved == {}
    none = Goals(goals.objectives, (Limit("f", at_least=3.0),))
    assert smallest_change(surrogate, none, dict.fromkeys(CUBE.names, 0.0)) is None


def test_a_study_from_sample_to_understanding(study: Study, tmp_path: Path) -> None:
    with Store(tmp_path / "s.sqlite") as store:
        study.begin(store)
        assert len(ranked(study, store)) == 0
        with pytest.raises(ParameterError, match="no design yet"):
            understand(study, store)
        frame = explore(study, store)
        assert len(frame) == 40
        best = frame[frame["front"] > 0][:3]
        assert best["full_softness"].tolist() == best["softness"].tolist()
        assert frame["full_softness"].notna().sum() == 3
        first = frame[frame["front"] == 1]
        for _, one in frame[frame["front"] > 1].iterrows():
            assert (
                (first["softness"] >= one["softness"]) & (first["stress"] <= one["stress"])
            ).any()
        assert (frame[frame["front"] == 0]["softness"] < 0.35).sum() > 0
        found = understand(study, store)
        assert found.surrogate is not None
        assert found.change is not None
        assert set(found.quantities) == {"softness", "stress"}
        told = found.surrogate.predict([found.change.row])["softness"].mean[0]
        true = softness(*(found.change.row[n] for n in SPACE.names))  # type: ignore[arg-type]
        assert told == pytest.approx(true, rel=0.02)
        assert true >= 0.35
        number = int(frame["number"].iloc[0])
        assert row_of(study, store, number) == study.rows(frame[:1])[0]
        with pytest.raises(ParameterError, match="no such design"):
            row_of(study, store, 999)
        assert len(offered(study, store, 3)) == 3
        # goals may change afterwards; nothing is simulated again
        eased = dataclasses.replace(study, goals=Goals(GOALS.objectives))
        assert (ranked(eased, store)["front"] > 0).sum() > (frame["front"] > 0).sum()


def test_a_search_that_is_repeated_simulates_nothing(study: Study, tmp_path: Path) -> None:
    with Store(tmp_path / "s.sqlite") as store:
        study.begin(store)
        ask = asker(study, store, "optimise")
        first = evolve(study.space, study.goals, ask, designs=48, population=12)
        count = len(store.table("demo"))
        again = evolve(study.space, study.goals, ask, designs=48, population=12)
        assert len(store.table("demo")) == count <= 48
        assert first.rows == again.rows
        assert np.array_equal(first.costs, again.costs)
        stopped = evolve(
            study.space, study.goals, asker(study, store, "optimise", stop=lambda: True),
            designs=480, population=12, seed=2,
        )  # fmt: skip
        assert stopped.rows == []
    with pytest.raises(ParameterError, match="too few designs to evolve"):
        evolve(study.space, study.goals, ask, designs=3)


def valley(row: dict[str, Any]) -> Slopes:
    """Two paraboloids: the front is the line between their bottoms."""
    x, y = row["x0"], row["x1"]
    values = {"f": x**2 + (y - 0.2) ** 2, "g": (x - 1.0) ** 2 + (y - 0.2) ** 2, "h": x + y}
    slopes = {
        "f": {"x0": 2 * x, "x1": 2 * (y - 0.2)},
        "g": {"x0": 2 * (x - 1.0), "x1": 2 * (y - 0.2)},
        "h": {"x0": 1.0, "x1": 1.0},
    }
    return Slopes(values, slopes)


def test_gradients_find_a_front_with_few_simulations() -> None:
    """Hypervolume of sqrt(f) + sqrt(g) = 1 with reference (1, 1) is 5/6 by integration."""
    space = Space((Range("x0", 0.0, 1.0), Range("x1", 0.0, 1.0), Choice("n", (1, 2))))
    goals = Goals((Objective("f", "smallest"), Objective("g", "smallest")))
    start = {"x0": 0.9, "x1": 0.9, "n": 2}
    found = descend(space, goals, valley, start, designs=120, points=9)
    assert len(found.rows) <= 120
    assert {row["n"] for row in found.rows} == {2}
    front = found.costs[found.front]
    assert np.sqrt(front).sum(1) == pytest.approx(1.0, abs=0.01)
    assert hypervolume(front, np.array([1.0, 1.0])) > 0.75
    limited = Goals(goals.objectives, (Limit("h", at_least=0.5, at_most=0.9),))
    kept = descend(space, limited, valley, start, designs=60)
    assert kept.costs[kept.front, 0].min() == pytest.approx(0.045, abs=0.01)  # (0.15, 0.35)
    few = descend(space, goals, valley, start, designs=5)
    assert len(few.rows) == 5
    fixed = Space((Range("x0", 0.0, 1.0, steps=3), Choice("n", (1, 2))))
    with pytest.raises(ParameterError, match="moved by a gradient"):
        descend(fixed, goals, valley, start, designs=5)


def test_odds_of_a_plane_are_those_of_the_normal_distribution() -> None:
    """Closed form: a sum of independent normal causes is normal."""
    causes = [Cause("a", 0.0, 0.3), Cause("b", 2.0, 0.4)]
    told = Slopes({"f": 10.0}, {"f": {"a": 2.0, "b": -1.0}})
    limits = [Limit("f", at_least=9.5), Limit("f", at_most=11.0)]

    def ask(rows: Any) -> dict[str, np.ndarray]:
        return {"f": np.array([10.0 + 2.0 * r["a"] - (r["b"] - 2.0) + 0.1 for r in rows])}

    found = by_adjoint(told, causes, limits, ask)
    sd = math.hypot(0.6, 0.4)
    below, above = found.limits
    assert below.chance == pytest.approx(norm.cdf(0.5 / sd), abs=0.01)  # 20,000 draws: 0.003
    assert above.chance == pytest.approx(norm.cdf(1.0 / sd), abs=0.01)
    assert found.chance_of_all == pytest.approx(norm.cdf(1.0 / sd) - norm.cdf(-0.5 / sd), abs=0.01)
    assert below.interval[0] < below.chance < below.interval[1]
    assert below.worst == pytest.approx(10.0 - 3 * 0.6 - 3 * 0.4)
    assert below.worst_row == {"a": pytest.approx(-0.9), "b": pytest.approx(3.2)}
    assert below.worst_simulated == pytest.approx(below.worst + 0.1)
    assert found.model_error["f"] == pytest.approx(0.1)
    assert list(below.shares.values()) == pytest.approx([0.36 / 0.52, 0.16 / 0.52])
    assert below.matter == ("a", "b")
    with pytest.raises(ParameterError, match="does not reach"):
        by_adjoint(Slopes({}, {}, "burst"), causes, limits, ask)


def test_odds_by_simulations(study: Study, tmp_path: Path) -> None:
    """softness falls with the wall: the chance is that of the wall being thin enough, and the
    modulus plays no part."""
    with Store(tmp_path / "s.sqlite") as store:
        study.begin(store)
        nominal = softness(FINGER.wall_thickness_mm, FINGER.base_thickness_mm, 2)
        goals = Goals(GOALS.objectives, (Limit("softness", at_least=nominal),))
        at = dataclasses.replace(study, goals=goals)
        found = tolerance_of(at, store)
        assert found.by == "simulations"
        (odds,) = found.limits
        assert odds.chance == pytest.approx(0.5, abs=0.03)  # the middle of a monotone relation
        assert odds.matter == ("line_width_error_mm",)
        thick = {"wall_thickness_mm": 1.26, "base_thickness_mm": 2.06}
        assert odds.worst == pytest.approx(softness(*thick.values(), 2), rel=1e-3)
        assert odds.worst_simulated == pytest.approx(softness(*thick.values(), 2), rel=1e-9)
        assert len(store.table("demo")) == 25
        assert len(at.table(store)) == 0  # prints are no designs of the study
        with pytest.raises(ParameterError, match="no derivative"):
            tolerance_of(at, store, by="adjoint")
        with pytest.raises(ParameterError, match="no limit"):
            tolerance_of(dataclasses.replace(study, goals=Goals(GOALS.objectives)), store)

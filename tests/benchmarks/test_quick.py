"""Every benchmark runs, on the smallest case, and its table says where it is from."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from benchmarks import (
    cpu_libraries,
    designs,
    growth,
    page,
    sensitivities,
    startup,
    study,
    thousand,
)
from benchmarks.demo import demo_finger
from benchmarks.growth import exponent
from fiddlehead.mesh.settings import mesh_settings
from tests.web.browser import chromium

pytestmark = pytest.mark.slow
OUTSIDE = ("ngsolve",)
"""Libraries that the tests install; the others come with ``.[benchmarks]``."""


def table(place: Path) -> list[dict[str, str]]:
    """Rows of a kept table; its head must tell date, machine and versions."""
    lines = place.read_text(encoding="utf-8").splitlines()
    told = {line[2:].split(":")[0] for line in lines if line.startswith("#")}
    assert told == {"date", "fiddlehead", "machine", "system", "versions"}
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def test_growth(tmp_path: Path) -> None:
    assert growth.main(["--quick", "--results", str(tmp_path)]) == 0
    (row,) = table(tmp_path / "growth.csv")
    assert row["all_complete"] == "True"
    assert 0.0 < float(row["s_per_step"]) < float(row["s_per_curve"])


def test_derivatives_are_timed_beside_the_curve(tmp_path: Path) -> None:
    assert sensitivities.main(["--quick", "--results", str(tmp_path)]) == 0
    (row,) = table(tmp_path / "sensitivities.csv")
    assert float(row["s_curve"]) > 0.0
    assert int(row["parameters"]) > int(row["results"]) > 0


def test_batches_grow_from_sound_designs() -> None:
    cases = growth.batch_cases((1, 64), mesh_settings("preview"))
    assert [len(case.fingers) for case in cases] == [1, 64]
    assert all(not finger.problems() for case in cases for finger in case.fingers)


def test_growth_is_fitted_and_drawn(tmp_path: Path) -> None:
    rows = [
        {"part": "batch", "size": n, "designs": n, "s_per_step": 0.3 * n, "s_per_curve": 9 * n**1.5}
        for n in (1, 2, 4)
    ]
    assert [fit["exponent"] for fit in growth.exponents(rows)] == [1.0, 1.5]
    assert growth.draw(rows, tmp_path / "growth.png").stat().st_size > 10_000


def test_libraries_agree(tmp_path: Path) -> None:
    chosen = ["--libraries", "fiddlehead", *OUTSIDE]
    assert cpu_libraries.main(["--quick", "--results", str(tmp_path), *chosen]) == 0
    rows = table(tmp_path / "cpu_libraries.csv")
    assert {row["library"] for row in rows} == {"fiddlehead", *OUTSIDE}
    assert {row["complete"] for row in rows} == {"True"}
    angles = table(tmp_path / "cpu_libraries_angles.csv")
    assert all(0.0 < float(row["spread"]) < cpu_libraries.COARSE_AGREEMENT for row in angles)


def test_startup(tmp_path: Path) -> None:
    assert startup.main(["--quick", "--results", str(tmp_path)]) == 0
    seconds = {row["what"].strip(): float(row["median"]) for row in table(tmp_path / "startup.csv")}
    stages = [seconds[f"stage: {stage}"] for stage in startup.STAGES]
    whole = seconds["bend, seen before: to the end of the first Newton step"]
    assert sum(stages) == pytest.approx(whole, abs=0.01)
    assert seconds["JAX count: cache_hits"] == seconds["JAX count: compile_requests_use_cache"] > 0
    assert whole < seconds["bend, nothing compiled yet"]


def test_exponent_of_a_known_power() -> None:
    assert exponent([1.0, 2.0, 5.0], [3.0, 12.0, 75.0]) == pytest.approx((2.0, 3.0))


def test_random_designs_are_sound_and_start_from_the_demo() -> None:
    assert demo_finger()[0] == designs.DEMO
    drawn = [*designs.around_demo(20), *designs.in_the_box(20, bellows=3)]
    assert all(not finger.problems() for finger in drawn)
    assert len(set(drawn)) == 40
    assert designs.around_demo(20) == drawn[:20]


def test_a_thousand_designs_begin_with_two(tmp_path: Path) -> None:
    case = ["--designs", "2", "--mesh", "preview", "--lanes", "2"]
    assert thousand.main([*case, "--results", str(tmp_path)]) == 0
    (row,) = table(tmp_path / "thousand.csv")
    assert row["complete"] == row["designs"] == row["lanes"] == "2"
    assert float(row["seconds"]) > 0.0


def test_a_store_of_designs_is_opened_filtered_and_drawn(tmp_path: Path) -> None:
    assert study.main(["store", "--designs", "500", "--results", str(tmp_path)]) == 0
    (row,) = table(tmp_path / "study_store.csv")
    assert row["designs"] == "500"
    seconds = [float(value) for name, value in row.items() if name.endswith("_s")]
    assert len(seconds) == 5
    assert all(second >= 0.0 for second in seconds)  # rounded to milliseconds


def test_a_study_is_timed(tmp_path: Path) -> None:
    assert study.main(["rate", "--designs", "1", "--results", str(tmp_path)]) == 0
    (row,) = table(tmp_path / "study_rate.csv")
    assert (row["designs"], row["complete"], row["device"]) == ("1", "1", "cpu")


def test_page_is_measured(tmp_path: Path) -> None:
    pytest.importorskip("playwright")
    chromium()
    assert page.main(["--quick", "--results", str(tmp_path), "--port", "8790"]) == 0
    (row,) = table(tmp_path / "page.csv")
    assert float(row["page_mb"]) <= page.TARGETS["page_mb"]
    assert float(row["slider_ms"]) > 0.0

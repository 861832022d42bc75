"""What a study takes from each trial, and how it tells what a trial could not find."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from fiddlehead.errors import ParameterError
from fiddlehead.fabricate.fittings import Fittings
from fiddlehead.finger.volumes import mass_g
from fiddlehead.objects.library import DEMO_LIBRARY, read_library
from fiddlehead.study import catalogue
from fiddlehead.study.catalogue import CATALOGUE
from fiddlehead.study.evaluate import evaluate
from fiddlehead.study.pattern import Pressing
from fiddlehead.study.trials import block, lateral, press
from tests.study.analytic import FINGER, MESH, PATTERN

ENDED = SimpleNamespace(complete=False, reason="the roof balloons at 40 kPa")
WHOLE = SimpleNamespace(complete=True, reason="")


def test_every_trial_is_there_and_finds_what_it_says() -> None:
    for kind in CATALOGUE.values():
        assert callable(kind.measure())
        assert set(kind.with_slopes) <= set(kind.quantities)
        assert all(says.endswith(".") for says in kind.quantities.values())
    assert catalogue.trial("bend") is CATALOGUE["bend"]


def test_sizes_are_those_of_the_finger() -> None:
    (found,) = evaluate(PATTERN, [{"base_thickness_mm": 2.0}], (CATALOGUE["size"],), MESH)
    assert found.values["mass_g"] == pytest.approx(mass_g(FINGER, 1.2))
    assert found.values["length_mm"] == pytest.approx(FINGER.length_mm)


def test_blocked_force_is_the_last_one(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[Any] = []

    def rig(finger: Any, law: Any, bulk: float, pressures: Any, **options: Any) -> Any:
        asked.append((pressures[-1], options["preset_angle_deg"]))
        if finger.base_thickness_mm > 2.5:
            raise ParameterError("the free finger does not reach the preset angle")
        history = ENDED if finger.base_thickness_mm > 2.2 else WHOLE
        return SimpleNamespace(history=history, force_n=np.array([0.0, 1.0, 2.5]))

    monkeypatch.setattr(block, "block", rig)
    rows = [{"working_pressure_kpa": 80.0}, {"base_thickness_mm": 2.4}, {"base_thickness_mm": 2.6}]
    found = evaluate(PATTERN, rows, (CATALOGUE["block"],), MESH)
    assert found[0].values == {"blocked_force_n": 2.5}
    assert [one.status for one in found] == ["complete", "partial", "partial"]
    assert "balloons" in found[1].reason
    assert "does not reach" in found[2].reason
    assert asked[0] == (pytest.approx(0.08), 0.0)


def test_pressing_tells_the_worst_of_the_objects(monkeypatch: pytest.MonkeyPatch) -> None:
    library = read_library(DEMO_LIBRARY)
    pressing = Pressing(
        objects=(library["bowl"], library["bottle"]), folder=DEMO_LIBRARY.parent,
        orientation="upright", touch_at_percent=65.0, clearance_mm=0.0, threshold_kpa=1.0,
    )  # fmt: skip

    def rig(finger: Any, *_: Any, object_name: str, **options: Any) -> Any:
        if finger.base_thickness_mm > 2.5:
            raise ParameterError("the object overlaps the finger")
        assert options["friction_coefficient"] == library[object_name].friction_coefficient
        p95, force = {"bowl": (0.01, 2.0), "bottle": (0.02, 1.5)}[object_name]
        history = ENDED if finger.base_thickness_mm > 2.2 else WHOLE
        return SimpleNamespace(
            history=history, p95_mpa=np.array([0.0, p95]), grip_force_n=np.array([0.0, force])
        )

    monkeypatch.setattr(press, "press", rig)
    pattern = dataclasses.replace(PATTERN, pressing=pressing)
    rows = [{"base_thickness_mm": b} for b in (2.0, 2.4, 2.6)]
    good, ended, refused = evaluate(pattern, rows, (CATALOGUE["press"],), MESH)
    limits = [library[name].contact_pressure_limit_kpa for name in ("bowl", "bottle")]
    assert good.values["grip_force_n"] == 1.5
    assert good.values["contact_p95_kpa"] == pytest.approx(20.0)
    assert good.values["contact_margin"] == pytest.approx(min(limits[0] / 10, limits[1] / 20))
    assert "press on bowl: the roof balloons" in ended.reason
    assert "overlaps" in refused.reason


def test_objects_are_known_by_what_they_are_not_where_they_lie(tmp_path: Path) -> None:
    bowl = read_library(DEMO_LIBRARY)["bowl"]
    here = Pressing(
        objects=(bowl,), folder=tmp_path, orientation="upright", touch_at_percent=65.0,
        clearance_mm=0.0, threshold_kpa=1.0,
    )  # fmt: skip
    there = dataclasses.replace(here, folder=tmp_path / "moved")
    other = dataclasses.replace(here, touch_at_percent=60.0)
    contents = [dataclasses.replace(PATTERN, pressing=p).content() for p in (here, there, other)]
    assert contents[0] == contents[1] != contents[2]


def test_lateral_stiffness_has_no_meaning_where_the_finger_falls(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def rig(finger: Any, law: Any, bulk: float, pressures: Any, **options: Any) -> Any:
        high = pressures[-1] > 0.07
        return SimpleNamespace(
            history=ENDED if pressures[-1] > 0.2 else WHOLE,
            stability=np.array([1.0, -0.1 if high else 0.6]),
            unstable_shapes=np.array([0, int(high)]),
            stiffness_n_per_mm=np.array([0.3, 0.2]),
        )

    monkeypatch.setattr(lateral, "lateral", rig)
    rows = [{"working_pressure_kpa": p} for p in (50.0, 100.0, 300.0)]
    stands, falls, ends = evaluate(PATTERN, rows, (CATALOGUE["lateral"],), MESH)
    assert stands.values == {"lateral_stability": 0.6, "lateral_stiffness_n_per_mm": 0.2}
    assert falls.values == {"lateral_stability": -0.1}
    assert "fall sideways" in falls.reason
    assert ends.values == {}
    assert "balloons" in ends.reason


def test_a_print_is_timed_and_checked() -> None:
    import dataclasses

    pattern = dataclasses.replace(PATTERN, fittings=Fittings(mount="plain", port="none"))
    rows = [{"layer_height_mm": 0.3}, {"line_width_mm": 1.5}]
    timed, refused = evaluate(pattern, rows, (CATALOGUE["printcheck"],), MESH)
    assert timed.status == "complete", timed.reason
    assert timed.values["print_time_min"] > 1.0
    assert timed.values["filament_g"] == pytest.approx(1.05 * mass_g(FINGER, 1.2), rel=0.1)
    assert refused.status == "partial"
    assert "a line is wider than the thinnest wall" in refused.reason

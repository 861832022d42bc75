"""What a study takes from each trial, and how it tells what a trial could not find."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from fiddlehead.errors import ParameterError
from fiddlehead.fabricate.fittings import Fittings
from fiddlehead.finger.volumes import mass_g
from fiddlehead.study import catalogue
from fiddlehead.study.catalogue import CATALOGUE
from fiddlehead.study.evaluate import evaluate
from fiddlehead.study.trials import block, lateral
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

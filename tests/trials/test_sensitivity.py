"""Derivatives by the adjoint state against central differences of whole new runs."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
import pytest

from fiddlehead.mechanics.path import PathSettings
from fiddlehead.trials.bend import bend
from fiddlehead.trials.sensitivity import RESULTS, bend_sensitivity
from tests.trials.made import BULK_MPA, COARSE, LAW, SMALL

pytestmark = pytest.mark.slow
PRESSURES = [0.05, 0.15]
TIGHT = PathSettings(tolerance=1e-10)


@pytest.fixture(scope="module")
def found() -> Any:
    return bend_sensitivity(SMALL, LAW, BULK_MPA, PRESSURES, mesh_settings=COARSE, settings=TIGHT)


def results(finger: Any = SMALL, law: Any = LAW, scale: float = 1.0) -> np.ndarray:
    bent = bend(
        finger, law, BULK_MPA, np.array(PRESSURES) * scale, mesh_settings=COARSE, settings=TIGHT
    )
    return np.stack(
        [bent.tip_angle_deg, bent.chord_angle_deg, *bent.tip_path_mm.T, bent.cavity_volume_mm3,
         bent.strain_energy_mj, bent.strain.p95, bent.strain.peak], axis=1,
    )  # fmt: skip


def test_values_are_those_of_the_trial(found: Any) -> None:
    assert found.history.complete
    assert found.results == RESULTS
    assert found.value == pytest.approx(results(), rel=1e-7, abs=1e-9)
    assert np.all(np.isfinite(found.derivative[1:]))


@pytest.mark.parametrize("name", ["wall_thickness_mm", "c10_mpa"])
def test_derivatives_are_those_of_central_differences(found: Any, name: str) -> None:
    owner = SMALL if hasattr(SMALL, name) else LAW
    h = 1e-4 * getattr(owner, name)

    def at(value: float) -> np.ndarray:
        changed = dataclasses.replace(owner, **{name: value})
        return results(finger=changed) if owner is SMALL else results(law=changed)

    middle = getattr(owner, name)
    difference = (at(middle + h) - at(middle - h)) / (2 * h)
    here = found.derivative[1:, :, found.parameters.index(name)]
    assert here == pytest.approx(difference[1:], rel=1e-5)


def test_stiffness_and_pressure_pull_against_each_other(found: Any) -> None:
    """Only ratios of moduli and pressure matter to a shape: ``Σ c ∂/∂c + K ∂/∂K + p ∂/∂p = 0``."""
    constants = {f.name: getattr(LAW, f.name) for f in dataclasses.fields(LAW)}
    for result in ("tip_angle_deg", "tip_x_mm", "cavity_volume_mm3", "strain_p95"):
        total = sum(value * found.of(result, name) for name, value in constants.items())
        total = total + BULK_MPA * found.of(result, "bulk_modulus_mpa")
        pull = found.pressure_mpa * found.of(result, "pressure_mpa")
        assert (total + pull)[1:] == pytest.approx(0.0, abs=1e-6 * np.abs(pull).max())

"""A three-bellows reference finger, from parameters to angle and force.

No published origin: the finger was invented as a code-against-code case. Its reference values are
the middle of a bracket of two general-purpose finite-element libraries, one converging from above
(mixed third-order/second-order hexahedra), one from below (mean-dilatation hexahedra of up to four
cells per mm). Neo-Hookean, mu = 1 MPa, K = 1000 MPa; length 30, width 12, height 12, walls 1 mm.

It proves code against code, not code against reality; only a bench test can do that.
"""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
import pytest

from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.finger.volumes import cavity_volume_mm3, material_volume_mm3
from fiddlehead.material.laws import NeoHookean
from fiddlehead.trials.bend import bend
from fiddlehead.trials.block import block
from tests.published import judge_finger

FINGER = FingerParameters(
    bellows_count=3,
    flank_angle_deg=90.0,
    pitch_mm=8.0,
    valley_gap_mm=2.0,
    height_mm=12.0,
    valley_height_mm=5.0,
    wall_thickness_mm=1.0,
    roof_thickness_mm=1.0,
    base_thickness_mm=2.0,
    side_wall_thickness_mm=1.0,
    width_mm=12.0,
    channel_width_mm=4.0,
    root_length_mm=5.0,
    tip_length_mm=4.0,
)
PRESSURES = [0.005, 0.01, 0.02, 0.03]
ANGLE_DEG = [3.128, 6.16, 11.95, 17.42]
FORCE_N = {0.01: 0.0635, 0.02: 0.1254, 0.03: 0.1863}
MU, BULK = 1.0, 1000.0


def bend_scaled(finger: FingerParameters = FINGER, factor: float = 1.0) -> Any:
    return bend(finger, NeoHookean(MU * factor), BULK * factor, [p * factor for p in PRESSURES])


def hold_scaled(finger: FingerParameters = FINGER, factor: float = 1.0) -> Any:
    pressures = [p * factor for p in FORCE_N]
    return block(finger, NeoHookean(MU * factor), BULK * factor, pressures, tip_hold="held")


@pytest.fixture(scope="module")
def bent() -> Any:
    return bend_scaled()


@pytest.fixture(scope="module")
def blocked() -> Any:
    return hold_scaled()


def scaled_finger(factor: float) -> FingerParameters:
    sizes = {
        f.name: getattr(FINGER, f.name) * factor
        for f in dataclasses.fields(FINGER)
        if f.name.endswith("_mm")
    }
    return dataclasses.replace(FINGER, **sizes)


def test_volumes_and_length_are_exact() -> None:
    assert FINGER.length_mm == pytest.approx(30.0, abs=1e-12)
    assert material_volume_mm3(FINGER) == pytest.approx(2 * 1252.0, rel=1e-12)
    assert cavity_volume_mm3(FINGER) == pytest.approx(1144.0, rel=1e-12)


@pytest.mark.slow
def test_free_angle(bent: Any) -> None:
    assert bent.tip_angle_deg[1:] == pytest.approx(ANGLE_DEG, rel=0.03)


@pytest.mark.slow
def test_meshed_cavity_is_exact_at_rest(bent: Any) -> None:
    assert bent.cavity_volume_mm3[0] == pytest.approx(1144.0, rel=1e-12)


@pytest.mark.slow
def test_zero_pressure_gives_zero_and_curves_rise(bent: Any, blocked: Any) -> None:
    assert bent.tip_angle_deg[0] == 0.0
    assert blocked.force_n[0] == pytest.approx(0.0, abs=1e-12)
    for curve in (bent.tip_angle_deg, bent.cavity_volume_mm3, blocked.force_n):
        assert (np.diff(curve) > 0).all()


@pytest.mark.slow
def test_blocked_force(blocked: Any) -> None:
    assert blocked.force_n[1:] == pytest.approx(list(FORCE_N.values()), rel=0.02)


@pytest.mark.slow
def test_stiffer_by_a_factor_under_more_pressure_keeps_its_shape(bent: Any, blocked: Any) -> None:
    """(mu, K, p) → c (mu, K, p): same shape, force times c. Exact, needs no reference."""
    assert bend_scaled(factor=3.7).tip_angle_deg == pytest.approx(bent.tip_angle_deg, rel=1e-6)
    held = hold_scaled(factor=3.7)
    assert held.force_n == pytest.approx(3.7 * blocked.force_n, rel=1e-6, abs=1e-12)


@pytest.mark.slow
def test_larger_by_a_factor_at_equal_pressure_keeps_its_angle(bent: Any, blocked: Any) -> None:
    """Sizes → s sizes at equal p: same angle, force times s²."""
    finger = scaled_finger(1.9)
    assert bend_scaled(finger).tip_angle_deg == pytest.approx(bent.tip_angle_deg, rel=1e-6)
    held = hold_scaled(finger)
    assert held.force_n == pytest.approx(1.9**2 * blocked.force_n, rel=1e-6, abs=1e-12)


@pytest.mark.slow
def test_the_independent_judge_agrees_on_this_finger(bent: Any) -> None:
    """The judge on its own geometry and tetrahedra, before it is trusted with the demo finger."""
    verdicts = judge_finger.bend(
        judge_finger.RF1,
        judge_finger.neo_hooke(MU),
        BULK,
        PRESSURES[1:],
        coarse_mm=2.0,
        fine_mm=1.2,
    )
    angles = [v.tip_angle_deg for v in verdicts]
    assert angles == pytest.approx(ANGLE_DEG[1:], rel=0.015)
    volumes = [v.cavity_volume_mm3 for v in verdicts]
    assert bent.cavity_volume_mm3[2:] == pytest.approx(volumes, rel=0.01)

"""The demo finger against an independent code, and against its own refined mesh.

The independent code is described in ``judge_finger.py``: NGSolve (Schöberl (2014), ASC Report
30/2014, TU Wien) on tetrahedra of its own CAD geometry. The law is the demo's own card, so both
sides solve the same problem; nothing is said about a real finger.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from fiddlehead.mesh.settings import MeshSettings
from tests.published import judge_finger
from tests.published.refine_greenware import KEPT, PRESSURES_KPA, bend_demo, demo, rows

pytestmark = pytest.mark.slow
TIP_X, TIP_Y = 2, 3


@pytest.fixture(scope="module")
def curve() -> Any:
    """The demo's curve: ten steps to the working pressure, and those of the table."""
    project, _ = demo()
    assert project.mesh == MeshSettings()  # the demo runs on the default mesh
    return bend_demo(project.mesh, np.linspace(15, 150, 10))


@pytest.fixture(scope="module")
def ours(curve: Any) -> np.ndarray:
    return rows(curve)


def test_the_demo_curve_takes_few_linear_solves(curve: Any) -> None:
    assert curve.history.complete
    assert len(curve.pressure_mpa) > 10
    assert curve.history.solves <= 60
    assert curve.history.cuts == 0


@pytest.fixture(scope="module")
def verdicts() -> list[judge_finger.Verdict]:
    project, card = demo()
    assert card.law_name == "yeoh"
    p = project.finger
    shape = judge_finger.Shape(
        bellows=p.bellows_count,
        flank_deg=p.flank_angle_deg,
        pitch=p.pitch_mm,
        gap=p.valley_gap_mm,
        height=p.height_mm,
        valley=p.valley_height_mm,
        wall=p.wall_thickness_mm,
        roof=p.roof_thickness_mm,
        base=p.base_thickness_mm,
        side=p.side_wall_thickness_mm,
        width=p.width_mm,
        channel=p.channel_width_mm,
        root=p.root_length_mm,
        tip=p.tip_length_mm,
    )
    return judge_finger.bend(
        shape,
        judge_finger.yeoh(**card.constants),
        card.bulk_modulus_mpa,
        [kpa / 1000 for kpa in PRESSURES_KPA],
        coarse_mm=3.4,
        fine_mm=2.0,
    )


def tip_travel(tip: np.ndarray) -> np.ndarray:
    """Motion of the tip point from its place at rest, mm."""
    return tip - [demo()[0].finger.length_mm, 0.0]


def assert_same_tip(ours: np.ndarray, theirs: np.ndarray) -> None:
    """Tip points apart by less than 2 % of how far they have travelled."""
    apart = np.linalg.norm(ours - theirs, axis=1)
    assert (apart < 0.02 * np.linalg.norm(tip_travel(theirs), axis=1)).all()


def test_angle_and_tip_agree_with_the_judge(ours: np.ndarray, verdicts: list[Any]) -> None:
    assert ours[:, 1] == pytest.approx([v.tip_angle_deg for v in verdicts], rel=0.02)
    assert_same_tip(ours[:, [TIP_X, TIP_Y]], np.array([v.tip_mm for v in verdicts]))


def test_cavity_volume_agrees_with_the_judge(ours: np.ndarray, verdicts: list[Any]) -> None:
    assert ours[:, 4] == pytest.approx([v.cavity_volume_mm3 for v in verdicts], rel=0.01)


def test_default_mesh_is_within_one_percent_of_the_refined_one(ours: np.ndarray) -> None:
    refined = np.loadtxt(KEPT, delimiter=",", skiprows=2)
    assert list(refined[:, 0]) == list(PRESSURES_KPA)
    assert ours[:, 1] == pytest.approx(refined[:, 1], rel=0.01)
    assert_same_tip(ours[:, [TIP_X, TIP_Y]], refined[:, [TIP_X, TIP_Y]])

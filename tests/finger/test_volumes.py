"""Volumes, mass and centre of mass against counted boxes and against scaling."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings

from fiddlehead.errors import ParameterError
from fiddlehead.finger.pad.parameters import used_sizes
from fiddlehead.finger.parameters import CONTINUOUS, FingerParameters
from fiddlehead.finger.profile import profile_layout
from fiddlehead.finger.volumes import (
    cavity_volume_mm3,
    centroid_mm,
    inlet_volume_mm3,
    mass_g,
    material_volume_mm3,
)
from tests.finger.cases import THREE_CHAMBERS, ZIG_ZAG, fingers

# The box finger as boxes (x, y, half width): outer boxes less cavities, counted by hand.
SOLID = [((0, 10), (0, 12), 6), ((12, 18), (0, 12), 6), ((20, 26), (0, 12), 6)]
SOLID += [((10, 12), (0, 5), 6), ((18, 20), (0, 5), 6), ((26, 30), (0, 5), 6)]
VOID = [((5, 9), (2, 11), 5), ((13, 17), (2, 11), 5), ((21, 25), (2, 11), 5)]
VOID += [((9, 13), (2, 4), 2), ((17, 21), (2, 4), 2)]


def boxes() -> tuple[float, float, np.ndarray]:
    """Solid and cavity volume of the whole box finger and its centre of mass."""
    volume, moment = 0.0, np.zeros(2)
    cavity = 0.0
    for sign, group in ((1, SOLID), (-1, VOID)):
        for (x0, x1), (y0, y1), half in group:
            v = (x1 - x0) * (y1 - y0) * 2 * half
            volume += sign * v
            moment += sign * v * np.array([(x0 + x1) / 2, (y0 + y1) / 2])
            cavity += v if sign < 0 else 0.0
    return volume, cavity, moment / volume


def test_box_finger_volumes_are_exact() -> None:
    volume, cavity, centre = boxes()
    assert volume == 2 * 1252
    assert cavity == 1144
    assert material_volume_mm3(THREE_CHAMBERS) == pytest.approx(volume, rel=1e-14)
    assert cavity_volume_mm3(THREE_CHAMBERS) == pytest.approx(cavity, rel=1e-14)
    np.testing.assert_allclose(centroid_mm(THREE_CHAMBERS)[:2], centre, rtol=1e-13)


def test_the_inlet_is_bored_out_of_the_mass() -> None:
    bored = dataclasses.replace(THREE_CHAMBERS, inlet_bore_mm=4)
    bore = math.pi * 4 * 5
    assert inlet_volume_mm3(bored) == pytest.approx(bore)
    assert material_volume_mm3(bored) == material_volume_mm3(THREE_CHAMBERS)
    assert mass_g(bored, 1.2) == pytest.approx((2504 - bore) * 1.2e-3)
    whole, middle = centroid_mm(THREE_CHAMBERS), np.array([2.5, 6.5, 0])
    expected = (2504 * whole - bore * middle) / (2504 - bore)
    np.testing.assert_allclose(centroid_mm(bored), expected)


@pytest.mark.parametrize("density", [0.0, -1.0, math.nan, math.inf])
def test_impossible_densities_are_refused(density: float) -> None:
    with pytest.raises(ParameterError, match="density"):
        mass_g(ZIG_ZAG, density)


@given(fingers())
@settings(deadline=None)
def test_doubling_every_size_doubles_lengths_and_cubes_volumes(finger: FingerParameters) -> None:
    def twice(sizes: Any, names: tuple[str, ...]) -> Any:
        lengths = [name for name in names if name.endswith("_mm")]
        return dataclasses.replace(sizes, **{n: 2 * getattr(sizes, n) for n in lengths})

    doubled = twice(finger, CONTINUOUS)
    if finger.pad:
        doubled = dataclasses.replace(doubled, pad=twice(finger.pad, used_sizes(finger.pad)))
    assert material_volume_mm3(doubled) == pytest.approx(8 * material_volume_mm3(finger))
    assert cavity_volume_mm3(doubled) == pytest.approx(8 * cavity_volume_mm3(finger))
    np.testing.assert_allclose(centroid_mm(doubled), 2 * centroid_mm(finger))


@given(fingers())
@settings(deadline=None)
def test_material_and_cavity_fill_the_outer_prism(finger: FingerParameters) -> None:
    layout = profile_layout(finger)
    quads = layout.vertices(finger)[[list(r.corners) for r in layout.regions]]
    diagonals = np.stack([quads[:, 2] - quads[:, 0], quads[:, 3] - quads[:, 1]], axis=1)
    prism = np.linalg.det(diagonals).sum() / 2 * finger.width_mm
    filled = material_volume_mm3(finger) + cavity_volume_mm3(finger)
    assert filled == pytest.approx(prism, rel=1e-12)

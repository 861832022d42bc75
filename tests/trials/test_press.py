"""Trial press: a finger on an object, what it reads, what it refuses; pads compared."""

from __future__ import annotations

import dataclasses
from typing import Any

import jax.numpy as jnp
import numpy as np
import pytest

from fiddlehead.errors import ParameterError
from fiddlehead.mechanics.balance import out_of_balance
from fiddlehead.mechanics.loads import contact_forces, pressure_forces
from fiddlehead.mechanics.solve import follow, make_loading, stack
from fiddlehead.objects.shapes.ellipsoid import Ellipsoid
from fiddlehead.objects.shapes.scanned import Scanned
from fiddlehead.objects.shapes.simple import Cylinder, Plane, RoundedBox, Sphere
from fiddlehead.trials.pads import compare_pads, step_at_force
from fiddlehead.trials.placing import heights_under, overlooked_area_mm2, stand
from fiddlehead.trials.press import CONTACT_SETTINGS, obstacle_of, press
from fiddlehead.trials.press_many import Meeting, press_many
from fiddlehead.trials.press_measures import area_quantile
from fiddlehead.trials.rig import set_up
from tests.trials.made import BULK_MPA, COARSE, LAW, SMALL

BALL = Sphere(jnp.asarray(40.0))
PRESSURES = [0.05, 0.1, 0.15]
FRICTION = 0.4


@pytest.fixture(scope="module")
def smooth() -> Any:
    return press(SMALL, LAW, BULK_MPA, PRESSURES, BALL, mesh_settings=COARSE)


@pytest.fixture(scope="module")
def rough() -> Any:
    return press(
        SMALL, LAW, BULK_MPA, PRESSURES, BALL, friction_coefficient=FRICTION, mesh_settings=COARSE
    )


@pytest.mark.slow
def test_a_smooth_object_is_pushed_away_from_the_finger(smooth: Any) -> None:
    assert smooth.history.complete
    assert smooth.grip_force_n[0] == 0.0
    assert np.all(np.diff(smooth.grip_force_n) > 0)
    assert np.all(smooth.force_n[1:, 1] < 0), "away from the gripping face"
    assert np.all(smooth.tangential_force_n == 0)
    # a small patch on a large ball: pressure over area is nearly the force
    assert smooth.normal_force_n[-1] == pytest.approx(smooth.grip_force_n[-1], rel=0.02)
    assert 0 < smooth.mean_mpa[-1] <= smooth.p95_mpa[-1] <= smooth.peak_mpa[-1]
    assert smooth.contact_area_mm2[-1] * smooth.mean_mpa[-1] == pytest.approx(
        smooth.normal_force_n[-1], rel=0.02
    )
    assert 0 < smooth.area_ratio[-1] < 1
    assert smooth.pad_closure[-1] == 0


@pytest.mark.slow
def test_friction_stays_below_its_limit_and_counts_in_the_grip(smooth: Any, rough: Any) -> None:
    assert rough.history.complete
    limit = FRICTION * rough.normal_force_n
    assert np.all(rough.tangential_force_n <= limit * (1 + 1e-9) + 1e-12)
    assert rough.tangential_force_n[-1] > 0.1 * limit[-1]
    assert rough.grip_force_n[-1] != pytest.approx(smooth.grip_force_n[-1], rel=1e-4)


@pytest.mark.slow
def test_contact_reaction_and_air_are_in_balance() -> None:
    """Force of the object = reaction of the supports - resultant of the air, to 1e-6."""
    rig = set_up([SMALL], LAW, BULK_MPA, COARSE, grips=True)
    obstacle = obstacle_of(stand(SMALL, BALL), LAW, 0.0)
    loading = make_loading(rig.body, pressure=PRESSURES[-1], obstacle=obstacle)
    stops = np.array([0.0, *PRESSURES]) / PRESSURES[-1]
    settings = dataclasses.replace(CONTACT_SETTINGS)
    path = follow(rig.body, rig.solids, stack([loading]), stops, settings=settings)
    u, solid = jnp.asarray(path.rows[0, -1]), rig.solid(0)
    total = [
        np.asarray(rig.body.to_nodes(forces)).sum(0)
        for forces in (
            out_of_balance(rig.body, solid, loading, 1.0, u) * (1.0 - rig.body.unknown),
            PRESSURES[-1] * pressure_forces(rig.body, solid, u),
            contact_forces(rig.body, solid, obstacle, u),
        )
    ]
    reaction, air, contact = total
    assert np.abs(contact).max() > 0.1
    size = np.abs(total).max()
    assert reaction + air + contact == pytest.approx(np.zeros(3), abs=1e-6 * size)


@pytest.mark.slow
def test_many_at_once_find_the_same(smooth: Any) -> None:
    standing = stand(SMALL, BALL)
    meetings = [Meeting(finger=SMALL, standing=standing, object_name="ball")]
    ((index, found),) = press_many(
        meetings, LAW, BULK_MPA, PRESSURES, mesh_settings=COARSE, lanes=1
    )
    assert (index, found.object_name) == (0, "ball")
    assert found.grip_force_n == pytest.approx(smooth.grip_force_n, rel=1e-3, abs=1e-6)
    assert found.p95_mpa == pytest.approx(smooth.p95_mpa, rel=1e-2, abs=1e-6)


@pytest.mark.parametrize(
    ("choices", "message"),
    [
        ({"orientation": "sideways"}, "orientation"),
        ({"touch_at_mm": 500.0}, "beside the finger"),
        ({"clearance_mm": -1.0}, "overlaps the finger at rest"),
        ({"friction_coefficient": -0.1}, "friction coefficient"),
        ({"threshold_kpa": 0.0}, "threshold"),
    ],
)
def test_arguments_that_make_no_sense_are_refused(choices: dict[str, Any], message: str) -> None:
    with pytest.raises(ParameterError, match=message):
        press(SMALL, LAW, BULK_MPA, PRESSURES, BALL, mesh_settings=COARSE, **choices)


def test_a_scan_that_is_not_symmetric_is_refused() -> None:
    tilted = np.add.outer(np.linspace(-8, 8, 9), np.zeros((9, 9))) + np.linspace(-8, 8, 9)
    numbers = [jnp.asarray(n, float) for n in (tilted, [-8] * 3, 2.0, [-8] * 3, [8] * 3)]
    with pytest.raises(ParameterError, match="not symmetric"):
        stand(SMALL, Scanned(*numbers), orientation="across")


@pytest.mark.parametrize("orientation", ["upright", "across", "facing"])
def test_objects_stand_touching_the_straight_finger(orientation: str) -> None:
    at = [jnp.asarray(s) for s in (30.0, 20.0, 14.0, 2.0)]
    shapes = [BALL, RoundedBox(*at), Ellipsoid(*at[:3]), Cylinder(at[0], at[1], at[3])]
    if orientation == "facing":
        shapes.append(Plane())
    for shape in shapes:
        standing = stand(SMALL, shape, orientation=orientation, touch_at_mm=12.0)
        heights = heights_under(standing.placed, np.array([[12.0, 0.0], [15.0, 2.0]]), 1.0)
        assert heights[0] == pytest.approx(0.0, abs=1e-3)
        assert heights[1] < 1e-3


def test_the_overlooked_area_of_a_ball_is_its_circle() -> None:
    ball = Sphere(jnp.asarray(10.0))
    area = overlooked_area_mm2(stand(SMALL, ball, touch_at_mm=13.0).placed, SMALL, cells=240)
    assert area == pytest.approx(np.pi * 25, rel=0.03)


def test_the_quantile_goes_by_area() -> None:
    pressure, area = np.array([3.0, 1.0, 2.0]), np.array([1.0, 97.0, 2.0])
    assert area_quantile(pressure, area) == 1.0
    assert area_quantile(pressure, np.ones(3)) == 3.0
    assert area_quantile(np.array([]), np.array([])) == 0.0


@pytest.mark.slow
def test_pads_are_compared_at_equal_force_and_at_equal_air(smooth: Any) -> None:
    """A made-up pad: half the contact pressure everywhere, four fifths of the force."""
    soft = dataclasses.replace(
        smooth,
        grip_force_n=0.8 * smooth.grip_force_n,
        p95_mpa=0.5 * smooth.p95_mpa,
        peak_mpa=0.25 * smooth.peak_mpa,
    )
    other = dataclasses.replace(soft, p95_mpa=1.3 * soft.p95_mpa)
    compared = compare_pads({"none": smooth, "soft": soft}, {"none": smooth, "soft": other})
    bare, pad = compared.at_air
    assert (bare.p95_factor, pad.p95_factor, pad.peak_factor) == pytest.approx((1, 2, 4))
    assert compared.grip_force_n == pytest.approx(soft.grip_force_n[-1])
    bare, pad = compared.at_force
    assert pad.air_kpa == pytest.approx(150.0)
    assert bare.air_kpa < 150.0
    assert bare.grip_force_n == pytest.approx(pad.grip_force_n)
    assert pad.p95_factor == pytest.approx(bare.p95_kpa / pad.p95_kpa)
    assert bare.mesh_holds
    assert not pad.mesh_holds
    assert pad.p95_mesh_change == pytest.approx(0.3)
    low = 2.0 * (smooth.point_area_mm2 * (smooth.point_pressure_mpa > 0.001)).sum(1)
    assert 0 < compared.histogram_mm2[1].sum() <= low.max() * (1 + 1e-9)
    assert np.isnan(step_at_force(soft, 1e3))

"""Heavy arithmetic in single precision meets the tolerance of double."""

from __future__ import annotations

import dataclasses

import jax
import jax.numpy as jnp
import numpy as np
import pytest

from fiddlehead.material.laws import NeoHookean
from fiddlehead.mechanics.balance import linear_system, solve_system
from fiddlehead.mechanics.path import PathSettings
from fiddlehead.mechanics.solve import follow, stack
from fiddlehead.testing.bodies import box
from tests.published.rig import held, make_rig

SLENDER = box((40.0, 1.0, 1.0), (16, 1, 1))
STOPS = [0.0, 0.5, 1.0]


@pytest.mark.slow
def test_a_slender_bending_body_gets_the_same_path() -> None:
    """A cantilever whose softest and stiffest motions lie eight orders of magnitude
    apart."""
    rig = make_rig(SLENDER, NeoHookean(1.0), 50.0, held(SLENDER, x0="xyz"), pressed="y1",
                   pressure=2e-5)  # fmt: skip
    double, single = (
        follow(
            rig.body,
            stack([rig.solid]),
            stack([rig.loading]),
            STOPS,
            settings=dataclasses.replace(PathSettings(), heavy_in_single=chosen),
        )
        for chosen in (False, True)
    )
    assert single.outcome == double.outcome
    assert int(single.solves[0]) <= 1.5 * int(double.solves[0])
    end = double.displacement[0, -1]
    assert np.abs(end).max() > 2.0  # well beyond small deflections
    assert single.displacement[0, -1] == pytest.approx(end, abs=1e-5 * np.abs(end).max())


@pytest.mark.slow
def test_one_solve_is_as_good_as_in_double() -> None:
    rig = make_rig(SLENDER, NeoHookean(1.0), 50.0, held(SLENDER, x0="xyz"), pressed="y1")
    body = rig.body
    system = linear_system(body, rig.solid, rig.loading, 0.0, jnp.zeros(body.size))
    right = jax.random.normal(jax.random.PRNGKey(0), (body.size, 2)) * body.unknown[:, None]
    still = jnp.zeros(body.size)
    exact = solve_system(body, system, right, still)
    near = solve_system(body, system, right, still, in_single=True)
    assert np.asarray(near) == pytest.approx(np.asarray(exact), abs=1e-6 * float(exact.max()))

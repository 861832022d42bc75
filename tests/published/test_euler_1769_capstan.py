"""A strap pulled over a drum: ``T2/T1 = exp(μφ)``.

Source: Euler (1769), Remarques sur l'effet du frottement dans l'équilibre; the formula is in every
textbook of mechanics. A thin quarter ring lies on the drum and is pulled at one end against a dead
force at the other until it slides all round. Tolerance 3 %: the strap is 0.4 mm thick on a drum of
10 mm, and slides by a few hundredths of the arc.
"""

from __future__ import annotations

import jax.numpy as jnp
import numpy as np
import pytest

from fiddlehead.material.laws import NeoHookean
from fiddlehead.mechanics import contact
from fiddlehead.mechanics.path import PathSettings
from fiddlehead.objects.placed import pose
from fiddlehead.objects.shapes.simple import Cylinder
from fiddlehead.testing.bodies import ring_quarter
from tests.published.rig import held, make_rig, spread

DRUM, THICK, WIDE, LIGHT = 10.0, 0.4, 1.0, 0.02


@pytest.mark.slow
def test_a_sliding_strap_obeys_the_capstan_formula() -> None:
    friction = 0.3
    strap = ring_quarter(DRUM, DRUM + THICK, WIDE, (1, 12, 1))
    fixed = held(strap, bottom="z", top="z", cut_x="x")
    drum = contact.make_obstacle(
        Cylinder(jnp.asarray(2 * DRUM), jnp.asarray(20.0), jnp.asarray(1.0)),
        pose((0.0, 0.0, 0.5)),
        4.0,
        friction,
    )
    pull = np.zeros_like(strap.points)
    pull[strap.on("cut_x"), 0] = -0.4
    traction = LIGHT / (THICK * WIDE)
    rig = make_rig(
        strap,
        NeoHookean(4.0),
        200.0,
        fixed,
        touching="inner",
        obstacle=drum,
        prescribed=pull,
        dead=spread(strap, strap.faces["cut_y"], (0.0, -traction, 0.0)),
    )
    solved = rig.follow([0.25, 0.5, 0.75, 1.0], PathSettings(most_iterations=40))
    heavy = abs(float(solved.reaction(3)[strap.on("cut_x"), 0].sum()))
    assert heavy / LIGHT == pytest.approx(np.exp(friction * np.pi / 2), rel=0.03)

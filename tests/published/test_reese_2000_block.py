"""Nearly incompressible block squeezed over part of its top: locking and hourglassing.

Source: Reese, Wriggers & Reddy (2000), A new locking-free brick element technique for large
deformation problems in elasticity, Computers & Structures 75, 291-304 (set-up from memory): a
quarter, 1 x 1 x 1, of the block; dead pressure p0 = 4 MPa times 20 to 80 on a quarter of the
top, whose nodes stay above their places; mu = 80.1938, lambda = 400889.806 MPa. The compressions
are own values of a mixed 27-node/8-node element on 8³ cells with an independent code.
"""

from __future__ import annotations

import numpy as np
import pytest

from fiddlehead.material.laws import NeoHookean
from fiddlehead.testing.bodies import box
from tests.published.rig import held, make_rig, spread

MU, LAME = 80.1938, 400889.806
COMPRESSION_PERCENT = {20: 21.98, 40: 42.50, 60: 58.55, 80: 69.34}
CELLS = 6


@pytest.mark.slow
def test_compression_under_the_centre() -> None:
    mesh = box((1.0, 1.0, 1.0), (CELLS, CELLS, CELLS))
    top = mesh.faces["z1"]
    middle = mesh.points[top[:, :4]].mean(axis=1)
    loaded = top[(middle[:, 0] < 0.5) & (middle[:, 1] < 0.5)]
    dead = spread(mesh, loaded, (0.0, 0.0, -80 * 4.0))
    fixed = held(mesh, x0="x", y0="y", z0="z", z1="xy")
    rig = make_rig(mesh, NeoHookean(MU), LAME + 2 / 3 * MU, fixed, dead=dead)
    solved = rig.follow([p / 80 for p in COMPRESSION_PERCENT])
    centre = np.isclose(mesh.points, (0.0, 0.0, 1.0)).all(axis=1)
    found = -100 * solved.u[:, centre, 2].ravel()
    assert found == pytest.approx(list(COMPRESSION_PERCENT.values()), abs=0.5)

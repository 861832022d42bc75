"""Two clamped strips that bulge towards each other and meet.

Timoshenko (1956), Strength of Materials, part I, 3rd ed., ch. V: a clamped-clamped beam of length L
under a uniform load q sags ``q L^4 / (384 E I)`` at mid-span. Two mirror-image strips with a gap of
2 d between them therefore touch at ``q = 384 E I d / L^4``; a strip wide across its span bends with
the plane-strain modulus ``E / (1 - nu^2)``. After the touch each is, by symmetry, a strip pressed
on a smooth rigid plane at mid-gap.
"""

from __future__ import annotations

import jax.numpy as jnp
import numpy as np
import pytest

from fiddlehead.material.laws import NeoHookean
from fiddlehead.mechanics import walls
from fiddlehead.mechanics.body import make_body
from fiddlehead.mechanics.loads import face_positions
from fiddlehead.mechanics.outcome import Outcome
from fiddlehead.mechanics.plate import Plate, gap_to
from fiddlehead.mechanics.solve import follow, make_loading, make_solid, stack
from fiddlehead.mesh.facing import facing_walls
from fiddlehead.testing.bodies import box

LONG, THICK, APART = 40.0, 1.0, 0.2
LAW, BULK = NeoHookean(1.0), 50.0
NU = (3 * BULK - 2 * 1.0) / (2 * (3 * BULK + 1.0))
YOUNG = 2.0 * (1 + NU)
TOUCH = 32 * YOUNG / (1 - NU**2) * THICK**3 * (APART / 2) / LONG**4
STEPS = np.linspace(0.0, 1.0, 6)
STRIP = box((THICK, LONG / 2, 2.0), (1, 10, 1))  # up to mid-span


def clamped(points: np.ndarray) -> np.ndarray:
    """One end held, symmetry at mid-span, plane strain across."""
    fixed = np.zeros((len(points), 3), dtype=bool)
    fixed[points[:, 1] < 1e-9] = True
    fixed[points[:, 1] > LONG / 2 - 1e-9, 1] = True
    fixed[:, 2] = True
    return fixed


def two_strips(top: float):  # type: ignore[no-untyped-def]
    points = np.vstack([STRIP.points, STRIP.points * [-1, 1, 1] + [2 * THICK + APART, 0, 0]])
    # the mirror image turns every brick inside out: swap its two x-faces
    swap = np.array([1, 0, 3, 2, 5, 4, 7, 6, 8, 11, 10, 9, 12, 15, 14, 13, 17, 16, 19, 18])
    elements = np.vstack([STRIP.elements, STRIP.elements[:, swap] + len(STRIP.points)])
    back = np.array([0, 3, 2, 1, 7, 6, 5, 4])
    mirror = {name: f[:, back] + len(STRIP.points) for name, f in STRIP.faces.items()}
    outer = np.vstack([STRIP.faces["x1"], mirror["x1"]])
    body = make_body(
        points,
        elements,
        pressure_faces=np.vstack([STRIP.faces["x0"], mirror["x0"]]),
        wall_pairs=facing_walls(points, outer),
        walls_push=True,
        fixed=clamped(points),
    )
    solid = make_solid(body, points, LAW, BULK)
    loading = make_loading(body, pressure=top)
    return body, solid, follow(body, stack([solid]), stack([loading]), STEPS)


@pytest.fixture(scope="module")
def strips():  # type: ignore[no-untyped-def]
    return two_strips(2.0 * TOUCH)


@pytest.mark.slow
def test_they_touch_at_the_load_beam_theory_gives(strips) -> None:  # type: ignore[no-untyped-def]
    body, solid, path = strips
    assert path.outcome == (Outcome.complete,)
    pairs = body.wall_pairs
    gap = np.array(
        [float(walls.gaps(face_positions(body, solid, pairs, jnp.asarray(u))).min())
         for u in path.rows[0]]
    )  # fmt: skip
    before = np.flatnonzero(gap > 0.01)
    # straight line through the steps before the touch, continued to a closed gap
    slope, start = np.polyfit(STEPS[before] * 2.0 * TOUCH, gap[before], 1)
    assert start == pytest.approx(APART, rel=0.01)
    assert -start / slope == pytest.approx(TOUCH, rel=0.03)
    assert gap.min() > -0.005  # they never pass through each other


@pytest.mark.slow
def test_after_the_touch_each_is_a_strip_on_a_rigid_plane(strips) -> None:  # type: ignore[no-untyped-def]
    """Both kinds of contact give the same deformed strip."""
    _, _, path = strips
    both = path.displacement[0][-1, : len(STRIP.points)]
    body = make_body(
        STRIP.points,
        STRIP.elements,
        pressure_faces=STRIP.faces["x0"],
        plate_faces=STRIP.faces["x1"],
        fixed=clamped(STRIP.points),
    )
    solid = make_solid(body, STRIP.points, LAW, BULK)
    plane = Plate(
        jnp.array([THICK + APART / 2, 0.0, 0.0]), jnp.array([-1.0, 0.0, 0.0]),
        jnp.asarray(2 * walls.MODULI_PER_MM), jnp.asarray(1e-4),
    )  # fmt: skip
    loading = make_loading(body, pressure=2.0 * TOUCH, plate=plane)
    alone = follow(body, stack([solid]), stack([loading]), STEPS)
    assert alone.outcome == (Outcome.complete,)
    end = alone.displacement[0][-1]
    assert both == pytest.approx(end, abs=1e-3 * np.abs(end).max())
    positions = face_positions(body, solid, body.plate_faces, jnp.asarray(alone.rows[0][-1]))
    assert float(gap_to(plane, positions).min()) < 0.0

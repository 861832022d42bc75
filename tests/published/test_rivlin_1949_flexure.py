"""A block bent into a sector of a ring, plane strain, neo-Hookean, incompressible.

Source: Rivlin (1949), Proc. R. Soc. A 195, 463-473. With k = height · angle / length and free
curved faces: ``lambda_out² = k + sqrt(1 + k²) = 1/lambda_in²`` and, per unit width,
``M / (mu h²) = [k sqrt(1 + k²) - asinh k] / (2 k²)``.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad

from fiddlehead.material.laws import NeoHookean
from fiddlehead.testing.bodies import Body, box
from tests.published.rig import Solved, held, make_rig

HEIGHT, LENGTH, WIDTH, MU, BULK = 1.0, 1.0, 0.25, 1.0, 1e4
CURVATURES = [0.5, 1.0]
MOMENT = {0.5: 0.155610338631, 1.0: 0.266419987677}
ENERGY = {0.5: 0.0402288194, 1.0: 0.1477935747}


def inner_stretch(k: float) -> float:
    return float((k + np.sqrt(1 + k * k)) ** -0.5)


def exact_place(points: np.ndarray, k: float) -> np.ndarray:
    """Where the exact solution puts each point, its inner face's middle staying at the origin."""
    turn = k / HEIGHT
    start = inner_stretch(k) / turn
    r = np.sqrt(start**2 + 2 * points[:, 1] / turn)
    angle = turn * points[:, 0]
    return np.stack([r * np.sin(angle), r * np.cos(angle) - start, points[:, 2]], axis=1)


def bend(k: float) -> tuple[Body, Solved]:
    """Half the block: symmetry at x = 0, the other end moved to its exact place."""
    mesh = box((LENGTH, HEIGHT, WIDTH), (4, 3, 1))
    fixed = held(mesh, x0="x", x1="xyz")
    fixed[:, 2] = True
    target = np.where(fixed, exact_place(mesh.points, k) - mesh.points, 0.0)
    rig = make_rig(mesh, NeoHookean(MU), BULK, fixed, prescribed=target)
    return mesh, rig.follow([1.0])


@pytest.fixture(scope="module", params=CURVATURES, ids=[f"k={k:g}" for k in CURVATURES])
def bent(request: pytest.FixtureRequest) -> tuple[float, Body, Solved]:
    return (request.param, *bend(request.param))


def moment_about_centre(k: float, solved: Solved, on: np.ndarray) -> float:
    """Moment of the supports on one end about the centre of the ring, per width."""
    arm = solved.rig.points + solved.u[0] - [0.0, -inner_stretch(k) * HEIGHT / k, 0.0]
    return float(np.cross(arm, solved.reaction(0))[on, 2].sum() / WIDTH)


@pytest.mark.parametrize("k", CURVATURES)
def test_closed_forms_have_the_known_digits(k: float) -> None:
    moment = (k * np.sqrt(1 + k * k) - np.arcsinh(k)) / (2 * k * k)

    def density(y: float) -> float:
        square = inner_stretch(k) ** 2 + 2 * k * y  # squared hoop stretch at reference depth y
        return 0.5 * (square + 1 / square - 2)

    assert moment == pytest.approx(MOMENT[k], abs=1e-11)
    assert quad(density, 0, 1)[0] == pytest.approx(ENERGY[k], abs=1e-9)


@pytest.mark.slow
def test_moment_at_both_ends(bent: tuple[float, Body, Solved]) -> None:
    k, mesh, solved = bent
    exact = MOMENT[k] * MU * HEIGHT**2
    assert -moment_about_centre(k, solved, mesh.on("x1")) == pytest.approx(exact, rel=5e-3)
    assert moment_about_centre(k, solved, mesh.on("x0")) == pytest.approx(exact, rel=5e-3)


@pytest.mark.slow
def test_stored_energy(bent: tuple[float, Body, Solved]) -> None:
    k, _, solved = bent
    per_length = solved.rig.energy(solved.rows[0]) / (WIDTH * LENGTH)
    assert per_length == pytest.approx(ENERGY[k] * MU * HEIGHT, rel=5e-3)


@pytest.mark.slow
def test_faces_take_their_exact_place(bent: tuple[float, Body, Solved]) -> None:
    k, mesh, solved = bent
    off = solved.u[0] - (exact_place(mesh.points, k) - mesh.points)
    assert np.abs(off).max() < 1e-3 * HEIGHT


@pytest.mark.slow
def test_supports_balance_each_other(bent: tuple[float, Body, Solved]) -> None:
    _, _, solved = bent
    force = solved.reaction(0)
    assert np.abs(force.sum(axis=0)[:2]).max() < 1e-7 * np.abs(force).sum()

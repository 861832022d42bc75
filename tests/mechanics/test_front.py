"""The order of elimination, and the elimination itself."""

from __future__ import annotations

import jax.numpy as jnp
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fiddlehead.errors import MeshError
from fiddlehead.mechanics import sweep
from fiddlehead.mechanics.body import make_body
from fiddlehead.mechanics.cells import assemble, multiply
from fiddlehead.mechanics.elimination import inverse, solve
from fiddlehead.mechanics.front import Front, plan_front
from fiddlehead.testing.bodies import box, sphere_octant


def entered(front: Front, cells: np.ndarray) -> np.ndarray:
    """Step in which each node is first touched."""
    first = np.full(len(front.step), len(front.slots))
    for cell in cells:
        first[cell] = np.minimum(first[cell], front.step[cell].min())
    return first


@given(st.tuples(st.integers(1, 6), st.integers(1, 3), st.integers(1, 3)), st.integers(3, 40))
@settings(deadline=None, max_examples=25)
def test_no_two_active_nodes_share_a_slot(divisions: tuple[int, int, int], width: int) -> None:
    body = box((5.0, 1.0, 1.0), divisions)
    front = plan_front(body.points[:, 0], [body.elements], width)
    first = entered(front, body.elements)
    for k in range(len(front.slots)):
        active = (first <= k) & (front.step >= k)
        held = front.slot[active]
        assert len(set(held.tolist())) == len(held)
        size = next(s.slots for s in front.segments if s.first <= k < s.stop)
        assert held.max() < size
        assert len(set(front.slots[k].tolist())) == front.slots.shape[1]
    assert np.array_equal(front.slots[front.step, front.place], front.slot)


def test_the_front_of_a_slender_body_is_its_cross_section() -> None:
    body = box((40.0, 1.0, 1.0), (40, 1, 1))
    front = plan_front(body.points[:, 0], [body.elements], 4)
    assert max(s.slots for s in front.segments) <= 32  # 20 nodes of a brick and the next steps


def test_a_thick_end_gets_a_front_of_its_own() -> None:
    thin, thick = box((60.0, 1.0, 1.0), (30, 1, 1)), box((4.0, 8.0, 8.0), (2, 6, 6))
    moved = thick.points + np.array([60.0, 0.0, 0.0])
    points = np.vstack([thin.points, moved])
    bridge = np.concatenate([np.flatnonzero(thin.points[:, 0] == 60.0)[:8], [len(thin.points)]])
    front = plan_front(
        points[:, 0], [thin.elements, thick.elements + len(thin.points), bridge[None]]
    )
    assert len({s.slots for s in front.segments}) > 1


def test_a_body_in_two_pieces_is_refused() -> None:
    body = box((1.0, 1.0, 1.0), (1, 1, 1))
    apart = np.vstack([body.points, body.points + np.array([5.0, 0.0, 0.0])])
    elements = np.vstack([body.elements, body.elements + len(body.points)])
    with pytest.raises(MeshError, match="separate pieces"):
        plan_front(apart[:, 0], [elements])


def random_symmetric(rng: np.random.Generator, n: int) -> np.ndarray:
    """Indefinite, well conditioned."""
    q = np.linalg.qr(rng.normal(size=(n, n)))[0]
    values = rng.uniform(0.5, 2.0, n) * rng.choice([-1.0, 1.0], n, p=[0.1, 0.9])
    return (q * values) @ q.T


@pytest.mark.parametrize("rows", [3, 31, 32, 33, 70, 96])
def test_inverse_by_parts(rows: int) -> None:
    a = random_symmetric(np.random.default_rng(rows), rows)
    found = np.asarray(inverse(jnp.asarray(a)))
    assert found @ a == pytest.approx(np.eye(rows), abs=1e-9)
    assert np.array_equal(found, found.T)


@pytest.mark.parametrize("rows", [1, 7, 32])
def test_the_kernel_for_graphics_cards_inverts_too(rows: int) -> None:
    a = random_symmetric(np.random.default_rng(rows), rows)
    found = np.asarray(sweep._by_kernel(jnp.asarray(a), interpret=True))
    assert found == pytest.approx(np.linalg.inv(a), abs=1e-9)


@pytest.mark.parametrize("make", [lambda: box((6.0, 1.0, 1.0), (6, 2, 2)), lambda: sphere_octant(
    1.0, 2.0, 2, 2)])  # fmt: skip
def test_elimination_solves_what_a_dense_solver_solves(make) -> None:  # type: ignore[no-untyped-def]
    shape = make()
    fixed = np.repeat((shape.points[:, 0] < 1e-9)[:, None], 3, axis=1)
    body = make_body(shape.points, shape.elements, fixed=fixed)
    rng = np.random.default_rng(0)
    small = rng.normal(size=(len(shape.elements), 60, 60))
    small = small @ small.transpose(0, 2, 1) + 30.0 * np.eye(60)
    cells = ((body.rows(body.elements), jnp.asarray(small)),)
    free = np.asarray(body.free)
    right = rng.normal(size=(*free.shape, 2)) * free[..., None]
    found = np.asarray(solve(assemble(body, cells), body.slots, jnp.asarray(right)))
    rows = np.asarray(body.rows(body.elements))
    dense = np.zeros((free.size, free.size))
    for r, matrix in zip(rows, small, strict=True):
        dense[np.ix_(r, r)] += matrix
    unknown = free.ravel() > 0
    expected = np.linalg.solve(dense[np.ix_(unknown, unknown)], right.reshape(-1, 2)[unknown])
    assert found.reshape(-1, 2)[unknown] == pytest.approx(expected, rel=1e-9, abs=1e-12)
    assert not found.reshape(-1, 2)[~unknown].any()
    x = jnp.zeros(body.size).at[: free.size].set(found[..., 0].ravel())
    product = np.asarray(multiply(cells, x))[: free.size]
    assert product[unknown] == pytest.approx(right[..., 0].ravel()[unknown], abs=1e-9)

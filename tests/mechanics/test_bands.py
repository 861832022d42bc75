"""Cutting a body into bands, and the elimination sweep over them."""

from __future__ import annotations

import jax.numpy as jnp
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fiddlehead.errors import MeshError
from fiddlehead.mechanics.band_lu import BandMatrix, multiply, solve
from fiddlehead.mechanics.bands import cut_into_bands
from fiddlehead.testing.bodies import box, sphere_octant


@given(st.tuples(st.integers(1, 6), st.integers(1, 3), st.integers(1, 3)))
@settings(deadline=None, max_examples=25)
def test_no_element_reaches_beyond_the_next_band(divisions: tuple[int, int, int]) -> None:
    body = box((5.0, 1.0, 1.0), divisions)
    bands = cut_into_bands(body.points, body.elements)
    spread = bands.band[body.elements]
    assert (spread.max(1) - spread.min(1)).max() <= 1
    places = set(zip(bands.band.tolist(), bands.place.tolist(), strict=True))
    assert len(places) == len(body.points)
    assert bands.place.max() == bands.width - 1


def test_round_bodies_are_cut_too() -> None:
    body = sphere_octant(1.0, 2.0, 2, 2)
    bands = cut_into_bands(body.points, body.elements)
    spread = bands.band[body.elements]
    assert (spread.max(1) - spread.min(1)).max() <= 1


def test_a_body_in_two_pieces_is_refused() -> None:
    body = box((1.0, 1.0, 1.0), (1, 1, 1))
    apart = np.vstack([body.points, body.points + np.array([5.0, 0.0, 0.0])])
    elements = np.vstack([body.elements, body.elements + len(body.points)])
    with pytest.raises(MeshError, match="separate pieces"):
        cut_into_bands(apart, elements)


@given(st.integers(1, 5), st.integers(1, 6), st.integers(0, 2**31))
@settings(deadline=None, max_examples=25)
def test_sweep_solves_what_a_dense_solver_solves(bands: int, width: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    diagonal = rng.normal(size=(bands, width, width))
    diagonal = diagonal + diagonal.transpose(0, 2, 1) + 8.0 * np.eye(width) * rng.choice([-1, 1])
    lower = 0.3 * rng.normal(size=(bands - 1, width, width))
    dense = np.zeros((bands * width, bands * width))
    for k in range(bands):
        here = slice(k * width, (k + 1) * width)
        dense[here, here] = diagonal[k]
        if k:
            before = slice((k - 1) * width, k * width)
            dense[here, before] = lower[k - 1]
            dense[before, here] = lower[k - 1].T
    right = rng.normal(size=(bands, width, 2))
    matrix = BandMatrix(jnp.asarray(diagonal), jnp.asarray(lower))
    x = np.asarray(solve(matrix, jnp.asarray(right)))
    expected = np.linalg.solve(dense, right.reshape(-1, 2))
    assert x.reshape(-1, 2) == pytest.approx(expected, rel=1e-8, abs=1e-8)
    product = np.asarray(multiply(matrix, jnp.asarray(x[..., 0])))
    assert product == pytest.approx(right[..., 0], abs=1e-8)

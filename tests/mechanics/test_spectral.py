"""Eigenvalues and tensor functions, also where eigenvalues coincide."""

from __future__ import annotations

import jax
import jax.numpy as jnp
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from fiddlehead.material.laws import NeoHookean, Ogden1
from fiddlehead.mechanics.lift import isochoric_density, stress, stress_and_tangent
from fiddlehead.mechanics.spectral import VOIGT, eigen, spectral_sum

COMPONENTS = arrays(float, (6, 3), elements=st.floats(-2, 2))


def matrix(a: np.ndarray) -> np.ndarray:
    full = np.zeros((3, 3))
    for value, (i, j) in zip(a, VOIGT, strict=True):
        full[i, j] = full[j, i] = value
    return full


@given(COMPONENTS)
@settings(deadline=None, max_examples=50)
def test_eigenvalues_agree_with_lapack(a: np.ndarray) -> None:
    values, vectors = (np.asarray(x) for x in eigen(jnp.asarray(a)))
    for point in range(3):
        full = matrix(a[:, point])
        expected = np.linalg.eigvalsh(full)
        assert np.sort(values[:, point]) == pytest.approx(
            expected, abs=1e-13 * (1 + abs(full).max())
        )
        v = vectors[:, :, point]
        assert v @ np.diag(values[:, point]) @ v.T == pytest.approx(full, abs=1e-12)


@pytest.mark.parametrize("squares", [(1.0, 1.0, 1.0), (1.2, 1.2, 0.7), (1.1, 1.1 + 1e-9, 0.9)])
def test_derivatives_hold_where_eigenvalues_coincide(squares: tuple[float, ...]) -> None:
    a = jnp.array([*squares, 0.0, 0.0, 0.0])[:, None]

    def cube_trace(x: jax.Array) -> jax.Array:
        return spectral_sum(lambda y, c: c * y**3, x, jnp.asarray(2.0)).sum()

    def exact(x: jax.Array) -> jax.Array:
        rows = [[x[0], x[3], x[5]], [x[3], x[1], x[4]], [x[5], x[4], x[2]]]
        m = jnp.stack([jnp.stack(row) for row in rows])[..., 0]
        return 2.0 * jnp.trace(m @ m @ m)

    flat = a.ravel()
    shaped = lambda x: x[:, None]  # noqa: E731
    for order in (jax.grad, jax.hessian):
        ours = order(lambda x: cube_trace(shaped(x)))(flat)
        theirs = order(lambda x: exact(shaped(x)))(flat)
        assert np.asarray(ours) == pytest.approx(np.asarray(theirs), abs=1e-7)


@given(arrays(float, (6, 4), elements=st.floats(-0.2, 0.2)))
@settings(deadline=None, max_examples=20)
def test_ogden_with_exponent_two_is_neo_hooke(strain: np.ndarray) -> None:
    """``mu/2 sum(l^2 - 1)`` is the neo-Hookean energy: two lifts of one law must agree."""
    e = jnp.asarray(strain)
    ogden, hooke = Ogden1(1.5, 2.0), NeoHookean(1.5)
    for ours, theirs in zip(
        stress_and_tangent(ogden, e), stress_and_tangent(hooke, e), strict=True
    ):
        assert np.asarray(ours) == pytest.approx(np.asarray(theirs), abs=1e-11)


@pytest.mark.parametrize("law", [NeoHookean(2.0), Ogden1(1.2, -3.0)], ids=lambda law: law.name)
def test_stress_and_tangent_are_derivatives_of_the_energy(law: object) -> None:
    strain = np.random.default_rng(4).uniform(-0.2, 0.2, (6, 2))
    s, c = (np.asarray(x) for x in stress_and_tangent(law, jnp.asarray(strain)))  # type: ignore[arg-type]
    step = 1e-6
    for v in range(6):
        up, down = strain.copy(), strain.copy()
        up[v] += step
        down[v] -= step
        slope = (
            np.asarray(isochoric_density(law, jnp.asarray(up)))  # type: ignore[arg-type]
            - np.asarray(isochoric_density(law, jnp.asarray(down)))  # type: ignore[arg-type]
        ) / (2 * step)
        assert s[v] == pytest.approx(slope, rel=1e-6, abs=1e-8)
        bend = (
            np.asarray(stress(law, jnp.asarray(up))) - np.asarray(stress(law, jnp.asarray(down)))
        ) / (2 * step)  # type: ignore[arg-type]
        assert c[v] == pytest.approx(bend, rel=1e-6, abs=1e-7)

"""Strains of the printed material along a path: peaks for the record, nodal values for pictures."""

from __future__ import annotations

import jax
import jax.numpy as jnp
import numpy as np
from jaxtyping import Array, Float

from fiddlehead.mechanics.balance import Solid
from fiddlehead.mechanics.body import Body
from fiddlehead.mechanics.element import BRICK_NODES, brick_functions
from fiddlehead.mechanics.quadrature import BRICK_RULES
from fiddlehead.mechanics.solid import green_lagrange
from fiddlehead.mechanics.spectral import INDEX, eigen
from fiddlehead.mesh.records import Mesh
from fiddlehead.trials.records import StrainPeaks

BUILD_AXIS = {"side": 2, "upright": 0, "base_down": 1}
"""Build direction (0 x, 1 y, 2 z) by build orientation."""


@jax.jit
def _point_strains(
    body: Body, solid: Solid, rows: Float[Array, "step row"], axis: Array
) -> tuple[Array, Array, Array, Array]:
    """Log strains (step, element, point): largest, smallest, in-plane, across layers."""

    def one(u: Float[Array, " row"]) -> tuple[Array, Array, Array, Array]:
        e = green_lagrange(body, solid.geometry, u)
        c = jnp.stack([1 + 2 * e[0], 1 + 2 * e[1], 1 + 2 * e[2], e[3], e[4], e[5]])
        principal = jnp.log(eigen(c)[0]) / 2
        table = jnp.asarray(INDEX)
        p, q = (axis + 1) % 3, (axis + 2) % 3
        cpp, cqq, cpq = c[table[p, p]], c[table[q, q]], c[table[p, q]]
        largest = (cpp + cqq) / 2 + jnp.sqrt(((cpp - cqq) / 2) ** 2 + cpq**2)
        across = jnp.log(c[table[axis, axis]]) / 2
        return principal.max(0), principal.min(0), jnp.log(largest) / 2, across

    return jax.lax.map(one, rows)


def _to_nodes(rule: str) -> Float[np.ndarray, "20 point"]:
    """Least-squares trilinear extension of point values to an element's nodes."""

    def trilinear(x: np.ndarray) -> np.ndarray:
        a, b, c = x.T
        return np.stack([np.ones_like(a), a, b, c, a * b, b * c, c * a, a * b * c], axis=1)

    return trilinear(BRICK_NODES) @ np.linalg.pinv(trilinear(BRICK_RULES[rule].points))


def _volume_quantile(values: np.ndarray, volumes: np.ndarray, share: float) -> float:
    order = np.argsort(values)
    filled = np.cumsum(volumes[order])
    return float(values[order][np.searchsorted(filled, share * filled[-1])])


def measure_strains(
    body: Body,
    solid: Solid,
    mesh: Mesh,
    rows: Float[np.ndarray, "stop row"],
    build_orientation: str,
    met: int,
) -> tuple[StrainPeaks, Float[np.ndarray, "step node"]]:
    """Strain peaks per step, and the largest principal strain averaged to the nodes.

    Parameters
    ----------
    rows : balanced displacements by rows of the body
    build_orientation : ``side``, ``upright`` or ``base_down``: which way the layers lie
    met : how many of the steps hold a balanced state; the rest is left out
    """
    axis = jnp.asarray(BUILD_AXIS[build_orientation])
    largest, smallest, in_plane, across = (
        np.asarray(a)[:met] for a in _point_strains(body, solid, jnp.asarray(rows), axis)
    )
    steps, _, points = largest.shape
    flat = largest.reshape(steps, -1)
    where = flat.argmax(1)
    volume = np.asarray(solid.geometry.weight).ravel()
    shape = brick_functions(BRICK_RULES[body.rule].points)[0]
    places = np.einsum("qa,eai->eqi", shape, mesh.points[mesh.elements]).reshape(-1, 3)
    across_where = across.reshape(steps, -1).argmax(1)
    peaks = StrainPeaks(
        peak=flat.max(1),
        p95=np.array([_volume_quantile(row, volume, 0.95) for row in flat]),
        place_mm=places[where],
        region=tuple(mesh.region_of(int(w) // points) for w in where),
        in_plane=in_plane.reshape(steps, -1).max(1),
        across_layers=across.reshape(steps, -1).max(1),
        across_layers_region=tuple(mesh.region_of(int(w) // points) for w in across_where),
        smallest=smallest.reshape(steps, -1).min(1),
    )
    at_nodes = np.einsum("aq,seq->sea", _to_nodes(body.rule), largest).reshape(steps, -1)
    index = mesh.elements.ravel()
    shared = np.bincount(index, minlength=len(mesh.points))
    summed = np.stack([np.bincount(index, row, minlength=len(mesh.points)) for row in at_nodes])
    return peaks, summed / shared

"""Strains of the printed material along a path: peaks for the record, nodal values for pictures."""

from __future__ import annotations

from functools import partial
from typing import NamedTuple

import jax
import jax.numpy as jnp
import numpy as np
from jaxtyping import Array, Float, Int

from fiddlehead.mechanics.body import Body
from fiddlehead.mechanics.element import BRICK_NODES, brick_functions
from fiddlehead.mechanics.loads import Solid
from fiddlehead.mechanics.quadrature import BRICK_RULES
from fiddlehead.mechanics.solid import green_lagrange
from fiddlehead.mechanics.spectral import INDEX, VOIGT, eigen
from fiddlehead.mesh.records import Mesh
from fiddlehead.trials.records import StrainPeaks

BUILD_AXIS = {"side": 2, "upright": 0, "base_down": 1}
"""Build direction (0 x, 1 y, 2 z) by build orientation."""


STEPS_AT_ONCE = 4
"""Steps measured in one pass: more need more memory and gain nothing."""


class Strains(NamedTuple):
    """Log strains of one state, reduced on the device; places as ``element * points + point``."""

    peak: Float[Array, " *step"]
    peak_at: Int[Array, " *step"]
    p95: Float[Array, " *step"]
    in_plane: Float[Array, " *step"]
    across: Float[Array, " *step"]
    across_at: Int[Array, " *step"]
    smallest: Float[Array, " *step"]
    at_nodes: Float[Array, "*step node"]


def strains(body: Body, solid: Solid, rows: Float[Array, "step row"], build_axis: int) -> Strains:
    """Strains of every step of a path (see :class:`Strains`); traceable by JAX."""
    return jax.lax.map(
        lambda u: _strains(body, solid, u, build_axis),
        rows,
        batch_size=min(STEPS_AT_ONCE, len(rows)),
    )


def _strains(body: Body, solid: Solid, u: Float[Array, " row"], axis: int) -> Strains:
    e = green_lagrange(body, solid.geometry, u)
    c = jnp.stack([1 + 2 * e[0], 1 + 2 * e[1], 1 + 2 * e[2], e[3], e[4], e[5]])
    # with the directions kept, n·C n has the eigenvalue's value and its first derivative
    directions = eigen(jax.lax.stop_gradient(c))[1]
    twice = jnp.array([1.0, 1.0, 1.0, 2.0, 2.0, 2.0])[:, None, None, None]
    pairs = jnp.stack([directions[i] * directions[j] for i, j in VOIGT])
    principal = jnp.log((twice * pairs * c[:, None]).sum(0)) / 2
    largest, smallest = principal.max(0), principal.min(0)
    p, q = (axis + 1) % 3, (axis + 2) % 3
    cpp, cqq, cpq = c[INDEX[p][p]], c[INDEX[q][q]], c[INDEX[p][q]]
    in_plane = jnp.log((cpp + cqq) / 2 + jnp.sqrt(((cpp - cqq) / 2) ** 2 + cpq**2)) / 2
    across = jnp.log(c[INDEX[axis][axis]]) / 2
    flat = largest.ravel()
    ends = jnp.einsum("aq,eq->ea", _to_nodes(body.rule), largest)
    summed = jnp.zeros(len(body.row)).at[body.elements].add(ends)
    shared = jnp.zeros(len(body.row)).at[body.elements].add(1.0)
    return Strains(
        peak=flat.max(),
        peak_at=flat.argmax(),
        p95=_volume_quantile(flat, solid.geometry.weight.ravel(), 0.95),
        in_plane=in_plane.max(),
        across=across.max(),
        across_at=across.ravel().argmax(),
        smallest=smallest.min(),
        at_nodes=summed / shared,
    )


def _to_nodes(rule: str) -> Float[np.ndarray, "20 point"]:
    """Least-squares trilinear extension of point values to an element's nodes."""

    def trilinear(x: np.ndarray) -> np.ndarray:
        a, b, c = x.T
        return np.stack([np.ones_like(a), a, b, c, a * b, b * c, c * a, a * b * c], axis=1)

    return trilinear(BRICK_NODES) @ np.linalg.pinv(trilinear(BRICK_RULES[rule].points))


def _volume_quantile(
    values: Float[Array, " point"], volumes: Float[Array, " point"], share: float
) -> Float[Array, ""]:
    order = jnp.argsort(values)
    filled = jnp.cumsum(volumes[order])
    return values[order[jnp.searchsorted(filled, share * filled[-1])]]


def strain_peaks(found: Strains, mesh: Mesh, rule: str, met: int) -> StrainPeaks:
    """The record of the first ``met`` steps, places in words and in mm."""
    points = len(BRICK_RULES[rule].points)
    shape = brick_functions(BRICK_RULES[rule].points)[0]
    element, point = np.divmod(np.asarray(found.peak_at)[:met], points)
    across = np.asarray(found.across_at)[:met] // points
    corners = mesh.points[mesh.elements[element]]
    return StrainPeaks(
        peak=np.asarray(found.peak)[:met],
        p95=np.asarray(found.p95)[:met],
        place_mm=np.einsum("sa,sai->si", shape[point], corners),
        region=tuple(mesh.region_of(int(e)) for e in element),
        in_plane=np.asarray(found.in_plane)[:met],
        across_layers=np.asarray(found.across)[:met],
        across_layers_region=tuple(mesh.region_of(int(e)) for e in across),
        smallest=np.asarray(found.smallest)[:met],
    )


@partial(jax.jit, static_argnames="build_axis")
def _measured(body: Body, solid: Solid, rows: Float[Array, "step row"], build_axis: int) -> Strains:
    return strains(body, solid, rows, build_axis)


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
    found = _measured(body, solid, jnp.asarray(rows), BUILD_AXIS[build_orientation])
    return strain_peaks(found, mesh, body.rule, met), np.asarray(found.at_nodes)[:met]

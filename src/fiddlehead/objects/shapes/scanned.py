"""A shape from a scan: its distance sampled on a grid, with a smooth curve through the samples."""

from __future__ import annotations

import itertools
from typing import Any, ClassVar

import jax.numpy as jnp
from jaxtyping import Array, Float

from fiddlehead.objects.shapes.base import ObjectShape, norm, shape


@shape
class Scanned(ObjectShape):
    """A watertight surface by its signed distance on a cubic grid.

    Between the nodes runs the tricubic B-spline through their values, so distance, normal and
    curvature are continuous; features finer than a grid step are rounded. Outside the grid the
    distance to the grid's box is added: right in sign, and too long by a little far away.
    """

    name: ClassVar[str] = "scanned"
    coefficients: Any
    """Of the B-spline, one for each node; ``Float[Array, "x y z"]``, mm."""
    origin_mm: Any
    """Place of the first node; ``Float[Array, "3"]``, mm."""
    step_mm: Any
    """Distance between nodes, mm."""
    low_mm: Any
    """Lower corner of the surface's own box; ``Float[Array, "3"]``, mm."""
    high_mm: Any
    """Upper corner; ``Float[Array, "3"]``, mm."""

    def distance(self, points: Float[Array, "*batch 3"]) -> Float[Array, "*batch"]:
        values = jnp.asarray(self.coefficients)
        last = jnp.array(values.shape) - 1.0
        start = jnp.asarray(self.origin_mm)
        inside = jnp.clip(points, start + self.step_mm, start + (last - 1) * self.step_mm)
        at = (inside - start) / self.step_mm
        cell = jnp.clip(jnp.floor(at), 1, last - 2).astype(int)
        s = at - cell
        weights = (
            (1 - s) ** 3 / 6,
            (3 * s**3 - 6 * s**2 + 4) / 6,
            (-3 * s**3 + 3 * s**2 + 3 * s + 1) / 6,
            s**3 / 6,
        )
        total = jnp.zeros(points.shape[:-1])
        for i, j, k in itertools.product(range(4), repeat=3):
            weight = weights[i][..., 0] * weights[j][..., 1] * weights[k][..., 2]
            total += (
                weight * values[cell[..., 0] + i - 1, cell[..., 1] + j - 1, cell[..., 2] + k - 1]
            )
        return total + norm(points - inside)

    def bounds(self) -> tuple[Float[Array, "3"], Float[Array, "3"]]:
        return jnp.asarray(self.low_mm), jnp.asarray(self.high_mm)

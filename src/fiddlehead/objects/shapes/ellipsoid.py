"""An ellipsoid with three different axes."""

from __future__ import annotations

from typing import Any, ClassVar

import jax
import jax.numpy as jnp
from jaxtyping import Array, Float

from fiddlehead.objects.shapes.base import ObjectShape, norm, shape

OFF_PLANES_MM = 1e-9
"""Points on a plane of symmetry are taken this far off it, where the nearest place is one."""
HALVINGS = 56
"""Halvings of the bracket: to round-off."""


@shape
class Ellipsoid(ObjectShape):
    """``(2x/length)² + (2y/width)² + (2z/height)² = 1``.

    The nearest point of the surface is ``c_i = a_i² x_i / (t + a_i²)`` with half axes ``a`` and
    the one ``t > -min a²`` that puts it there (Eberly, D. (2013), Distance from a point to an
    ellipse, an ellipsoid, or a hyperellipsoid); the distance is then ``t |x_i/(t + a_i²)|``,
    which is smooth through the surface, where ``t = 0``.
    """

    name: ClassVar[str] = "ellipsoid"
    length_mm: Any
    width_mm: Any
    height_mm: Any

    def distance(self, points: Float[Array, "*batch 3"]) -> Float[Array, "*batch"]:
        square = self.bounds()[1] ** 2
        points = points + jnp.where(jnp.abs(points) < OFF_PLANES_MM, OFF_PLANES_MM, 0.0)

        def off(t: Array) -> Array:
            return jnp.sum(square * (points / (t[..., None] + square)) ** 2, axis=-1) - 1

        def slope(t: Array) -> Array:
            return -2 * jnp.sum(square * points**2 / (t[..., None] + square) ** 3, axis=-1)

        t = jax.lax.stop_gradient(self._root(points, square, off))
        for _ in range(2):  # exact already; these carry first and second derivatives
            steep = slope(t)
            t = jnp.where(steep < 0, t - off(t) / jnp.where(steep < 0, steep, -1.0), t)
        return t * norm(points / (t[..., None] + square))

    def _root(self, points: Any, square: Any, off: Any) -> Any:
        """The root ``t`` by halving a bracket that always holds it."""
        least = jnp.min(square)
        weighted = norm(jnp.sqrt(square) * points)
        tiny = 1e-12 * least
        low = jnp.full(points.shape[:-1], -least) + tiny
        high = jnp.maximum(-least + weighted, -least + 2 * tiny)

        def halve(_: int, bracket: tuple[Array, Array]) -> tuple[Array, Array]:
            low, high = bracket
            middle = (low + high) / 2
            above = off(middle) > 0
            return jnp.where(above, middle, low), jnp.where(above, high, middle)

        low, high = jax.lax.fori_loop(0, HALVINGS, halve, (low, high))
        return (low + high) / 2

    def bounds(self) -> tuple[Float[Array, "3"], Float[Array, "3"]]:
        sizes = (self.length_mm, self.width_mm, self.height_mm)
        half = jnp.stack([jnp.asarray(size, dtype=float) / 2 for size in sizes])
        return -half, half

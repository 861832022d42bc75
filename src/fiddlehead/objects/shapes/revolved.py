"""Bodies of revolution about z: an egg, and anything turned on a wheel."""

from __future__ import annotations

from abc import abstractmethod
from functools import lru_cache
from typing import Any, ClassVar

import jax
import jax.numpy as jnp
import numpy as np
from jaxtyping import Array, Float

from fiddlehead.objects.shapes.base import ObjectShape, norm, shape

SAMPLES = 97
"""Points of the profile among which the nearest is sought first."""
NEWTON_STEPS = 8
POLE_MM = 1e-6
"""Points on the axis are taken this far off it, so that the poles have a curvature too."""


class Revolved(ObjectShape):
    """Base of bodies of revolution: a smooth profile from the lower pole to the upper one."""

    @abstractmethod
    def profile(self, share: Float[Array, "*batch"]) -> Float[Array, "*batch 2"]:
        """Height z and radius at a share (0 to 1) of the way along the profile, mm."""

    def distance(self, points: Float[Array, "*batch 3"]) -> Float[Array, "*batch"]:
        radius = jnp.sqrt(jnp.sum(points[..., :2] ** 2, axis=-1) + POLE_MM**2)
        place = jnp.stack([points[..., 2], radius], axis=-1)
        share = jax.lax.stop_gradient(self._nearest(place))
        for _ in range(2):  # exact already; these carry first and second derivatives
            share = self._step(share, place)
        curve, along, _ = self._motion(share)
        outward = jnp.stack([-along[..., 1], along[..., 0]], axis=-1)
        return jnp.sum((place - curve) * outward, axis=-1) / norm(along)

    def _motion(self, share: Any) -> tuple[Any, Any, Any]:
        """The profile with its first and second derivative."""

        def first(s: Array) -> tuple[Array, Array]:
            return jax.jvp(self.profile, (s,), (jnp.ones_like(s),))

        (curve, along), (_, bend) = jax.jvp(first, (share,), (jnp.ones_like(share),))
        return curve, along, bend

    def _step(self, share: Any, place: Any) -> Any:
        """One step of Newton's method towards the foot of the perpendicular."""
        curve, along, bend = self._motion(share)
        off = jnp.sum((curve - place) * along, axis=-1)
        slope = jnp.sum(along**2 + (curve - place) * bend, axis=-1)
        return share - off / jnp.maximum(slope, 0.1 * jnp.sum(along**2, axis=-1))

    def _nearest(self, place: Any) -> Any:
        start = jnp.linspace(0.0, 1.0, SAMPLES)
        gap = jnp.sum((place[..., None, :] - self.profile(start)) ** 2, axis=-1)
        best = start[jnp.argmin(gap, axis=-1)]
        reach = 1.0 / (SAMPLES - 1)

        def improve(_: int, share: Array) -> Array:
            moved = self._step(share, place)
            return jnp.clip(moved, jnp.maximum(best - reach, 0.0), jnp.minimum(best + reach, 1.0))

        return jax.lax.fori_loop(0, NEWTON_STEPS, improve, best)

    def bounds(self) -> tuple[Float[Array, "3"], Float[Array, "3"]]:
        curve = self.profile(jnp.linspace(0.0, 1.0, 4 * SAMPLES))
        wide = jnp.max(curve[:, 1])
        low = jnp.stack([-wide, -wide, jnp.min(curve[:, 0])])
        return low, jnp.stack([wide, wide, jnp.max(curve[:, 0])])


@shape
class Egg(Revolved):
    """An egg with its blunt end down.

    ``taper_mm`` is how far the widest section lies below the middle of the length (0 gives an
    ellipsoid). With half length ``a``, half width ``b`` and taper ``w`` the profile is
    ``z²/a² + r²/b² (1 + (2wz + w²)/a²) = 1``, Hügelschäffer's egg curve (form from memory).
    """

    name: ClassVar[str] = "egg"
    length_mm: Any
    width_mm: Any
    taper_mm: Any

    def profile(self, share: Float[Array, "*batch"]) -> Float[Array, "*batch 2"]:
        angle = jnp.pi * (1 - share)
        sine, cosine, w = jnp.sin(angle), jnp.cos(angle), self.taper_mm
        z = cosine * jnp.sqrt((self.length_mm / 2) ** 2 - (w * sine) ** 2) - w * sine**2
        return jnp.stack([z, self.width_mm / 2 * sine], axis=-1)


@shape
class Turned(Revolved):
    """A pot turned on the wheel, taken as filled: a smooth curve through points of its outside.

    ``profile_mm`` holds height z and radius of at least four points in even steps from the middle
    of the foot (radius 0) to the middle of the top (radius 0); a cubic spline with continuous
    curvature runs through them and crosses the axis squarely. A rim needs points close enough
    together to be round.
    """

    name: ClassVar[str] = "turned"
    profile_mm: Any

    def profile(self, share: Float[Array, "*batch"]) -> Float[Array, "*batch 2"]:
        through = jnp.asarray(self.profile_mm)
        count = through.shape[0]
        level, radial = _controls(count)
        poles = jnp.stack([level @ through[:, 0], radial @ through[:, 1]], axis=-1)
        mirror = jnp.array([1.0, -1.0])
        padded = jnp.concatenate([poles[1:2] * mirror, poles, poles[-2:-1] * mirror])
        at = share * (count - 1)
        piece = jnp.clip(jnp.floor(jax.lax.stop_gradient(at)), 0, count - 2).astype(int)
        s = (at - piece)[..., None]
        weights = (
            (1 - s) ** 3,
            3 * s**3 - 6 * s**2 + 4,
            -3 * s**3 + 3 * s**2 + 3 * s + 1,
            s**3,
        )
        return jnp.sum(jnp.stack([w * padded[piece + k] for k, w in enumerate(weights)]), 0) / 6


@lru_cache(maxsize=32)
def _controls(
    count: int,
) -> tuple[Float[np.ndarray, "point point"], Float[np.ndarray, "point point"]]:
    """Control points of the uniform cubic B-spline through given points, for z and for r.

    Beyond the poles the curve is its own mirror image: z even, r odd.
    """
    found = []
    for sign in (1.0, -1.0):
        rows = (4 * np.eye(count) + np.eye(count, k=1) + np.eye(count, k=-1)) / 6
        rows[0, 1] += sign / 6
        rows[-1, -2] += sign / 6
        found.append(np.linalg.inv(rows))
    return found[0], found[1]

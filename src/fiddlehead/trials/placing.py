"""Where an object stands before a finger: turned as it is gripped, touching the straight finger."""

from __future__ import annotations

from typing import Any, NamedTuple

import jax
import jax.numpy as jnp
import numpy as np
from jaxtyping import Float

from fiddlehead.errors import ParameterError
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.objects.placed import Placed, Pose

ORIENTATIONS = ("upright", "across", "facing")
"""Where the object's z axis points: to the finger's root (the finger hangs down beside it), across
the finger's width, or to the finger."""
_AXES = {
    "upright": ((0.0, 0.0, -1.0), (0.0, 1.0, 0.0), (1.0, 0.0, 0.0)),
    "across": ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)),
    "facing": ((1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, -1.0, 0.0)),
}
"""Rows: the world's x, y, z in the object's frame."""
REACH = 0.65
"""Share of the finger's length at which the object touches when nothing is said: our choice."""
DEEPEST_START_MM = 0.01
"""Overlap at rest that is refused."""
RAYS, MARCH = 121, 60


def _turn(orientation: str) -> Float[np.ndarray, "3"]:
    """Rotation vector of an orientation."""
    from scipy.spatial.transform import Rotation

    return np.asarray(Rotation.from_matrix(np.array(_AXES[orientation])).as_rotvec())


class Standing(NamedTuple):
    """An object at its place."""

    placed: Placed
    touch_at_mm: float
    """Where along the finger it stands nearest to the straight finger."""


def stand(
    finger: FingerParameters,
    shape: Any,
    *,
    orientation: str = "upright",
    touch_at_mm: float | None = None,
    clearance_mm: float = 0.0,
) -> Standing:
    """Stand an object before the gripping face so that its most prominent place touches it.

    Parameters
    ----------
    shape : of the object, symmetric about the finger's mid-plane when turned (half is modelled)
    orientation : one of ``ORIENTATIONS``
    touch_at_mm : distance of that place from the root face; ``REACH`` of the length when None
    clearance_mm : how far from the finger at rest; negative would be inside it

    Raises
    ------
    ParameterError : no such orientation, a place off the finger, a start inside it, or a scan
        that is not symmetric about the finger's plane
    """
    if orientation not in ORIENTATIONS:
        raise ParameterError(
            "no such orientation", where="orientation", found=repr(orientation),
            allowed=", ".join(ORIENTATIONS), remedy="Say where the object's z axis points.",
        )  # fmt: skip
    at = REACH * finger.length_mm if touch_at_mm is None else touch_at_mm
    if not 0.0 < at <= finger.length_mm:
        raise ParameterError(
            "the object stands beside the finger", where="touch_at_mm", found=f"{at:g} mm",
            allowed=f"above 0, up to {finger.length_mm:.4g} mm",
            remedy="Let it touch somewhere along the finger.",
        )  # fmt: skip
    if clearance_mm < -DEEPEST_START_MM:
        raise ParameterError(
            "the object overlaps the finger at rest", where="clearance_mm",
            found=f"{-clearance_mm:g} mm deep", allowed="0 or more",
            remedy="Move the object away from the gripping face.",
        )  # fmt: skip
    turned = Placed(shape, Pose(jnp.zeros(3), jnp.asarray(_turn(orientation))))
    x, top, symmetric = _most_prominent(turned)
    if not symmetric:
        raise ParameterError(
            "the object is not symmetric about the finger's mid-plane", where="object",
            found="its two sides differ by more than 2 % of its size",
            allowed="objects whose sides are mirror images (half of the finger is modelled)",
            remedy="Turn the scan about its vertical axis, or take another orientation.",
        )  # fmt: skip
    place = np.array([at - x, -finger.pad_depth_mm - clearance_mm - top, 0.0])
    return Standing(Placed(shape, Pose(jnp.asarray(place), turned.pose.rotation)), at)


def _box(placed: Placed) -> tuple[Float[np.ndarray, "3"], Float[np.ndarray, "3"]]:
    """The object's box in the world; endless shapes are cut at 100 mm."""
    low, high = (np.clip(np.asarray(b), -100.0, 100.0) for b in placed.shape.bounds())
    corners = np.array(np.meshgrid(*zip(low, high, strict=True))).reshape(3, -1).T
    there = np.asarray(placed.pose.into_world(jnp.asarray(corners)))
    return there.min(0), there.max(0)


def _most_prominent(placed: Placed) -> tuple[float, float, bool]:
    """x and y of the surface's place nearest to the finger, and whether both sides are alike."""
    low, high = _box(placed)
    x = np.linspace(low[0], high[0], RAYS)
    heights = heights_under(placed, np.stack([x, np.zeros(RAYS)], axis=1), float(high[1]))
    top = float(np.nanmax(heights))
    size = float((high - low).max())
    plateau = x[heights > top - 1e-4 * size]
    middle = float(plateau.min() + plateau.max()) / 2
    probes = np.random.default_rng(1).uniform(low, high, (200, 3))
    sides = [
        np.asarray(_distances(placed, jnp.asarray(probes * [1.0, 1.0, sign]))) for sign in (1, -1)
    ]
    return middle, top, bool(np.abs(sides[0] - sides[1]).max() < 0.02 * size)


@jax.jit
def _distances(placed: Placed, points: Any) -> Any:
    return jax.vmap(placed.distance)(points)


def heights_under(
    placed: Placed, at: Float[np.ndarray, "ray 2"], start_mm: float
) -> Float[np.ndarray, " ray"]:
    """Height y (mm) of the surface under each place (x, z), seen from above; NaN beside it."""
    return np.asarray(_march(placed, jnp.asarray(at), jnp.asarray(start_mm)))


@jax.jit
def _march(placed: Placed, at: Any, start: Any) -> Any:
    """Go down each ray by the distance to the surface, which never passes it."""

    def points(y: Any) -> Any:
        return jnp.stack([at[:, 0], y, at[:, 1]], axis=-1)

    def step(_: int, y: Any) -> Any:
        return y - jax.vmap(placed.distance)(points(y))

    y = jax.lax.fori_loop(0, MARCH, step, jnp.full(len(at), start))
    near = jnp.abs(jax.vmap(placed.distance)(points(y))) < 1e-3
    return jnp.where(near, y, jnp.nan)


def overlooked_area_mm2(placed: Placed, finger: FingerParameters, cells: int = 60) -> float:
    """Area of the straight gripping face under which the object lies, mm² (its projection)."""
    x = (np.arange(cells) + 0.5) / cells * finger.length_mm
    z = ((np.arange(cells // 3) + 0.5) / (cells // 3) - 0.5) * finger.width_mm
    at = np.stack(np.meshgrid(x, z), axis=-1).reshape(-1, 2)
    seen = ~np.isnan(heights_under(placed, at, -finger.pad_depth_mm + 1.0))
    return float(seen.mean() * finger.length_mm * finger.width_mm)

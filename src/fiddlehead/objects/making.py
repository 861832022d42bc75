"""From the record of an object to its shape, and what can be wrong with the sizes."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping
from difflib import get_close_matches
from pathlib import Path
from typing import Any

import jax.numpy as jnp
import numpy as np
from jaxtyping import Float

from fiddlehead.errors import ParameterError
from fiddlehead.objects.records import ObjectRecord
from fiddlehead.objects.scan import read_scan
from fiddlehead.objects.shapes import ellipsoid, revolved, simple  # noqa: F401 (lists them)
from fiddlehead.objects.shapes.base import SHAPES, ObjectShape
from fiddlehead.objects.shapes.scanned import Scanned


def shape_of(record: ObjectRecord, folder: Path = Path()) -> ObjectShape:
    """The shape of a recorded object.

    Parameters
    ----------
    record : the object
    folder : where the path of a scan counts from

    Raises
    ------
    ParameterError : sizes that make no such shape
    InputError : a scan that cannot be read, or is no closed surface
    """
    if record.shape == Scanned.name:
        return read_scan(folder / record.file, **record.sizes)
    return make_shape(record.shape, record.sizes, where=record.name)


def make_shape(kind: str, sizes: Mapping[str, Any], *, where: str = "object") -> ObjectShape:
    """A shape by its name and its sizes.

    Raises
    ------
    ParameterError : no such shape, sizes missing, unknown or impossible
    """
    if kind not in SHAPES or kind == Scanned.name:
        near = get_close_matches(kind, SHAPES, n=1)
        raise ParameterError(
            "no such shape",
            where=f"{where}.shape",
            found=repr(kind),
            allowed=", ".join(name for name in SHAPES),
            remedy=f'Did you mean "{near[0]}"?' if near else "Choose one.",
        )
    cls: Any = SHAPES[kind]
    names = [field.name for field in dataclasses.fields(cls)]
    astray = sorted(set(names) ^ set(sizes))
    if astray:
        raise ParameterError(
            f"a {kind} needs other sizes",
            where=where,
            found=", ".join(astray),
            allowed=", ".join(names) or "none",
            remedy="Give each of these, and nothing else.",
        )
    if kind == revolved.Turned.name:
        profile = checked_profile(sizes["profile_mm"], f"{where}.profile_mm")
        return revolved.Turned(jnp.asarray(profile))
    numbers = {name: _positive(name, value, where) for name, value in sizes.items()}
    _fitting(kind, numbers, where)
    return cls(**{name: jnp.asarray(value, float) for name, value in numbers.items()})


def _positive(name: str, value: Any, where: str) -> float:
    number = isinstance(value, (int, float, np.integer, np.floating))
    lowest_ok = name == "taper_mm"
    if (
        isinstance(value, bool)
        or not number
        or not math.isfinite(value)
        or (value <= 0 and not (lowest_ok and value == 0))
    ):
        raise ParameterError(
            "no such size",
            where=f"{where}.{name}",
            found=repr(value),
            allowed="0 or more, mm" if lowest_ok else "a number above 0, mm",
            remedy="Give a size.",
        )
    return float(value)


def _fitting(kind: str, sizes: Mapping[str, float], where: str) -> None:
    """Sizes that are possible alone but not together."""

    def refuse(name: str, message: str, most: float) -> None:
        raise ParameterError(
            message,
            where=f"{where}.{name}",
            found=f"{sizes[name]:g} mm",
            allowed=f"up to {most:.4g} mm",
            remedy="Make it smaller.",
        )

    if "edge_radius_mm" in sizes:
        most = min(value for name, value in sizes.items() if name != "edge_radius_mm") / 2
        if sizes["edge_radius_mm"] > most:
            refuse("edge_radius_mm", "edges rounder than the object is thick", most)
    if kind == simple.Capsule.name and sizes["diameter_mm"] > sizes["length_mm"]:
        refuse("diameter_mm", "a capsule cannot be shorter than it is thick", sizes["length_mm"])
    if kind == revolved.Egg.name and sizes["taper_mm"] > 0.2 * sizes["length_mm"]:
        refuse("taper_mm", "no egg tapers that much", 0.2 * sizes["length_mm"])


def checked_profile(points: Any, where: str) -> Float[np.ndarray, "point 2"]:
    """The outside of a turned pot as an array of heights and radii, mm.

    Raises
    ------
    ParameterError : no list of pairs, ends off the axis, a negative radius, uneven steps, or an
        outline that crosses itself
    """

    def refuse(message: str, found: str, allowed: str, remedy: str) -> ParameterError:
        return ParameterError(message, where=where, found=found, allowed=allowed, remedy=remedy)

    try:
        profile = np.asarray(points, dtype=float)
    except (TypeError, ValueError):
        profile = np.zeros((0, 0))
    if profile.ndim != 2 or profile.shape[1] != 2 or len(profile) < 4:
        raise refuse(
            "a profile is a list of heights and radii",
            f"{len(points) if isinstance(points, (list, tuple)) else 0} entries",
            "four pairs [height, radius] or more",
            "Go from the middle of the foot to the middle of the top.",
        )
    if not np.all(np.isfinite(profile)):
        raise refuse("a point is no number", "a number that is not finite", "numbers", "Mend it.")
    if profile[0, 1] != 0 or profile[-1, 1] != 0 or np.any(profile[1:-1, 1] <= 0):
        raise refuse(
            "the profile must start and end on the axis, and stay off it in between",
            f"radii {profile[0, 1]:g} ... {profile[-1, 1]:g}, least {profile[1:-1, 1].min():g} mm",
            "radius 0 first and last, more than 0 in between",
            "Close the pot over the axis; it is taken as filled.",
        )
    steps = np.linalg.norm(np.diff(profile, axis=0), axis=1)
    if steps.min() <= 0 or steps.max() > 4 * steps.min():
        raise refuse(
            "the points of the profile are spaced too unevenly for a smooth curve",
            f"steps from {steps.min():.3g} to {steps.max():.3g} mm",
            "the longest at most four times the shortest",
            "Add points in the long stretches.",
        )
    if _crosses_itself(profile):
        raise refuse(
            "the profile crosses itself",
            "an outline with a loop",
            "no crossing",
            "Sort the points.",
        )
    if profile[0, 0] > profile[-1, 0]:
        raise refuse(
            "the profile runs downwards, so inside and outside are exchanged",
            f"height {profile[0, 0]:g} first, {profile[-1, 0]:g} mm last",
            "from the foot up",
            "Turn the list around.",
        )
    return profile


def _crosses_itself(profile: Float[np.ndarray, "point 2"]) -> bool:
    start, end = profile[:-1], profile[1:]

    def side(a: Any, b: Any, c: Any) -> Any:
        return np.sign((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))

    for i in range(len(start)):
        for j in range(i + 2, len(start)):
            a, b, c, d = start[i], end[i], start[j], end[j]
            if side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0:
                return True
    return False

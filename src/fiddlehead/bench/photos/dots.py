"""Round marks in a photo: dark, light or coloured, to a fraction of a pixel."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from jaxtyping import Float, Int, UInt8

from fiddlehead.bench.photos.vision import opencv

LONGEST = 2.2
"""Largest ratio of the axes of a dot's image; tilt makes circles elliptic."""
ROUND = (0.8, 1.2)
"""Area over that of the ellipse with the same moments."""
SIZES = (0.35, 2.8)
"""Area over that expected."""
FAINTEST = 12.0
"""Least contrast against the surroundings, of 255."""
HUE_WIDTH_DEG = 25.0


class Dots(NamedTuple):
    """Centres in pixels and area in square pixels, the clearest first."""

    centres: Float[np.ndarray, "dot 2"]
    areas: Float[np.ndarray, " dot"]
    contrast: Float[np.ndarray, " dot"]


def find_dots(
    pixels: UInt8[np.ndarray, "row column 3"],
    diameter_px: float,
    *,
    kind: str = "dark",
    hue_deg: float = 0.0,
) -> Dots:
    """Blobs of about one size that are round and stand out.

    Parameters
    ----------
    kind : ``dark``, ``light`` or ``coloured``
    hue_deg : of coloured dots: 0 red, 120 green, 240 blue
    """
    cv = opencv()
    field = _field(pixels, kind, hue_deg)
    window = int(2 * round(1.5 * diameter_px) + 1)
    local = cv.blur(field, (window, window))
    smooth = cv.GaussianBlur(field, (0, 0), max(0.08 * diameter_px, 0.6))
    raised = smooth - local
    mask = (raised > max(FAINTEST / 3.0, 0.25 * float(np.percentile(raised, 99.9)))).astype(
        np.uint8
    )
    count, labels, stats, _ = cv.connectedComponentsWithStats(mask, connectivity=4)
    expected = 0.25 * np.pi * diameter_px**2
    found = []
    for label in range(1, count):
        left, top, wide, high, area = stats[label]
        if not SIZES[0] <= area / expected <= SIZES[1]:
            continue
        edge = 3
        rows = slice(max(top - edge, 0), top + high + edge)
        columns = slice(max(left - edge, 0), left + wide + edge)
        one = _measure(field[rows, columns], labels[rows, columns], label)
        if one is not None:
            (x, y), size, contrast = one
            found.append((x + columns.start, y + rows.start, size, contrast))
    found.sort(key=lambda dot: -dot[3])
    table = np.array(found, float).reshape(-1, 4)
    return Dots(table[:, :2], table[:, 2], table[:, 3])


def _field(
    pixels: UInt8[np.ndarray, "row column 3"], kind: str, hue_deg: float
) -> Float[np.ndarray, "row column"]:
    """A picture in which the wanted dots are bright, 0 to 255."""
    cv = opencv()
    if kind == "coloured":
        hsv = cv.cvtColor(pixels, cv.COLOR_RGB2HSV).astype(np.float32)
        off = np.abs((2.0 * hsv[:, :, 0] - hue_deg + 180.0) % 360.0 - 180.0)
        near = np.clip(1.5 - off / HUE_WIDTH_DEG, 0.0, 1.0)
        return near * hsv[:, :, 1] * np.clip(hsv[:, :, 2] / 64.0, 0.0, 1.0)
    gray = cv.cvtColor(pixels, cv.COLOR_RGB2GRAY).astype(np.float32)
    return gray if kind == "light" else 255.0 - gray


def _measure(
    field: Float[np.ndarray, "row column"],
    labels: Int[np.ndarray, "row column"],
    label: int,
) -> tuple[tuple[float, float], float, float] | None:
    """Centre, area and contrast of one blob, or None where it is no dot."""
    cv = opencv()
    inside = (labels == label).astype(np.uint8)
    moments = cv.moments(inside, binaryImage=True)
    area = moments["m00"]
    spread = np.array(
        [[moments["mu20"], moments["mu11"]], [moments["mu11"], moments["mu02"]]]
    ) / max(area, 1.0)
    small, large = np.sqrt(np.maximum(np.linalg.eigvalsh(spread), 1e-9)) * 2.0
    if large / small > LONGEST or not ROUND[0] <= area / (np.pi * small * large) <= ROUND[1]:
        return None
    near = cv.dilate(inside, np.ones((3, 3), np.uint8), iterations=2)
    ring = (near == 1) & (cv.dilate(inside, np.ones((3, 3), np.uint8)) == 0)
    if not ring.any():
        return None
    ground = float(np.median(field[ring]))
    height = float(np.median(field[inside == 1])) - ground
    if height < FAINTEST:
        return None
    weight = np.where(near == 1, np.clip((field - ground) / height, 0.0, 1.2), 0.0)
    rows, columns = np.indices(field.shape)
    total = weight.sum()
    centre = (float((weight * columns).sum() / total), float((weight * rows).sum() / total))
    return centre, float(total), height

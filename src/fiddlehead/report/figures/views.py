"""Solids seen in space, without a graphics card: every pixel shows the triangle nearest to it.

Edges appear where depth or direction jump, so that facets of round faces do not.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from jaxtyping import Float, Int

from fiddlehead.fabricate.records import Part
from fiddlehead.report.figures.style import BODY, FAINT, INK, sheet, title

if TYPE_CHECKING:
    from matplotlib.figure import Figure

LIGHT = np.array([-0.35, 0.55, 0.76])
"""Direction to the light in the viewer's axes: right, up, towards."""
LONGEST_SIDE = 900
"""Pixels along the longer side of a view."""
PATCH, TOGETHER = 24, 3000
"""Triangles of at most so many pixels across are drawn so many at a time."""
JUMP_MM, JUMP_TURN = 0.6, 0.35
"""A step in depth, or in one minus the cosine between normals, that is drawn as an edge."""


@dataclass(frozen=True)
class Viewpoint:
    """Where the viewer stands: turned about the vertical, then raised, deg."""

    yaw_deg: float = 35.0
    tilt_deg: float = 25.0

    def axes(self, up: Float[np.ndarray, " 3"]) -> Float[np.ndarray, "3 3"]:
        """Right, up and towards the viewer, for a world whose vertical is ``up``."""
        up = np.asarray(up, float)
        start = np.array([0.0, 0.0, 1.0]) if abs(up[2]) < 0.9 else np.array([0.0, -1.0, 0.0])
        front = start - up * (start @ up)
        front /= np.linalg.norm(front)
        side = np.cross(up, front)
        yaw, tilt = np.deg2rad([self.yaw_deg, self.tilt_deg])
        towards = np.cos(tilt) * (np.cos(yaw) * front + np.sin(yaw) * side) + np.sin(tilt) * up
        right = np.cross(up, towards)
        right /= np.linalg.norm(right)
        return np.stack([right, np.cross(towards, right), towards])


@dataclass(frozen=True, eq=False)
class View:
    """A rendered view: colours, and its size in mm."""

    image: Float[np.ndarray, "row column 4"]
    width_mm: float
    height_mm: float
    caption: str = ""


def view_of(
    parts: Sequence[Part],
    viewpoint: Viewpoint | None = None,
    *,
    up: Sequence[float] = (0.0, 0.0, 1.0),
    colours: Sequence[Float[np.ndarray, "triangle 3"]] | None = None,
    caption: str = "",
) -> View:
    """Look at parts (in their own coordinates) from a viewpoint.

    Parameters
    ----------
    up : vertical in part coordinates
    colours : red, green and blue of every triangle, 0 to 1, per part; the body colour when None
    """
    axes = (viewpoint or Viewpoint()).axes(np.asarray(up, float))
    corners = np.concatenate([part.corners for part in parts]) @ axes.T
    paint = (
        np.tile(_rgb(BODY), (len(corners), 1)) if colours is None else np.concatenate(list(colours))
    )
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    area = np.linalg.norm(normal, axis=1) / 2.0
    normal = normal / np.maximum(2.0 * area, 1e-12)[:, None]
    facing = normal[:, 2] > 0.0
    corners, paint, normal = corners[facing], paint[facing], normal[facing]
    low, high = corners.min(axis=(0, 1)), corners.max(axis=(0, 1))
    pixel = float((high - low)[:2].max()) / LONGEST_SIDE
    border = 3
    columns, rows = np.ceil((high - low)[:2] / pixel).astype(int) + 2 * border
    corners[:, :, :2] = (corners[:, :, :2] - low[:2]) / pixel + border
    depth, face = _nearest(corners, int(rows), int(columns))
    image = _shaded(depth, face, normal, paint)
    return View(image[::-1], columns * pixel, rows * pixel, caption)


def _nearest(
    corners: Float[np.ndarray, "triangle 3 3"], rows: int, columns: int
) -> tuple[Float[np.ndarray, "row column"], Int[np.ndarray, "row column"]]:
    """Depth and number of the nearest triangle at the middle of every pixel; -inf and -1 beside.

    ``corners`` are counter-clockwise, in pixels across and up, and mm towards the viewer.
    """
    depth = np.full((rows, columns), -np.inf)
    face = np.full((rows, columns), -1)
    low = np.floor(corners[:, :, :2].min(axis=1)).astype(int)
    size = np.ceil(corners[:, :, :2].max(axis=1)).astype(int) - low
    small = (size <= PATCH).all(axis=1)
    numbers = np.flatnonzero(small)
    for chunk in np.array_split(numbers, max(1, len(numbers) // TOGETHER)):
        _draw_together(corners, chunk, low, depth, face)
    for number in np.flatnonzero(~small):
        left, bottom = low[number]
        right, top = low[number] + size[number]
        x, y = np.arange(left, right) + 0.5, np.arange(bottom, top)[:, None] + 0.5
        inside, near = _cover(corners[number], x, y)
        window = (slice(bottom, top), slice(left, right))
        wins = inside & (near > depth[window])
        depth[window][wins] = near[wins]
        face[window][wins] = number
    return depth, face


def _draw_together(
    corners: Float[np.ndarray, "triangle 3 3"],
    numbers: Int[np.ndarray, " chosen"],
    low: Int[np.ndarray, "triangle 2"],
    depth: Float[np.ndarray, "row column"],
    face: Int[np.ndarray, "row column"],
) -> None:
    """Draw many small triangles at once into ``depth`` and ``face``."""
    step = np.arange(PATCH)
    x = low[numbers, 0][:, None, None] + step
    y = low[numbers, 1][:, None, None] + step[:, None]
    shape = np.moveaxis(corners[numbers], 0, -1)[..., None, None]
    inside, near = _cover(shape, x + 0.5, y + 0.5)
    inside &= (x < depth.shape[1]) & (y < depth.shape[0])
    which, row, column = np.nonzero(inside)
    cell = y[which, row, 0] * depth.shape[1] + x[which, 0, column]
    found = near[inside]
    order = np.lexsort((found, cell))
    last = np.append(cell[order][1:] != cell[order][:-1], True) if len(order) else order
    best = order[last] if len(order) else order
    wins = found[best] > depth.ravel()[cell[best]]
    depth.ravel()[cell[best][wins]] = found[best][wins]
    face.ravel()[cell[best][wins]] = numbers[which[best][wins]]


def _cover(corners: Any, x: Any, y: Any) -> tuple[Any, Any]:
    """Whether points lie in a triangle (or many), and the triangle's depth there."""
    (ax, ay, az), (bx, by, bz), (cx, cy, cz) = corners
    twice = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
    twice = np.where(twice < 1e-9, np.nan, twice)  # seen from the edge: covers nothing
    at_b = ((x - ax) * (cy - ay) - (y - ay) * (cx - ax)) / twice
    at_c = ((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / twice
    inside = (at_b >= -1e-9) & (at_c >= -1e-9) & (at_b + at_c <= 1 + 1e-9)
    return inside, az + at_b * (bz - az) + at_c * (cz - az)


def _shaded(
    depth: Float[np.ndarray, "row column"],
    face: Int[np.ndarray, "row column"],
    normal: Float[np.ndarray, "face 3"],
    paint: Float[np.ndarray, "face 3"],
) -> Float[np.ndarray, "row column 4"]:
    hit = face >= 0
    direction = np.where(hit[..., None], normal[face], 0.0)
    light = 0.55 + 0.45 * np.clip(direction @ (LIGHT / np.linalg.norm(LIGHT)), 0.0, 1.0)
    colour = np.where(hit[..., None], paint[face] * light[..., None], 1.0)
    edge = np.zeros_like(hit)
    for axis in (0, 1):
        other = np.roll(depth, -1, axis)
        with np.errstate(invalid="ignore"):
            step = np.abs(np.where(hit, depth, -1e6) - np.where(np.isfinite(other), other, -1e6))
        bend = 1.0 - np.sum(direction * np.roll(direction, -1, axis), axis=-1)
        both = hit & np.roll(hit, -1, axis)
        edge |= (step > JUMP_MM) | (both & (bend > JUMP_TURN))
    thick = edge | np.roll(edge, 1, 0) | np.roll(edge, 1, 1)
    colour = np.where(thick[..., None], _rgb(INK) * 0.85 + 0.15 * colour, colour)
    return np.concatenate([colour, (hit | thick)[..., None].astype(float)], axis=-1)


def _rgb(colour: str) -> Float[np.ndarray, " 3"]:
    return np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255.0


@dataclass(frozen=True, eq=False)
class ViewsPicture:
    """Views side by side, with a colour scale where colours carry a number."""

    heading: str
    detail: str
    views: tuple[View, ...]
    scale: tuple[str, tuple[tuple[str, str], ...]] | None = None
    """Title of the key, and pairs of colour and text."""


def draw_views(picture: ViewsPicture, width_mm: float = 190.0) -> Figure:
    """Draw all views on one scale."""
    views = picture.views
    total = sum(view.width_mm for view in views)
    tallest = max(view.height_mm for view in views)
    scale = min((width_mm - 12.0) / total, 110.0 / tallest)
    words = 3.7 * max(view.caption.count("\n") + 1 for view in views)
    height = tallest * scale + words + 20.0 + (12.0 if picture.scale else 0.0)
    ratios = [view.width_mm for view in views]
    with sheet(
        width_mm, height, ncols=len(views), squeeze=False, gridspec_kw={"width_ratios": ratios}
    ) as (figure, grid):
        for axes, view in zip(grid[0], views, strict=True):
            _show(axes, view, tallest, words / scale)
        title(grid[0][0], picture.heading, picture.detail)
        if picture.scale:
            _key(figure, picture.scale)
        return figure


def _show(axes: Any, view: View, tallest: float, words: float) -> None:
    axes.imshow(view.image, extent=(0.0, view.width_mm, 0.0, view.height_mm), zorder=2)
    axes.set_ylim(-1.1 * words, tallest)
    axes.set_axis_off()
    if view.caption:
        axes.text(view.width_mm / 2, -0.1 * words, view.caption, ha="center", va="top",
                  fontsize=8.0, color=FAINT)  # fmt: skip


def _key(figure: Any, scale: tuple[str, tuple[tuple[str, str], ...]]) -> None:
    from matplotlib.patches import Patch

    name, rows = scale
    patches = [Patch(facecolor=colour, label=text) for colour, text in rows]
    figure.legend(
        handles=patches, title=name, loc="outside lower center", ncols=len(rows), title_fontsize=8.0
    )

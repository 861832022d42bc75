"""Deformed shapes at several pressures, coloured by strain: the finger hangs from its root."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from jaxtyping import Float, Int

from fiddlehead.report.figures.style import INK, STRAIN_COLOURS, sheet, title
from fiddlehead.report.surface import Surface, cut_faces, whole_surface
from fiddlehead.trials.records import BendResult, BlockResult
from fiddlehead.units import say

if TYPE_CHECKING:
    from matplotlib.figure import Figure

YAW_DEG, TILT_DEG = 32.0, 12.0
"""The viewer stands beside the finger, a little to its back and above."""
LIGHT = np.array([0.35, 0.55, 0.76])
GAP_MM = 9.0


@dataclass(frozen=True, eq=False)
class Shape:
    """One finger seen from the side: patches far to near, right and up in mm, and their strain."""

    pressure_kpa: float
    patches: Float[np.ndarray, "patch 4 2"]
    strain: Float[np.ndarray, " patch"]
    light: Float[np.ndarray, " patch"]

    @property
    def extent(self) -> tuple[float, float, float, float]:
        """Left, right, bottom, top, mm."""
        low, high = self.patches.min((0, 1)), self.patches.max((0, 1))
        return float(low[0]), float(high[0]), float(low[1]), float(high[1])


@dataclass(frozen=True, eq=False)
class ShapesPicture:
    """Shapes side by side on one scale."""

    heading: str
    detail: str
    shapes: tuple[Shape, ...]

    @property
    def largest_strain(self) -> float:
        """Upper end of the colour scale."""
        return max(float(shape.strain.max()) for shape in self.shapes)


def chosen_steps(steps: int, count: int = 5) -> Int[np.ndarray, " chosen"]:
    """Evenly spread step numbers, first and last included."""
    return np.unique(np.linspace(0, steps - 1, min(count, steps)).round().astype(int))


def shapes_picture(
    result: BendResult | BlockResult, heading: str, detail: str = "", count: int = 5
) -> ShapesPicture:
    """Look at ``count`` pressure steps of a result."""
    surface = whole_surface(result.mesh)
    shapes = tuple(
        _shape(
            surface,
            result.mesh.points + result.displacement_mm[step],
            result.node_strain[step],
            1e3 * float(result.pressure_mpa[step]),
        )
        for step in chosen_steps(len(result.pressure_mpa), count)
    )
    return ShapesPicture(heading, detail, shapes)


def _shape(
    surface: Surface,
    points: Float[np.ndarray, "node 3"],
    node_strain: Float[np.ndarray, " node"],
    pressure_kpa: float,
) -> Shape:
    patches, strain = cut_faces(surface, surface.place(points), node_strain[surface.node], cuts=3)
    normal = np.cross(patches[:, 2] - patches[:, 0], patches[:, 3] - patches[:, 1])
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    frame = _frame()
    seen = normal @ frame[2] > 0.0
    placed, normal = patches[seen] @ frame.T, normal[seen] @ frame.T
    order = np.argsort(placed[:, :, 2].mean(1))
    light = np.clip(normal @ (LIGHT / np.linalg.norm(LIGHT)), 0.0, 1.0)
    return Shape(pressure_kpa, placed[order][:, :, :2], strain[seen][order], light[order])


def _frame() -> Float[np.ndarray, "3 3"]:
    """Rows: right, up and towards the viewer. The root is up, the object on the right."""
    right, up, near = (np.array(v, float) for v in ((0, -1, 0), (-1, 0, 0), (0, 0, 1)))
    a, b = np.radians(YAW_DEG), np.radians(TILT_DEG)
    right, near = np.cos(a) * right + np.sin(a) * near, np.cos(a) * near - np.sin(a) * right
    up, near = np.cos(b) * up - np.sin(b) * near, np.cos(b) * near + np.sin(b) * up
    return np.stack([right, up, near])


def draw_shapes(picture: ShapesPicture) -> Figure:
    """Draw the shapes side by side, pressures above the roots, one strain scale for all."""
    from matplotlib import colormaps
    from matplotlib.cm import ScalarMappable
    from matplotlib.collections import PolyCollection
    from matplotlib.colors import Normalize

    scale = Normalize(0.0, max(100.0 * picture.largest_strain, 1e-6))
    colours = colormaps[STRAIN_COLOURS]
    extents = [shape.extent for shape in picture.shapes]
    wide = sum(e[1] - e[0] for e in extents) + GAP_MM * (len(extents) - 1)
    high = max(e[3] for e in extents) - min(e[2] for e in extents)
    with sheet(190.0, 184.0 * (high + 19.0) / (wide + 6.0) + 36.0) as (figure, axes):
        at = 0.0
        for shape, (left, right, _, top) in zip(picture.shapes, extents, strict=True):
            colour = colours(scale(100.0 * shape.strain))
            colour[:, :3] *= (0.72 + 0.28 * shape.light)[:, None]
            moved = shape.patches + np.array([at - left, 0.0])
            axes.add_collection(
                PolyCollection(
                    list(moved),
                    facecolors=colour,
                    edgecolors=colour,
                    linewidths=0.35,
                    rasterized=True,
                )
            )
            root = moved[:, :, 1] > top - 6.0
            middle = float(moved[root][:, 0].mean()) if root.any() else at
            axes.text(middle, top + 4.0, say(shape.pressure_kpa, "kPa"), ha="center", va="bottom")
            at += right - left + GAP_MM
        _finish(axes, at - GAP_MM, extents)
        title(axes, picture.heading, picture.detail)
        bar = figure.colorbar(
            ScalarMappable(scale, colours), ax=axes, location="bottom", shrink=0.55, aspect=45
        )
        bar.set_label("largest principal log strain, nodal average (%)")
        bar.outline.set_visible(False)
        return figure


def _finish(axes: object, wide: float, extents: list[tuple[float, float, float, float]]) -> None:
    """Frame, equal scale and a scale bar."""
    low = min(e[2] for e in extents)
    top = max(e[3] for e in extents)
    bar = 20.0
    axes.plot([0.0, bar], [low - 4.0] * 2, color=INK, linewidth=2.0, solid_capstyle="butt")  # type: ignore[attr-defined]
    axes.text(bar + 2.0, low - 4.0, f"{bar:g} mm", va="center", fontsize=8.0)  # type: ignore[attr-defined]
    axes.set_xlim(-3.0, wide + 3.0)  # type: ignore[attr-defined]
    axes.set_ylim(low - 7.0, top + 12.0)  # type: ignore[attr-defined]
    axes.set_aspect("equal")  # type: ignore[attr-defined]
    axes.set_axis_off()  # type: ignore[attr-defined]

"""Layers seen from above: what is drawn, where the air is, and where trouble lies."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from jaxtyping import Float

from fiddlehead.fabricate.findings import Finding
from fiddlehead.fabricate.layers import polygons
from fiddlehead.fabricate.printcheck import PrintCheck
from fiddlehead.report.figures.style import BODY, FAINT, INK, LINES, sheet, title

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from shapely.geometry.base import BaseGeometry

TROUBLE, AIR, LINE, SEAM = LINES[1], "#d9ecf7", "#a59a83", LINES[3]
MOST_PANELS = 6
ZOOM_MM = 9.0
"""Half the side of a panel's view around one finding."""


@dataclass(frozen=True, eq=False)
class LayerPanel:
    """One layer, or the part of it around a finding.

    window : x and y from and to, mm on the plate
    """

    caption: str
    section: BaseGeometry
    inside: BaseGeometry
    loops: tuple[BaseGeometry, ...]
    singles: BaseGeometry
    trouble: BaseGeometry | None
    seams: Float[np.ndarray, "seam 2"]
    window: tuple[float, float, float, float]


@dataclass(frozen=True, eq=False)
class LayersPicture:
    """Panels with their captions."""

    heading: str
    detail: str
    panels: tuple[LayerPanel, ...]


def layers_picture(check: PrintCheck, heading: str, detail: str = "") -> LayersPicture:
    """The worst finding of each kind, each in its layer; where nothing is at fault, layers spread
    over the height."""
    chosen = one_of_each_kind(check.findings if check.faults else [])[:MOST_PANELS]
    if chosen:
        panels = tuple(_finding_panel(check, finding) for finding in chosen)
    else:
        count = len(check.layers.sections)
        numbers = np.unique(np.linspace(0, count - 1, 6)[1:-1].round().astype(int))
        panels = tuple(_whole_panel(check, int(n)) for n in numbers)
    return LayersPicture(heading, detail, panels)


def one_of_each_kind(findings: Sequence[Finding]) -> list[Finding]:
    """The first finding of every kind, faults first."""
    seen: dict[str, Finding] = {}
    for finding in findings:
        seen.setdefault(finding.kind, finding)
    return list(seen.values())


def _finding_panel(check: PrintCheck, finding: Finding) -> LayerPanel:
    x, y, z = finding.place_mm
    x0, y0, x1, y1 = finding.area.bounds
    half = max(ZOOM_MM, 0.65 * max(x1 - x0, y1 - y0))
    middle = ((x0 + x1) / 2, (y0 + y1) / 2) if half > ZOOM_MM else (x, y)
    window = (middle[0] - half, middle[0] + half, middle[1] - half, middle[1] + half)
    caption = f"{finding.kind}: {finding.worst}\nlayer {finding.worst_layer}, height {z:.1f} mm"
    return _panel(check, finding.worst_layer - 1, caption, window, finding.area)


def _whole_panel(check: PrintCheck, number: int) -> LayerPanel:
    low, high = check.layers.part.vertices.min(axis=0), check.layers.part.vertices.max(axis=0)
    window = (low[0] - 2, high[0] + 2, low[1] - 2, high[1] + 2)
    z = check.layers.heights[number]
    return _panel(check, number, f"layer {number + 1}, height {z:.1f} mm", window, None)


def _panel(
    check: PrintCheck,
    number: int,
    caption: str,
    window: tuple[float, float, float, float],
    trouble: BaseGeometry | None,
) -> LayerPanel:
    drawn = check.drawn[number]
    seams = [s.place_mm for s in check.seams if s.layer == number]
    return LayerPanel(
        caption=caption,
        section=check.layers.sections[number],
        inside=check.air.inside[number],
        loops=drawn.loops,
        singles=drawn.singles,
        trouble=trouble,
        seams=np.array(seams, float).reshape(-1, 2),
        window=window,
    )


def draw_layers(picture: LayersPicture) -> Figure:
    """Draw all panels and the key."""
    count = len(picture.panels)
    wide = picture.panels[0].window
    flat = (wide[1] - wide[0]) > 1.8 * (wide[3] - wide[2])
    columns = 1 if flat else min(3, max(2, count))
    rows = int(np.ceil(count / columns))
    width = 190.0
    aspect = max((p.window[3] - p.window[2]) / (p.window[1] - p.window[0]) for p in picture.panels)
    height = rows * (width / columns * aspect * 0.92 + 12.0) + 24.0
    with sheet(width, height, nrows=rows, ncols=columns, squeeze=False) as (figure, grid):
        for axes, panel in zip(grid.flat, picture.panels, strict=False):
            _draw_panel(axes, panel)
        for axes in list(grid.flat)[count:]:
            axes.set_axis_off()
        first = grid[0][0]
        title(first, picture.heading, picture.detail)
        _key(figure)
        return figure


def _draw_panel(axes: Any, panel: LayerPanel) -> None:
    _fill(axes, panel.inside, AIR, 1)
    _fill(axes, panel.section, BODY, 2, edge=INK)
    _fill(axes, panel.singles, "#dccfae", 3)
    for loop in panel.loops:
        for ring in shapely.get_parts(loop):
            x, y = shapely.get_coordinates(ring).T
            axes.plot(x, y, color=LINE, linewidth=0.6, zorder=4)
    if panel.trouble is not None:
        _fill(axes, panel.trouble, TROUBLE, 5, edge=TROUBLE)
    axes.plot(*panel.seams.T, "D", color=SEAM, markersize=3.0, zorder=6, clip_on=True)
    axes.set_xlim(*panel.window[:2])
    axes.set_ylim(*panel.window[2:])
    axes.set_aspect("equal")
    axes.tick_params(labelsize=6.5, length=2)
    axes.grid(False)
    axes.set_xlabel(panel.caption, fontsize=7.5)


def _fill(axes: Any, area: BaseGeometry, colour: str, level: int, edge: str = "none") -> None:
    from matplotlib.patches import PathPatch
    from matplotlib.path import Path

    for polygon in polygons(area):
        rings = [polygon.exterior, *polygon.interiors]
        path = Path.make_compound_path(*(Path(np.asarray(r.coords)[:, :2]) for r in rings))
        axes.add_patch(
            PathPatch(path, facecolor=colour, edgecolor=edge, linewidth=0.7, zorder=level)
        )


def _key(figure: Any) -> None:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    handles = [
        Patch(facecolor=BODY, edgecolor=INK, label="solid"),
        Patch(facecolor=AIR, label="air inside a chamber"),
        Line2D([], [], color=LINE, label="wall loops"),
        Patch(facecolor=TROUBLE, label="finding"),
        Line2D([], [], color=SEAM, marker="D", linestyle="none", label="best place for the seam"),
    ]
    legend = figure.legend(handles=handles, loc="outside lower left", ncols=5, fontsize=7.5)
    legend.set_in_layout(True)
    for text in legend.get_texts():
        text.set_color(FAINT)

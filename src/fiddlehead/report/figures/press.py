"""Contact pressure where a finger presses on an object, and force over air pressure.

The map shows the gripping face unrolled, as the object sees it; above it stands the deformed finger
in its mid-plane with the object's outline.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from jaxtyping import Float

from fiddlehead.report.figures.curves import KPA, Curve, CurvePicture
from fiddlehead.report.figures.style import BODY, FAINT, INK, sheet, title
from fiddlehead.report.surface import outline_edges, point_cells, whole_surface
from fiddlehead.trials.records import PressResult

if TYPE_CHECKING:
    from matplotlib.figure import Figure

PRESSURE_COLOURS = "magma_r"
OBJECT = "#c9b8a8"


@dataclass(frozen=True, eq=False)
class PressMap:
    """One finger on one object at one air pressure; mm and kPa."""

    label: str
    section: Float[np.ndarray, "face point 2"]
    """Deformed bricks in the mid-plane, as closed outlines."""
    outline: Float[np.ndarray, "place 2"]
    """The object's, as the finger sees it."""
    patches: Float[np.ndarray, "patch 4 2"]
    """Gripping face, undeformed, a patch for each integration point: along the finger, across."""
    pressure_kpa: Float[np.ndarray, " patch"]


@dataclass(frozen=True, eq=False)
class PressMapPicture:
    """Maps side by side on one colour scale."""

    heading: str
    detail: str
    maps: tuple[PressMap, ...]
    most_kpa: float
    """Upper end of the scale."""


def press_map(
    result: PressResult,
    label: str,
    step: float = -1.0,
) -> PressMap:
    """What one result looks like at a step; a fraction lies between two steps in proportion."""
    count = len(result.pressure_mpa)
    at = count - 1.0 if step < 0 else min(step, count - 1.0)
    low, share = int(at), at - int(at)
    high = min(low + 1, count - 1)
    moved, pressed = (
        (1 - share) * field[low] + share * field[high]
        for field in (result.displacement_mm, result.point_pressure_mpa)
    )
    half = whole_surface(result.mesh, ("symmetry",))
    faces = len(result.mesh.faces["symmetry"])
    rings = outline_edges(half, half.place(result.mesh.points + moved))[:faces, :, :2]
    cells = point_cells(result.mesh.points[result.mesh.faces["underside"]])[:, :, [0, 2]]
    value = KPA * pressed[: len(cells)]  # those of the end face come behind
    whole = np.concatenate([cells, cells * [1.0, -1.0]])
    return PressMap(label, rings, result.profile_mm, whole, np.concatenate([value, value]))


def press_map_picture(result: PressResult, heading: str, detail: str = "") -> PressMapPicture:
    """The highest pressure of one result."""
    air = KPA * result.pressure_mpa[-1]
    label = (
        f"{air:.4g} kPa air: {result.grip_force_n[-1]:.2f} N, 95 % of the contact below "
        f"{KPA * result.p95_mpa[-1]:.0f} kPa"
    )
    shown = press_map(result, label)
    return PressMapPicture(heading, detail, (shown,), max(float(shown.pressure_kpa.max()), 1.0))


def draw_press_map(picture: PressMapPicture) -> Figure:
    """Side views above, maps of contact pressure below, one scale for all."""
    from matplotlib import colormaps
    from matplotlib.cm import ScalarMappable
    from matplotlib.collections import PolyCollection
    from matplotlib.colors import Normalize

    scale, colours = Normalize(0.0, picture.most_kpa), colormaps[PRESSURE_COLOURS]
    columns = len(picture.maps)
    width = 150.0 if columns == 1 else 190.0
    low, high = _window(picture.maps)
    tall = (width - 20.0) / columns * (high[1] - low[1]) / (high[0] - low[0])
    across = (width - 20.0) / columns * 0.30
    with sheet(
        width, tall + across + 46.0, nrows=2, ncols=columns, squeeze=False,
        gridspec_kw={"height_ratios": [tall, across]},
    ) as (figure, grid):  # fmt: skip
        for column, one in enumerate(picture.maps):
            side, face = grid[0][column], grid[1][column]
            _side_view(side, one, low, high)
            side.text(
                0.5, -0.02, one.label, transform=side.transAxes, ha="center", va="top",
                fontsize=7.5 if columns == 1 else 7.0,
            )  # fmt: skip
            patches = PolyCollection(
                list(one.patches), facecolors=colours(scale(one.pressure_kpa)),
                edgecolors=colours(scale(one.pressure_kpa)), linewidths=0.2, rasterized=True,
            )  # fmt: skip
            face.add_collection(patches)
            face.set_xlim(one.patches[..., 0].min(), one.patches[..., 0].max())
            face.set_ylim(one.patches[..., 1].min(), one.patches[..., 1].max())
            face.set_aspect("equal")
            face.grid(visible=False)
            face.set_xlabel("along the finger (mm)")
            if column == 0:
                face.set_ylabel("across (mm)")
        title(grid[0][0], picture.heading, picture.detail)
        bar = figure.colorbar(
            ScalarMappable(scale, colours), ax=list(grid[1]), location="bottom", shrink=0.55,
            aspect=45,
        )  # fmt: skip
        bar.set_label("contact pressure on the gripping face at integration points (kPa)")
        bar.outline.set_visible(False)
        return figure


def _window(maps: Sequence[PressMap]) -> tuple[Any, Any]:
    """Lower left and upper right corner of all side views, mm."""
    corners = np.concatenate([one.section.reshape(-1, 2) for one in maps])
    low, high = corners.min(0) - 4.0, corners.max(0) + 4.0
    low[1] -= 6.0
    return low, high


def _side_view(axes: Any, one: PressMap, low: Any, high: Any) -> None:
    from matplotlib.collections import PolyCollection

    if len(one.outline):
        axes.fill_between(one.outline[:, 0], one.outline[:, 1], low[1] - 1.0, color=OBJECT, lw=0)
        axes.plot(one.outline[:, 0], one.outline[:, 1], color=INK, linewidth=0.9)
    axes.add_collection(
        PolyCollection(list(one.section), facecolors=BODY, edgecolors=FAINT, linewidths=0.3)
    )
    axes.set_xlim(low[0], high[0])
    axes.set_ylim(low[1], high[1])
    axes.set_aspect("equal")
    axes.set_anchor("N")  # room is kept for the heading above it
    axes.set_axis_off()


def grip_force_picture(
    results: Sequence[PressResult], heading: str, detail: str = ""
) -> CurvePicture:
    """Grip force of one finger over gauge pressure, one line per object."""
    ended = [r for r in results if not r.history.complete]
    return CurvePicture(
        name="grip_force_pressure",
        heading=heading,
        detail=detail,
        x_label="gauge pressure (kPa)",
        y_label="grip force, one finger (N)",
        curves=tuple(Curve(r.object_name, KPA * r.pressure_mpa, r.grip_force_n) for r in results),
        remark=" ".join(f"{r.object_name}: {r.history.reason}" for r in ended),
    )


def pressure_picture(
    result: PressResult, heading: str, detail: str = "", limit_kpa: float | None = None
) -> CurvePicture:
    """Contact pressure over gauge pressure, beside the object's limit."""
    air = KPA * result.pressure_mpa
    curves = [
        Curve("peak (depends on the mesh)", air, KPA * result.peak_mpa),
        Curve("95 % of the contact below", air, KPA * result.p95_mpa),
        Curve("mean", air, KPA * result.mean_mpa),
    ]
    if limit_kpa is not None:
        curves.append(Curve("limit of the object", air, np.full_like(air, limit_kpa), helper=True))
    return CurvePicture(
        name="contact_pressure",
        heading=heading,
        detail=detail,
        x_label="gauge pressure of the air (kPa)",
        y_label="contact pressure (kPa)",
        curves=tuple(curves),
        remark=result.history.reason,
    )

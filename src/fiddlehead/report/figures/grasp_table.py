"""The grasp table: objects by grippers, each cell a small scene with its verdict and margins."""

from __future__ import annotations

from dataclasses import dataclass
from textwrap import fill
from typing import TYPE_CHECKING, Any

from fiddlehead.grasp.records import GraspCell, GraspTable
from fiddlehead.report.figures.grasp_scene import (
    Scene,
    draw_scene,
    outcome_colour,
    sight_scene,
)
from fiddlehead.report.figures.style import FAINT, INK, sheet

if TYPE_CHECKING:
    from matplotlib.figure import Figure

CELL_MM = 40.0
MARKS = {True: "✓", False: "✗"}


@dataclass(frozen=True, eq=False)
class CellPicture:
    """One cell: scene, colour, and what stands below it."""

    scene: Scene
    colour: str
    verdict: str
    numbers: str


@dataclass(frozen=True, eq=False)
class TablePicture:
    """Rows of cells; None where nothing was computed."""

    heading: str
    detail: str
    objects: tuple[str, ...]
    columns: tuple[str, ...]
    cells: tuple[tuple[CellPicture | None, ...], ...]


def table_picture(table: GraspTable, heading: str, detail: str = "") -> TablePicture:
    """The numbers of the picture."""
    cells = []
    for name in table.objects:
        row = [table.cell(name, column) for column in table.columns]
        cells.append(tuple(None if c is None else _cell(c, table.wanted_margin) for c in row))
    return TablePicture(heading, detail, table.objects, table.columns, tuple(cells))


def _cell(cell: GraspCell, wanted: float) -> CellPicture:
    verdict = cell.verdict
    name, least = verdict.margins.least()
    colour = outcome_colour(verdict.held, verdict.reason, least, wanted)
    if verdict.good:
        words = "held" if least >= wanted else f"held, {name} narrow"
    else:
        words = f"{verdict.outcome}: {verdict.reason}"
    mark = MARKS[verdict.good]
    lines = []
    if verdict.margins.slip is not None:
        lines.append(f"slip {_times(verdict.margins.slip)}")
    if verdict.margins.damage is not None:
        lines.append(f"damage {_times(verdict.margins.damage)}")
    numbers = ", ".join(lines)
    if cell.deflection_mm is not None:
        numbers += f"\nout of plane {cell.deflection_mm:.2g} mm"
    if cell.chance is not None:
        numbers += f"\nsucceeds {100 * cell.chance.probability:.0f} % of {cell.chance.trials}"
    return CellPicture(sight_scene(cell.sight), colour, f"{mark} {words}", numbers)


def _times(value: float) -> str:
    return f"{value:.2g}" if value < 50 else "over 50"


def _square(axes: Any, scene: Scene) -> None:
    """Cells of one size, whatever they show."""
    left, right, bottom, top = scene.extent
    half = 0.5 * max(right - left, top - bottom) + 6.0
    middle, height = 0.5 * (left + right), 0.5 * (bottom + top)
    axes.set_xlim(middle - half, middle + half)
    axes.set_ylim(height - half, height + half)


def draw_table(picture: TablePicture) -> Figure:
    """All cells on one sheet, verdicts in colour and in words."""
    rows, columns = len(picture.objects), len(picture.columns)
    width, height = 18.0 + CELL_MM * columns, 24.0 + (CELL_MM + 14.0) * rows
    with sheet(width, height, nrows=rows, ncols=columns, squeeze=False) as (figure, axes):
        for r, name in enumerate(picture.objects):
            for c, column in enumerate(picture.columns):
                one = axes[r][c]
                cell = picture.cells[r][c]
                one.grid(False)
                if cell is None:
                    one.set_axis_off()
                    one.text(0.5, 0.5, "not computed", ha="center", color=FAINT)
                else:
                    draw_scene(one, cell.scene, edges=False)
                    _square(one, cell.scene)
                    one.set_axis_on()
                    one.set_xticks([])
                    one.set_yticks([])
                    for spine in one.spines.values():
                        spine.set_visible(True)
                        spine.set_color(cell.colour)
                        spine.set_linewidth(2.2)
                    one.set_xlabel(cell.verdict, fontsize=8.0, color=cell.colour, fontweight="bold")
                    one.annotate(
                        cell.numbers, (0.5, 0.0), xycoords="axes fraction", xytext=(0, -17),
                        textcoords="offset points", ha="center", va="top", fontsize=6.8, color=INK,
                    )  # fmt: skip
                if r == 0:
                    one.set_title(column.replace(", ", "\n"), fontsize=8.5, loc="center")
                if c == 0:
                    one.set_ylabel(name, fontsize=9.5, fontweight="bold")
                    one.yaxis.set_visible(True)
        figure.suptitle(picture.heading, x=0.01, ha="left", fontweight="bold", fontsize=11.0)
        if picture.detail:
            figure.supxlabel(
                fill(picture.detail, round(0.62 * width)),
                x=0.01,
                ha="left",
                fontsize=7.5,
                color=FAINT,
            )
        return figure

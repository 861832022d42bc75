"""One grasp in a picture: the scene, the pull, and the margins; and the same as a moving one."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from pathlib import Path
from textwrap import fill
from typing import TYPE_CHECKING

import numpy as np
from jaxtyping import Float

from fiddlehead.files import write_whole
from fiddlehead.grasp.records import GraspRun
from fiddlehead.report.figures.grasp_scene import Scene, draw_scene, scene_at
from fiddlehead.report.figures.style import DASHES, FAINT, INK, LINES, MARKERS, sheet, title

if TYPE_CHECKING:
    from matplotlib.figure import Figure

MOST_FRAMES = 24
SECONDS_A_FRAME = 0.2
FRAME_DPI = 80
MARGIN_WORDS = {"slip": "slip", "damage": "damage", "reach": "reach", "lateral": "sideways"}


@dataclass(frozen=True, eq=False)
class GraspPicture:
    """What is drawn."""

    heading: str
    detail: str
    words: str
    scene: Scene
    travel_mm: Float[np.ndarray, " pulled"]
    """How far the object has been pulled since it hung still."""
    pull_n: Float[np.ndarray, " pulled"]
    weight_n: float
    closing_kpa: Float[np.ndarray, " step"]
    normal_n: Float[np.ndarray, "step group"]
    pressure_kpa: Float[np.ndarray, "step group"]
    limit_kpa: float | None
    margins: dict[str, float]
    wanted_margin: float


def grasp_picture(
    run: GraspRun, heading: str, detail: str = "", wanted_margin: float = 2.0
) -> GraspPicture:
    """The numbers of the picture."""
    phases = np.array(run.phase)
    step = next((n for p in ("shake", "lift", "inflate") if (n := run.last(p)) is not None), 0)
    pulled = np.flatnonzero(phases == "pull-off")
    pulled = np.concatenate([[step], pulled]) if len(pulled) else pulled
    direction = run.pull_direction
    closing = phases == "inflate"
    margins = {
        MARGIN_WORDS[name]: value
        for name, value in vars(run.verdict.margins).items()
        if value is not None
    }
    return GraspPicture(
        heading=heading,
        detail=detail,
        words=" ".join([run.verdict.words, *run.verdict.remarks]),
        scene=scene_at(run, step),
        travel_mm=(run.motion[pulled, :3] - run.motion[step, :3]) @ direction,
        pull_n=-(run.wrench[pulled, :3] @ direction),
        weight_n=9.80665e-3 * run.object.mass_g * float(-direction[2]),
        closing_kpa=1e3 * run.pressure_mpa[closing],
        normal_n=run.normal_n[closing],
        pressure_kpa=1e3 * run.p95_mpa[closing],
        limit_kpa=run.object.contact_pressure_limit_kpa,
        margins=margins,
        wanted_margin=wanted_margin,
    )


def draw_grasp(picture: GraspPicture) -> Figure:
    """Scene on the left; on the right how the grip closes, the pull, and the margins."""
    with sheet(190.0, 128.0, ncols=2, width_ratios=(1.15, 1.0)) as (figure, (scene, room)):
        draw_scene(scene, picture.scene)
        title(scene, picture.heading, picture.detail)
        spec = room.get_subplotspec()
        room.remove()
        grid = spec.subgridspec(3, 1, height_ratios=(1.0, 1.0, 0.8))
        _closing(figure.add_subplot(grid[0]), picture)
        _pull(figure.add_subplot(grid[1]), picture)
        _margins(figure.add_subplot(grid[2]), picture)
        figure.supxlabel(fill(picture.words, 118), x=0.02, ha="left", fontsize=8.0, color=INK)
        return figure


def _closing(axes: object, picture: GraspPicture) -> None:
    for group in range(picture.normal_n.shape[1]):
        axes.plot(  # type: ignore[attr-defined]
            picture.closing_kpa, picture.normal_n[:, group], color=LINES[0],
            marker=MARKERS[group % len(MARKERS)], markersize=3.0,
        )  # fmt: skip
    axes.set_xlabel("gauge pressure (kPa)")  # type: ignore[attr-defined]
    axes.set_ylabel("grip force of\na finger (N)", color=LINES[0])  # type: ignore[attr-defined]
    other = axes.twinx()  # type: ignore[attr-defined]
    other.grid(False)
    other.plot(
        picture.closing_kpa, picture.pressure_kpa.max(axis=1), color=LINES[1], linestyle=DASHES[1]
    )
    other.set_ylabel("contact pressure,\np95 (kPa)", color=LINES[1])
    other.spines["right"].set_visible(True)
    if picture.limit_kpa is not None:
        other.axhline(picture.limit_kpa, color=LINES[1], linewidth=0.8, linestyle=DASHES[2])
    other.set_ylim(bottom=0.0)
    axes.set_ylim(bottom=0.0)  # type: ignore[attr-defined]


def _pull(axes: object, picture: GraspPicture) -> None:
    axes.set_xlabel("pulled out by (mm)")  # type: ignore[attr-defined]
    axes.set_ylabel("fingers hold (N)")  # type: ignore[attr-defined]
    if not len(picture.pull_n):
        axes.text(0.5, 0.5, "no pull: it was not held", transform=axes.transAxes, ha="center")  # type: ignore[attr-defined]
        return
    axes.plot(picture.travel_mm, picture.pull_n, color=LINES[0], marker=MARKERS[0], markersize=3.0)  # type: ignore[attr-defined]
    if picture.weight_n > 0:
        axes.axhline(picture.weight_n, color=FAINT, linestyle=DASHES[1])  # type: ignore[attr-defined]
        axes.annotate(  # type: ignore[attr-defined]
            "weight", (1.0, picture.weight_n), xycoords=("axes fraction", "data"),
            xytext=(0, 2), textcoords="offset points", ha="right", fontsize=7.0, color=INK,
        )  # fmt: skip
    axes.set_ylim(bottom=min(0.0, float(picture.pull_n.min())))  # type: ignore[attr-defined]


def _margins(axes: object, picture: GraspPicture) -> None:
    names = list(picture.margins)
    values = [min(max(picture.margins[name], 0.02), 50.0) for name in names]
    colours = [
        LINES[1] if v < 1 else LINES[4] if v < picture.wanted_margin else LINES[0] for v in values
    ]
    places = np.arange(len(names))[::-1]
    axes.barh(places, values, color=colours, height=0.6)  # type: ignore[attr-defined]
    for place, name, value in zip(places, names, values, strict=True):
        real = picture.margins[name]
        axes.annotate(  # type: ignore[attr-defined]
            f"{real:.2g}" if real < 50 else "over 50", (value, place), xytext=(3, 0),
            textcoords="offset points", va="center", fontsize=7.5,
        )  # fmt: skip
    axes.set_yticks(places, names)  # type: ignore[attr-defined]
    axes.set_xscale("log")  # type: ignore[attr-defined]
    axes.set_xlim(0.02, 200.0)  # type: ignore[attr-defined]
    axes.set_xticks([0.1, 1.0, 10.0, 100.0], ["0.1", "1", "10", "100"])  # type: ignore[attr-defined]
    axes.minorticks_off()  # type: ignore[attr-defined]
    axes.axvline(1.0, color=INK, linewidth=0.9)  # type: ignore[attr-defined]
    axes.axvline(picture.wanted_margin, color=FAINT, linewidth=0.9, linestyle=DASHES[1])  # type: ignore[attr-defined]
    axes.set_xlabel("margin (1: at the limit; dashed: wanted)")  # type: ignore[attr-defined]


def chosen_frames(steps: int) -> list[int]:
    """Evenly spread steps, first and last included."""
    return sorted(set(np.linspace(0, steps - 1, min(steps, MOST_FRAMES)).round().astype(int)))


def write_frames(folder: Path, run: GraspRun, heading: str) -> Path:
    """The grasp as single pictures in ``frames/`` and as one moving picture, ``grasp.gif``.

    Raises
    ------
    StoreError : the folder cannot be written
    """
    from matplotlib.animation import PillowWriter

    steps = chosen_frames(len(run.phase))
    scenes = [scene_at(run, step) for step in steps]
    extents = np.array([scene.extent for scene in scenes])
    left, bottom = extents[:, 0].min(), extents[:, 2].min()
    right, top = extents[:, 1].max(), extents[:, 3].max()
    shape = 120.0 * (top - bottom + 30.0) / (right - left + 12.0)
    with sheet(120.0, float(np.clip(shape, 60.0, 260.0))) as (figure, axes):

        def draw(number: int) -> None:
            step = steps[number]
            axes.clear()
            draw_scene(axes, scenes[number])
            axes.set_xlim(left - 6, right + 6)
            axes.set_ylim(bottom - 4, top + 6)
            title(axes, heading, f"{run.phase[step]}, {1e3 * run.pressure_mpa[step]:.0f} kPa")

        writer = PillowWriter(fps=round(1.0 / SECONDS_A_FRAME))

        def fill_file(path: Path) -> None:
            with writer.saving(figure, str(path), FRAME_DPI):
                for number in range(len(steps)):
                    draw(number)
                    writer.grab_frame()
                    write_whole(folder / "frames" / f"frame_{number:03d}.png", write_frame)

        write_frame = partial(
            figure.savefig, format="png", dpi=FRAME_DPI, metadata={"Software": None}
        )
        return write_whole(folder / "grasp.gif", fill_file)

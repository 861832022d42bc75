"""One look for all pictures, and how they are saved: the same record gives the same bytes.

Line colours are the colour-blind-safe set of Okabe & Ito (2008, Color Universal Design); fields
use a perceptually uniform scale.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fiddlehead.files import write_whole

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

INK = "#22303c"
FAINT = "#8a96a0"
PAPER = "#ffffff"
BODY = "#e9e2d3"
LINES = ("#0072b2", "#d55e00", "#009e73", "#cc79a7", "#e69f00", "#56b4e9", "#000000")
"""Okabe & Ito's colours, the strongest first."""
DASHES: tuple[Any, ...] = ("-", (0, (5, 2)), (0, (1.5, 1.5)), (0, (6, 2, 1.5, 2)))
MARKERS = ("o", "s", "^", "D", "v", "P", "X")
STRAIN_COLOURS = "viridis_r"
DPI = 160

_RULES: dict[Any, Any] = {
    "font.family": "DejaVu Sans",
    "font.size": 9.0,
    "axes.edgecolor": INK,
    "axes.labelcolor": INK,
    "axes.linewidth": 0.8,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.grid": True,
    "axes.axisbelow": True,
    "axes.titlelocation": "left",
    "axes.titlesize": 9.0,
    "axes.titlecolor": INK,
    "grid.color": "#dfe4e8",
    "grid.linewidth": 0.6,
    "lines.linewidth": 1.6,
    "lines.markersize": 4.0,
    "text.color": INK,
    "xtick.color": INK,
    "ytick.color": INK,
    "legend.frameon": False,
    "legend.fontsize": 8.0,
    "figure.facecolor": PAPER,
    "savefig.facecolor": PAPER,
    "svg.hashsalt": "fiddlehead",
    "svg.fonttype": "none",
    "path.simplify": False,
}


@contextmanager
def sheet(width_mm: float, height_mm: float, **layout: Any) -> Iterator[tuple[Figure, Any]]:
    """A figure of a size in print with its axes (``layout`` as for subplots), in our look."""
    import matplotlib as mpl
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    with mpl.rc_context(_RULES):
        figure = Figure(figsize=(width_mm / 25.4, height_mm / 25.4), layout="constrained")
        FigureCanvasAgg(figure)
        yield figure, figure.subplots(**layout)


def title(axes: Axes, main: str, detail: str = "") -> None:
    """Heading of a picture: what it shows, and below it in small how it was reached."""
    room = 6.0 + 12.0 * len(detail.splitlines())
    axes.set_title(main, fontweight="bold", fontsize=10.0, pad=room)
    if detail:
        small = axes.text(
            0.0, 1.02, detail, transform=axes.transAxes, fontsize=7.5, color=FAINT, va="bottom"
        )
        small.set_in_layout(False)  # a long line must not widen its panel


def save(figure: Figure, folder: Path, name: str) -> tuple[Path, Path]:
    """Write ``name.png`` and ``name.svg`` (no dates inside) into ``folder``.

    Raises
    ------
    StoreError : the folder cannot be written
    """
    import matplotlib as mpl

    with mpl.rc_context(_RULES):
        png = write_whole(
            folder / f"{name}.png",
            partial(figure.savefig, format="png", dpi=DPI, metadata={"Software": None}),
        )
        svg = write_whole(
            folder / f"{name}.svg",
            partial(figure.savefig, format="svg", dpi=DPI, metadata={"Date": None}),
        )
    return png, svg


def label_line_ends(axes: Axes, ends: Sequence[tuple[float, float, str, str]]) -> None:
    """Write the name of each line beside its last point, pushed apart where they would touch.

    ``ends`` holds x, y, text and colour of each line.
    """
    low, high = axes.get_ylim()
    step = 0.055 * (high - low)
    ordered = sorted(ends, key=lambda end: end[1])
    for (x, _, text, colour), at in zip(
        ordered, _apart([end[1] for end in ordered], step, high), strict=True
    ):
        axes.annotate(
            text,
            (x, at),
            xytext=(6, 0),
            textcoords="offset points",
            va="center",
            color=colour,
            fontsize=8.0,
            annotation_clip=False,
        )


def _apart(rising: Sequence[float], step: float, top: float) -> list[float]:
    """Places at least ``step`` apart, near the wished ones and not above ``top``."""
    placed: list[float] = []
    for wish in rising:
        placed.append(max(wish, placed[-1] + step) if placed else wish)
    limit = top
    for number in reversed(range(len(placed))):
        placed[number] = min(placed[number], limit)
        limit = placed[number] - step
    return placed

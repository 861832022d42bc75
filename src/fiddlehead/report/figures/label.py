"""The pressure label of a gripper, at its real size."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fiddlehead.report.figures.style import INK, LINES, sheet
from fiddlehead.units import convert

if TYPE_CHECKING:
    from matplotlib.figure import Figure

WIDTH_MM, HEIGHT_MM = 80.0, 50.0
NAME_LETTERS = 28
"""Letters of a name that fit at full size; longer names are set smaller."""
UNTESTED = "not yet proof tested"


@dataclass(frozen=True)
class PressureLabel:
    """What the label says; pressures in kPa gauge, dates ISO 8601.

    proof_tested : date of the proof test, empty while there was none
    """

    name: str
    serial: str
    working_kpa: float
    proof_kpa: float
    date: str
    proof_tested: str

    @property
    def lines(self) -> tuple[str, ...]:
        """The label's text, top to bottom."""
        return (
            f"{self.name}   {self.serial}".strip(),
            f"MAX. WORKING  {_both(self.working_kpa)}",
            f"PROOF  {_both(self.proof_kpa)}, 60 s",
            f"proof tested {self.proof_tested}" if self.proof_tested else UNTESTED,
            f"made {self.date}",
        )


def _both(kpa: float) -> str:
    return f"{kpa:.4g} kPa ({convert(kpa, 'kPa', 'bar'):.3g} bar)"


def draw_label(label: PressureLabel) -> Figure:
    """Black on white with a frame, 80 x 50 mm."""
    name, working, proof, tested, made = label.lines
    with sheet(WIDTH_MM, HEIGHT_MM) as (figure, axes):
        axes.set_axis_off()
        axes.set_xlim(0.0, 1.0)
        axes.set_ylim(0.0, 1.0)
        warn = LINES[1] if tested == UNTESTED else INK
        name_size = min(10.0, 10.0 * NAME_LETTERS / max(len(name), 1))
        rows = (
            (0.90, name, name_size, "bold", INK),
            (0.68, working, 10.0, "bold", INK),
            (0.52, proof, 9.0, "normal", INK),
            (0.37, f"{tested};  {made}", 8.0, "normal", warn),
            (0.20, "Gauge pressures. Wear eye protection. Relief valve required.", 6.5, "normal",
             INK),
            (0.08, "Compressed air: local codes apply (ISO 4414).", 6.5, "normal", INK),
        )  # fmt: skip
        for height, text, size, weight, colour in rows:
            axes.text(0.04, height, text, fontsize=size, fontweight=weight, color=colour,
                      va="center")  # fmt: skip
        frame = {"transform": axes.transAxes, "color": INK, "linewidth": 1.2, "clip_on": False}
        axes.plot([0, 1, 1, 0, 0], [0, 0, 1, 1, 0], **frame)
        axes.plot([0, 1], [0.79, 0.79], **{**frame, "linewidth": 0.8})
        return figure

"""Test data and laws in the four modes of loading."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from fiddlehead.material.records import MODES, Mode, ReducedCurve, ResponseCurve
from fiddlehead.report.figures.style import DASHES, FAINT, INK, LINES, PAPER, sheet, title

if TYPE_CHECKING:
    from matplotlib.figure import Figure

IN_USE = LINES[1]
OTHERS = tuple(colour for colour in LINES if colour != IN_USE)

NAMES: dict[Mode, str] = {
    "uniaxial": "uniaxial tension",
    "planar": "planar tension",
    "equibiaxial": "equibiaxial tension",
    "compression": "uniaxial compression",
}


@dataclass(frozen=True, eq=False)
class LawsPicture:
    """What was measured, the law in use, and the other laws for comparison.

    chosen : label of the law in use, as in ``responses``
    unstable : labels of laws that are not stable over the use range
    """

    heading: str
    detail: str
    measured: tuple[ReducedCurve, ...]
    responses: tuple[ResponseCurve, ...]
    chosen: str
    unstable: tuple[str, ...] = ()

    def labels(self) -> tuple[str, ...]:
        """The laws, the chosen one first."""
        seen = dict.fromkeys(response.label for response in self.responses)
        return (self.chosen, *(label for label in seen if label != self.chosen))


def laws_picture(
    heading: str,
    detail: str,
    measured: Sequence[ReducedCurve],
    responses: Sequence[ResponseCurve],
    chosen: str,
    unstable: Sequence[str] = (),
) -> LawsPicture:
    """Gather the curves of one characterisation."""
    return LawsPicture(heading, detail, tuple(measured), tuple(responses), chosen, tuple(unstable))


def draw_laws(picture: LawsPicture) -> Figure:
    """Four panels; measured means as points with the scatter of the specimens as a band."""
    with sheet(180.0, 140.0, nrows=2, ncols=2) as (figure, panels):
        for axes, mode in zip(panels.ravel(), MODES, strict=True):
            _draw_mode(axes, picture, mode)
        for axes in panels[1]:
            axes.set_xlabel("nominal strain (%)")
        for axes in panels[:, 0]:
            axes.set_ylabel("nominal stress (MPa)")
        handles, labels = _legend(panels)
        figure.legend(handles, labels, loc="outside lower center", ncols=3, fontsize=7.0)
        title(panels[0, 0], picture.heading, picture.detail)
        return figure


def _legend(panels: Any) -> tuple[list[Any], list[str]]:
    """Every label once, in the order of first appearance."""
    found: dict[str, Any] = {}
    for axes in panels.ravel():
        for handle, label in zip(*axes.get_legend_handles_labels(), strict=True):
            found.setdefault(label, handle)
    return list(found.values()), list(found)


def _draw_mode(axes: Any, picture: LawsPicture, mode: Mode) -> None:
    shown = []
    for curve in picture.measured:
        if curve.mode == mode:
            shown.append(curve.nominal_stress_mpa)
            _draw_measured(axes, curve)
    for number, label in enumerate(picture.labels()):
        for response in picture.responses:
            if response.mode == mode and response.label == label:
                _draw_law(axes, picture, response, number)
                if label == picture.chosen:
                    shown.append(response.nominal_stress_mpa)
    if shown:  # laws that run away must not squeeze the data
        low = min(0.0, *(float(s.min()) for s in shown))
        high = max(0.0, *(float(s.max()) for s in shown))
        room = 0.3 * (high - low)
        axes.set_ylim(low - room if low < 0 else 0.0, high + room if high > 0 else 0.0)
    pressed = mode == "compression"
    axes.set_xlim(**({"right": 0.0} if pressed else {"left": 0.0}))
    tested = any(curve.mode == mode for curve in picture.measured)
    axes.text(
        0.97 if pressed else 0.03,
        0.05 if pressed else 0.97,
        NAMES[mode] + ("" if tested else "\nnot tested: the law alone"),
        transform=axes.transAxes,
        ha="right" if pressed else "left",
        va="bottom" if pressed else "top",
        fontsize=8.5,
        bbox={"facecolor": PAPER, "edgecolor": "none", "alpha": 0.8, "pad": 1.5},
    )


def _draw_measured(axes: Any, curve: ReducedCurve) -> None:
    strain, stress = 100.0 * (curve.stretch - 1.0), curve.nominal_stress_mpa
    if curve.specimens > 1:
        axes.fill_between(
            strain,
            stress - curve.scatter_mpa,
            stress + curve.scatter_mpa,
            color=LINES[4],
            alpha=0.45,
            linewidth=0,
            label="specimens, mean ± 1 SD",
        )
    every = max(1, len(strain) // 25)
    axes.plot(
        strain[::every],
        stress[::every],
        "o",
        color=INK,
        markersize=3.0,
        label="specimens, mean",
    )


def _draw_law(axes: Any, picture: LawsPicture, response: ResponseCurve, number: int) -> None:
    chosen = response.label == picture.chosen
    unstable = response.label in picture.unstable
    colour = IN_USE if chosen else FAINT if unstable else OTHERS[number % len(OTHERS)]
    axes.plot(
        100.0 * (response.stretch - 1.0),
        response.nominal_stress_mpa,
        color=colour,
        linestyle="-" if chosen else DASHES[2] if unstable else DASHES[number % len(DASHES)],
        linewidth=2.2 if chosen else 1.0,
        zorder=3 if chosen else 2,
        label=response.label + (" (unstable)" if unstable else " (in use)" if chosen else ""),
    )

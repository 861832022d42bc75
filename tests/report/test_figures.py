"""Pictures: the numbers behind them, and files that are the same for the same record."""

from __future__ import annotations

import dataclasses
import xml.etree.ElementTree as ET
from pathlib import Path

import matplotlib.text
import numpy as np
import pytest
from matplotlib.figure import Figure

from fiddlehead.finger.pad.parameters import PadParameters
from fiddlehead.material.records import ReducedCurve, ResponseCurve
from fiddlehead.report.figures.curves import (
    CurvePicture,
    angle_picture,
    draw_curves,
    force_picture,
    strain_picture,
    tip_path_picture,
)
from fiddlehead.report.figures.laws import draw_laws, laws_picture
from fiddlehead.report.figures.section import draw_section, section_picture, wall_note
from fiddlehead.report.figures.shapes import chosen_steps, draw_shapes, shapes_picture
from fiddlehead.report.figures.style import save
from tests.report.made_up import FINGER, STEPS, made_up_bend, made_up_block


def seen(figure: Figure) -> list[matplotlib.text.Text]:
    """Every text a reader sees."""
    hidden = {
        label
        for axes in figure.axes
        if not axes.axison
        for axis in (axes.xaxis, axes.yaxis)
        for label in axis.findobj(matplotlib.text.Text)
    }
    for axes in figure.axes:  # ticks outside the view are kept but not drawn
        for axis in (axes.xaxis, axes.yaxis):
            low, high = sorted(axis.get_view_interval())
            for tick in axis.get_major_ticks():
                if not low - 1e-9 <= tick.get_loc() <= high + 1e-9:
                    hidden |= {tick.label1, tick.label2}
    found = figure.findobj(matplotlib.text.Text)
    return [t for t in found if t.get_text().strip() and t.get_visible() and t not in hidden]


def texts(figure: Figure) -> list[str]:
    """Everything written in a figure."""
    return [text.get_text() for text in seen(figure)]


def overlapping(figure: Figure) -> list[tuple[str, str]]:
    """Pairs of texts that lie on each other."""
    figure.canvas.draw()
    boxes = [(text.get_text(), text.get_window_extent()) for text in seen(figure)]
    return [
        (a, b)
        for i, (a, first) in enumerate(boxes)
        for b, second in boxes[i + 1 :]
        if first.shrunk(0.98, 0.8).overlaps(second.shrunk(0.98, 0.8))
    ]


def outside(figure: Figure) -> list[str]:
    """Texts that leave the sheet."""
    figure.canvas.draw()
    page = figure.bbox.padded(1.0)
    boxes = [(text.get_text(), text.get_window_extent()) for text in seen(figure)]
    return [
        text
        for text, box in boxes
        if box.x0 < page.x0 or box.x1 > page.x1 or box.y0 < page.y0 or box.y1 > page.y1
    ]


def curve_pictures() -> list[CurvePicture]:
    result = made_up_bend(outcome="limit_point")
    return [
        angle_picture(result, "Bending", "how"),
        strain_picture(
            result, "Strain", "how", limit_percent=30.0, limit_across_layers_percent=20.0
        ),
        tip_path_picture(result, "Tip", "how"),
        force_picture([made_up_block(), made_up_block(45.0)], "Force", "how"),
    ]


@pytest.mark.parametrize("picture", curve_pictures(), ids=lambda picture: picture.name)
def test_curves_are_readable(picture: CurvePicture) -> None:
    figure = draw_curves(picture)
    assert overlapping(figure) == []
    assert outside(figure) == []
    written = " ".join(texts(figure))
    for curve in picture.curves:
        assert curve.label in written
    assert "(" in picture.x_label, "an axis needs its unit"
    assert "(" in picture.y_label, "an axis needs its unit"


def test_angle_picture_holds_both_definitions_and_the_reason_of_an_early_end() -> None:
    result = made_up_bend(outcome="limit_point")
    picture = angle_picture(result, "Bending")
    tip, chord = picture.curves
    np.testing.assert_allclose(tip.x, 1e3 * result.pressure_mpa)
    np.testing.assert_allclose(tip.y, result.tip_angle_deg)
    np.testing.assert_allclose(2.0 * chord.y, tip.y, atol=1e-9)  # a circle
    assert picture.remark.startswith("ends at 100 kPa (limit point): The pressure reached")
    assert angle_picture(made_up_bend(), "Bending").remark == ""


def test_strain_is_shown_beside_its_limits() -> None:
    picture = strain_picture(made_up_bend(), "Strain", limit_percent=30.0)
    assert [c.label for c in picture.curves if c.helper] == ["limit in plane"]
    np.testing.assert_allclose(picture.curves[0].y, 100.0 * made_up_bend().strain.peak)


def test_force_picture_names_the_angle_the_plate_was_met_at() -> None:
    picture = force_picture([made_up_block(), made_up_block(45.0)], "Force")
    assert [c.label for c in picture.curves] == [
        "plate met at 0°",
        "plate met at 45°",
        "hand bound p·A·e/L",
    ]


def test_an_early_end_at_one_angle_is_told_with_that_angle() -> None:
    stuck = made_up_block(outcome="no_balance")
    short = {name: v[:1] for name, v in vars(stuck).items() if isinstance(v, np.ndarray)}
    picture = force_picture([dataclasses.replace(stuck, **short), made_up_block(45.0)], "Force")
    assert picture.remark.startswith("At 0°: ends at")
    assert "45°" not in picture.remark
    assert len(picture.curves[-1].x) == STEPS  # the hand bound of the longest curve


@pytest.mark.parametrize(("steps", "count"), [(1, 1), (2, 2), (5, 5), (11, 5), (200, 5)])
def test_chosen_steps_hold_first_and_last(steps: int, count: int) -> None:
    chosen = chosen_steps(steps)
    assert (chosen[0], chosen[-1], len(chosen)) == (0, steps - 1, count)


def test_shapes_show_the_whole_finger_bent_to_the_object() -> None:
    picture = shapes_picture(made_up_bend(), "Shapes", "how")
    assert [shape.pressure_kpa for shape in picture.shapes] == pytest.approx([0, 20, 40, 80, 100])
    straight, bent = picture.shapes[0], picture.shapes[-1]
    left, right, bottom, top = straight.extent
    assert top - bottom > right - left  # hangs down
    assert bent.extent[1] > right + 5.0  # bends to the right, where the object is
    assert picture.largest_strain == pytest.approx(made_up_bend().node_strain.max(), rel=0.1)
    figure = draw_shapes(picture)
    assert overlapping(figure) == []
    assert outside(figure) == []
    (axes, _) = figure.axes
    assert axes.get_aspect() == 1.0


def test_one_step_is_enough_for_shapes() -> None:
    whole = made_up_bend()
    curves = {name: value for name, value in vars(whole).items() if isinstance(value, np.ndarray)}
    cut = dataclasses.replace(whole, **{name: curve[:1] for name, curve in curves.items()})
    draw_shapes(shapes_picture(cut, "Shapes"))


SECTION_PADS = [
    PadParameters(cells="solid", cell_depth_mm=2.2),
    PadParameters(cells="re-entrant", cell_count=1, cell_depth_mm=6.2, strut_thickness_mm=0.4),
    PadParameters(rib_count=2, rib_angle_deg=70, rib_depth_mm=4.2),
]


@pytest.mark.parametrize("bellows", [1, 2, 3, 7])
@pytest.mark.parametrize("pad", [None, *SECTION_PADS], ids=lambda pad: pad and pad.cells)
def test_section_is_dimensioned_without_overlaps(bellows: int, pad: PadParameters | None) -> None:
    if pad:
        pad = dataclasses.replace(pad, cell_count=bellows)
    finger = dataclasses.replace(FINGER, bellows_count=bellows, pad=pad)
    figure = draw_section(section_picture(finger, "Section", wall_note(finger)))
    written = texts(figure)
    assert (f"pad {finger.pad_depth_mm:g}" in written) == (pad is not None)
    for text in (f"length {finger.length_mm:g}", "height 12", "width 12", "channel 4", "root 5"):
        assert text in written
    assert ("pitch 8" in written) == (bellows > 1)
    assert outside(figure) == []
    assert overlapping(figure) == []


def test_laws_are_drawn_in_four_modes_beside_the_data() -> None:
    stretch = np.linspace(1.0, 1.6, 20)
    stress = 4.0 * (stretch - stretch**-2)
    measured = ReducedCurve(
        mode="uniaxial",
        cycle="conditioned",
        stretch=stretch,
        nominal_stress_mpa=stress,
        scatter_mpa=0.05 * stress,
        specimens=5,
        cycles=4,
        residual_strain=0.03,
        hysteresis_loss=0.2,
        softening=0.1,
        files=(("a.csv", "0" * 64),),
    )
    squeezed = np.linspace(0.6, 1.0, 20)
    laws = [
        ResponseCurve(name, mode, s, factor * (s - s**-2))
        for name, factor in (("Yeoh", 4.0), ("neo-Hooke", 3.8), ("Runaway", 400.0))
        for mode, s in (("uniaxial", stretch), ("planar", stretch), ("compression", squeezed))
    ]
    picture = laws_picture("Laws", "how", [measured], laws, "Yeoh", ["Runaway"])
    assert picture.labels() == ("Yeoh", "neo-Hooke", "Runaway")
    figure = draw_laws(picture)
    written = texts(figure)
    assert "Yeoh (in use)" in written
    assert "Runaway (unstable)" in written
    assert "planar tension\nnot tested: the law alone" in written
    assert figure.axes[0].get_ylim()[1] < 2.0 * stress.max()  # a runaway law does not squeeze
    assert overlapping(figure) == []
    assert outside(figure) == []


def test_pictures_are_the_same_bytes_twice(tmp_path: Path) -> None:
    for folder in ("a", "b"):
        save(draw_curves(angle_picture(made_up_bend(), "Bending")), tmp_path / folder, "angle")
        save(draw_shapes(shapes_picture(made_up_bend(), "Shapes")), tmp_path / folder, "shapes")
    for name in ("angle.png", "angle.svg", "shapes.png", "shapes.svg"):
        first, second = ((tmp_path / folder / name).read_bytes() for folder in ("a", "b"))
        assert first == second
        if name.endswith("svg"):
            ET.fromstring(first)
            assert b"<dc:date>" not in first
    assert len(made_up_bend().pressure_mpa) == STEPS

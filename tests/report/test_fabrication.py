"""Pictures of what is printed: views in space, layers, leak maps, drawings."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import numpy as np
import pytest

from fiddlehead.fabricate.printcheck import compare_orientations, print_check
from fiddlehead.fabricate.solid import finger_solid
from fiddlehead.finger.print_settings import PrintSettings
from fiddlehead.report.figures.drawing import draw_finger
from fiddlehead.report.figures.layers import draw_layers, layers_picture
from fiddlehead.report.figures.paper import Placed, save_drawing, scale_for
from fiddlehead.report.figures.section import Dimension
from fiddlehead.report.figures.style import BODY, save
from fiddlehead.report.figures.tightness import (
    SCALE,
    finer,
    orientations_picture,
    tightness_picture,
)
from fiddlehead.report.figures.views import View, Viewpoint, ViewsPicture, draw_views, view_of
from tests.fabricate.labelled import CASES, PROCESS
from tests.fabricate.made import box, icosphere
from tests.finger.cases import ZIG_ZAG


def rgb(colour: str) -> np.ndarray:
    return np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255.0


def covered(view: View) -> float:
    """Area of the view that shows something, mm²."""
    pixel = view.width_mm / view.image.shape[1]
    return float((view.image[..., 3] > 0).sum() * pixel**2)


def test_a_box_looked_at_squarely_shows_its_face() -> None:
    view = view_of([box((20, 10, 5))], Viewpoint(0.0, 90.0))
    assert covered(view) == pytest.approx(200.0, rel=0.02)
    front = view_of([box((20, 10, 5))], Viewpoint(0.0, 0.0))
    assert covered(front) == pytest.approx(100.0, rel=0.03)


@pytest.mark.parametrize("up", [(0, 0, 1), (0, 1, 0), (1, 0, 0), (0, 0, -1)])
def test_a_ball_looks_round_from_everywhere(up: tuple[float, float, float]) -> None:
    view = view_of([icosphere(3)], Viewpoint(40.0, 30.0), up=up)
    assert covered(view) == pytest.approx(np.pi, rel=0.02)


def test_viewpoints_are_rotations_with_up_above() -> None:
    for up in ([0, 0, 1], [0, 1, 0], [1, 0, 0], [0.6, 0.0, 0.8]):
        axes = Viewpoint(25.0, 20.0).axes(np.array(up, float))
        np.testing.assert_allclose(axes @ axes.T, np.eye(3), atol=1e-12)
        assert np.linalg.det(axes) == pytest.approx(1.0)
        assert axes[1] @ up > 0.9


def test_the_nearer_of_two_boxes_hides_the_other() -> None:
    near, far = box((4, 4, 1), at=(0, 0, 5)), box((4, 4, 1))
    red, blue = np.tile([1.0, 0, 0], (12, 1)), np.tile([0, 0, 1.0], (12, 1))
    view = view_of([near, far], Viewpoint(0.0, 90.0), colours=[red, blue])
    middle = view.image[view.image.shape[0] // 2, view.image.shape[1] // 2]
    assert middle[0] > 0.4
    assert middle[2] == 0.0


def test_cutting_triangles_finer_keeps_the_surface() -> None:
    part = box((10, 7, 3))
    fine = finer(part, 0.8)
    assert fine.volume_mm3 == pytest.approx(part.volume_mm3, rel=1e-12)
    corners = fine.corners
    assert np.linalg.norm(np.roll(corners, -1, axis=1) - corners, axis=2).max() <= 0.8


def shown(view: View, colour: str) -> float:
    """Share of the view whose hue is that colour, whatever the light."""
    flat = view.image[view.image[..., 3] > 0][:, :3]
    level = np.linalg.norm(flat, axis=1, keepdims=True)
    wanted = rgb(colour) / np.linalg.norm(rgb(colour))
    return float((np.abs(flat / np.maximum(level, 1e-9) - wanted).max(axis=1) < 0.02).mean())


def test_the_leak_map_is_green_where_tight_and_warns_where_thin() -> None:
    good = tightness_picture(CASES["good chamber"].check(), "good")
    thin = tightness_picture(CASES["chamber with a roof of 2 layers"].check(), "thin")
    green, orange = SCALE[-1][1], SCALE[1][1]
    assert max(shown(view, green) for view in good.views) > 0.3
    assert max(shown(view, orange) for view in good.views) < 0.02
    assert max(shown(view, orange) for view in thin.views) > 0.05


def test_layer_pictures_show_one_panel_per_kind_or_layers_over_the_height() -> None:
    bad = CASES["bridge of 12 mm"].check()
    picture = layers_picture(bad, "bad")
    (panel,) = picture.panels
    assert "long bridge" in panel.caption
    assert panel.trouble is not None
    good = layers_picture(CASES["solid cube"].check(), "good")
    assert len(good.panels) == 4
    assert all(panel.trouble is None for panel in good.panels)


def test_pictures_are_drawn_and_the_same_twice(tmp_path: Path) -> None:
    check = CASES["chamber without inlet"].check()
    for name in ("a", "b"):
        save(draw_layers(layers_picture(check, "layers")), tmp_path / name, "layers")
        views = ViewsPicture("box", "", (view_of([box((3, 2, 1))]),))
        save(draw_views(views), tmp_path / name, "views")
    for file in ("layers.png", "layers.svg", "views.png", "views.svg"):
        assert (tmp_path / "a" / file).read_bytes() == (tmp_path / "b" / file).read_bytes()


def test_orientations_are_captioned_with_their_numbers(tmp_path: Path) -> None:
    checks = compare_orientations(box((12, 8, 6)), PROCESS)
    picture = orientations_picture(checks, "three")
    assert [view.caption.splitlines()[0] for view in picture.views] == [
        "side",
        "upright",
        "base down",
    ]
    assert all("0 faults" in view.caption for view in picture.views)
    save(draw_views(picture), tmp_path, "orientations")
    assert (tmp_path / "orientations.png").stat().st_size > 10_000


def test_plain_views_need_no_key(tmp_path: Path) -> None:
    picture = ViewsPicture("box", "", (view_of([box((3, 2, 1))], caption="a box"),))
    png, _ = save(draw_views(picture), tmp_path, "box")
    assert png.stat().st_size > 1000


def test_drawings_keep_their_scale(tmp_path: Path) -> None:
    assert scale_for(90.0, 230.0) == (2.0, "2:1")
    assert scale_for(300.0, 230.0) == (0.5, "1:2")
    place = Placed(10.0, 20.0, 2.0)
    moved = place.dimension(Dimension((0, 0), (3, 4), (0, -5), "5"))
    assert (moved.start, moved.end, moved.offset) == ((10.0, 20.0), (16.0, 28.0), (0, -5))


@pytest.mark.parametrize("mount", ["dovetail", "plain"])
def test_a_finger_is_drawn_as_pdf(mount: str, tmp_path: Path) -> None:
    solid = finger_solid(ZIG_ZAG)
    fittings = dataclasses.replace(solid.fittings, mount=mount)  # type: ignore[arg-type]
    solid = finger_solid(ZIG_ZAG, fittings)
    figure = draw_finger(
        solid.part(), ZIG_ZAG, fittings, PrintSettings(), "finger", [("material", "soft")]
    )
    save_drawing(figure, tmp_path, "drawing")
    pdf = (tmp_path / "drawing.pdf").read_bytes()
    assert pdf.startswith(b"%PDF")
    assert b"/MediaBox [ 0 0 1190" in pdf  # A3: 420 mm are 1190.55 points
    texts = {text.get_text() for text in figure.axes[0].texts}
    assert {"pitch 10.5", "width 20", "2:1, millimetres"} <= texts
    assert any("rail" in text for text in texts) == (mount == "dovetail")


def test_a_part_without_chambers_is_drawn_in_its_plain_colour() -> None:
    picture = tightness_picture(print_check(box((10, 8, 6)), PROCESS), "block")
    assert all(shown(view, BODY) > 0.8 for view in picture.views)

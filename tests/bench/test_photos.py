"""Bending angle from rendered photos of bent fingers, whose true angle is known."""

from __future__ import annotations

import dataclasses
import io
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from fiddlehead.bench.photos.board import Board
from fiddlehead.bench.photos.corrections import read_corrections, write_corrections
from fiddlehead.bench.photos.image import Photo, as_jpeg, open_photo
from fiddlehead.bench.photos.layout import (
    dot_layout,
    fiducial_layout,
    from_the_other_side,
    learned,
)
from fiddlehead.bench.photos.names import label_of_name, labels_of_table
from fiddlehead.bench.photos.read import Camera, read_photo
from fiddlehead.bench.photos.records import PhotoReading, Setup
from fiddlehead.bench.photos.series import bending_records, read_photos
from fiddlehead.bench.photos.virtual import seen_curve
from fiddlehead.errors import CurveError, ParameterError
from tests.bench.bent import SETUP, bent_finger
from tests.bench.made import write_csv
from tests.bench.render import Scene, View, photograph

CLEAN = 0.5
"""Allowed error of a clean photo of 1920 x 1080, degrees."""

VIEWS: dict[str, View] = {
    "square on": View(),
    "tilted": View(tilt_deg=8.0, pan_deg=-6.0, roll_deg=4.0, seed=1),
    "wide lens": View(k1=-0.25, focal_px=2600.0, distance_mm=430.0, height_mm=6.0, seed=2),
    "noisy": View(noise=8.0, seed=3),
    "soft": View(blur_px=2.0, seed=4),
    "shaded": View(shade=0.5, seed=5),
    "all at once": View(
        tilt_deg=-6.0,
        pan_deg=7.0,
        roll_deg=-5.0,
        k1=-0.2,
        k2=0.05,
        focal_px=2600.0,
        distance_mm=430.0,
        height_mm=6.0,
        noise=5.0,
        blur_px=1.2,
        shade=0.3,
        seed=6,
    ),
}


def scene(**changes: object) -> Scene:
    """The kept finger before its board."""
    return dataclasses.replace(Scene(bent_finger(), SETUP), **changes)  # type: ignore[arg-type]


PLAIN, BOARD = View(), Camera()


def read(
    step: int,
    view: View = PLAIN,
    read_as: Setup = SETUP,
    camera: Camera = BOARD,
    **changes: object,
) -> PhotoReading:
    """Render one photo and read it; ``changes`` are of the scene."""
    camera = dataclasses.replace(camera, lens=view.lens if view.k1 else None)
    return read_photo(Photo(photograph(scene(**changes), step, view), "made"), read_as, camera)


@pytest.mark.parametrize("name", VIEWS)
def test_true_angle_within_half_a_degree(name: str) -> None:
    view, result = VIEWS[name], bent_finger()
    rest = read(0, view)
    assert rest.flags == ()
    setup = learned(SETUP, rest)
    for step in (1, 3):
        found = read(step, view, setup)
        assert found.flags == ()
        error = found.tip_angle_deg - result.tip_angle_deg[step]
        assert abs(error) < CLEAN
        assert abs(found.chord_angle_deg - result.chord_angle_deg[step]) < CLEAN
        assert found.tip_mm == pytest.approx(result.tip_path_mm[step], abs=1.0)
        seen = seen_curve(result, SETUP)[step]
        assert abs(found.tip_angle_deg - seen.tip_deg) < 3.0 * found.tip_angle_u_deg
        assert found.tip_angle_u_deg < (0.4 if view.blur_px < 1.0 else 1.0)


def test_drawn_marks_serve_without_a_photo_at_rest() -> None:
    found = read(2)
    assert abs(found.tip_angle_deg - bent_finger().tip_angle_deg[2]) < CLEAN
    assert found.tip_angle_u_deg > 1.0  # where marks were put is then the larger doubt


@pytest.mark.parametrize("lying", [-90.0, 35.0, 180.0])
def test_the_finger_may_lie_any_way(lying: float) -> None:
    corner = {-90.0: (10.0, 48.0), 35.0: (-50.0, -20.0), 180.0: (60.0, -15.0)}[lying]
    found = read(2, lying_deg=lying, root_mm=corner)
    assert found.flags == ()
    assert abs(found.tip_angle_deg - bent_finger().tip_angle_deg[2]) < CLEAN


def test_coloured_and_light_dots() -> None:
    red = read(2, dots=(200, 20, 40), camera=Camera(kind="coloured", hue_deg=350.0))
    light = read(
        2, read_as=ON_BODY, setup=ON_BODY, dots=(250, 250, 250), camera=Camera(kind="light")
    )
    truth = bent_finger().tip_angle_deg[2]
    assert abs(red.tip_angle_deg - truth) < CLEAN
    assert light.flags == ()
    assert abs(light.tip_angle_deg - seen_curve(bent_finger(), ON_BODY)[2].tip_deg) < CLEAN


ON_BODY = dot_layout(
    length_mm=SETUP.tip_point[0],
    root_length_mm=10.0,
    tip_length_mm=5.0,
    height_mm=18.0,
    valley_height_mm=8.0,
    pitch_mm=11.0,
    diameter_mm=1.6,
    flag=False,
)


def test_without_a_board_scale_comes_from_the_marks() -> None:
    camera = Camera(board=None, pixels_per_mm=5.0)
    found = read(2, with_board=False, camera=camera)
    assert abs(found.tip_angle_deg - bent_finger().tip_angle_deg[2]) < CLEAN
    assert found.tip_mm == pytest.approx(bent_finger().tip_path_mm[2], abs=1.0)
    assert any("tilt is not corrected" in remark for remark in found.remarks)


def test_a_board_printed_too_small_is_told_and_costs_no_angle() -> None:
    printed = Board(width_mm=0.94 * 240.0, height_mm=0.94 * 150.0, fiducial_mm=0.94 * 24.0)
    found = read(2, board=printed)
    assert any("not printed to scale" in remark for remark in found.remarks)
    assert abs(found.tip_angle_deg - bent_finger().tip_angle_deg[2]) < CLEAN
    assert found.tip_mm == pytest.approx(bent_finger().tip_path_mm[2], abs=1.0)


def test_one_path_mark_may_be_missing() -> None:
    found = read(2, hidden=(5,))
    assert found.flags == ()
    assert np.isnan(found.marks_px[5]).all()
    assert "1 of 11 marks not found" in found.remarks[0]
    assert abs(found.tip_angle_deg - bent_finger().tip_angle_deg[2]) < CLEAN


def test_false_dots_are_not_taken() -> None:
    found = read(2, false_dots=((-100.0, -20.0), (30.0, -50.0), (70.0, 60.0), (0.0, 60.0)))
    assert found.flags == ()
    assert abs(found.tip_angle_deg - bent_finger().tip_angle_deg[2]) < CLEAN


def mirrored(step: int) -> PhotoReading:
    picture = photograph(scene(), step, View())
    return read_photo(Photo(np.ascontiguousarray(picture[:, ::-1]), "made"), SETUP, Camera())


def mirrored_without_board() -> PhotoReading:
    picture = photograph(scene(with_board=False), 2, View())
    camera = Camera(board=None, pixels_per_mm=5.0)
    return read_photo(Photo(np.ascontiguousarray(picture[:, ::-1]), "made"), SETUP, camera)


USELESS: dict[str, tuple[Callable[[], PhotoReading], str]] = {
    "no marks": (lambda: read(2, hidden=tuple(range(11))), "no marks are seen"),
    "root hidden": (lambda: read(2, hidden=(0, 1)), "too few marks"),
    "tip hidden": (lambda: read(2, hidden=(9, 10)), "at the tip are not seen"),
    "no board": (lambda: read(2, with_board=False), "no board is seen"),
    "mirrored": (lambda: mirrored(2), "this picture is mirrored"),
    "mirrored, no board": (mirrored_without_board, "only when mirrored"),
    "out of focus": (lambda: read(2, View(blur_px=14.0)), "board"),
    "black": (
        lambda: read_photo(Photo(np.zeros((540, 960, 3), np.uint8), "made"), SETUP, Camera()),
        "no board",
    ),
}


@pytest.mark.parametrize("case", USELESS)
def test_what_cannot_be_measured_is_flagged(case: str) -> None:
    make, told = USELESS[case]
    found = make()
    assert not found.usable
    assert any(told in flag for flag in found.flags), found.flags


def test_spoilt_photos_are_right_or_flagged() -> None:
    """Dots hidden, added and blurred at random: never a wrong angle without a flag."""
    draw = np.random.default_rng(5)
    wrong = []
    for seed in range(8):
        hidden = tuple(int(n) for n in draw.choice(11, draw.integers(0, 4), replace=False))
        false = tuple((float(x), float(y)) for x, y in draw.uniform(-60, 60, (4, 2)))
        view = View(
            noise=float(draw.uniform(0, 12)), blur_px=float(draw.uniform(0.3, 3.0)), seed=seed
        )
        found = read(2, view, hidden=hidden, false_dots=false)
        error = abs(found.tip_angle_deg - bent_finger().tip_angle_deg[2])
        if found.usable and error > CLEAN:
            wrong.append((seed, error))
    assert wrong == []


def save(path: Path, pixels: np.ndarray, orientation: int = 1) -> Path:
    """A JPEG with an EXIF orientation, its pixels stored as a camera held that way would."""
    undo = {1: 0, 6: 1, 8: 3, 3: 2}[orientation]
    exif = Image.Exif()
    exif[0x0112] = orientation
    path.write_bytes(as_jpeg(np.rot90(pixels, undo), exif=exif.tobytes()))
    return path


@pytest.mark.parametrize("orientation", [1, 3, 6, 8])
def test_telephones_held_any_way(tmp_path: Path, orientation: int) -> None:
    path = save(tmp_path / "a.jpg", photograph(scene(), 2, View()), orientation)
    photo = open_photo(path)
    assert photo.pixels.shape == (1080, 1920, 3)
    assert bool(photo.remarks) == (orientation != 1)
    found = read_photo(photo, SETUP, Camera())
    assert abs(found.tip_angle_deg - bent_finger().tip_angle_deg[2]) < CLEAN


def test_a_series_by_names_with_a_spoilt_photo_and_a_correction(tmp_path: Path) -> None:
    pressures = 1e3 * bent_finger().pressure_mpa
    paths = []
    for step, pressure in enumerate(pressures):
        hidden = (9, 10) if step == 2 else ()
        picture = photograph(scene(hidden=hidden), step, View())
        paths.append(save(tmp_path / f"fA_r1_up_{pressure:.0f}kPa.jpg", picture))
    (tmp_path / "fA_r1_up_75kPa.jpg").write_bytes(b"no picture")
    paths.append(tmp_path / "fA_r1_up_75kPa.jpg")
    readings = read_photos(paths, SETUP, Camera())
    assert [reading.usable for reading in readings] == [True, True, False, False, True]
    (record,) = bending_records(readings, "tip tangent")
    assert record.finger == "A"
    assert record.values["pressure_kpa"] == pytest.approx(pressures[[0, 1, 3]], abs=0.5)
    assert record.values["angle_deg"] == pytest.approx(
        bent_finger().tip_angle_deg[[0, 1, 3]], abs=CLEAN
    )
    assert len(record.remarks) == 2

    form = write_corrections(tmp_path / "marks.csv", readings)
    text = form.read_text(encoding="utf-8")
    full = read_photo(Photo(photograph(scene(), 2, View()), "full"), SETUP, Camera())
    for number in (10, 11):
        x, y = full.marks_px[number - 1]
        text = text.replace(
            f"fA_r1_up_100kPa.jpg,{number},,,", f"fA_r1_up_100kPa.jpg,{number},{x:.2f},{y:.2f},"
        )
    text += "fA_r1_up_50kPa.jpg,,,,no\n"
    form.write_text(text, encoding="utf-8")
    mended = read_photos(paths, SETUP, Camera(), corrections=read_corrections(form, SETUP))
    by_name = {reading.source: reading for reading in mended}
    assert by_name["fA_r1_up_50kPa.jpg"].flags == ("rejected by hand",)
    hand = by_name["fA_r1_up_100kPa.jpg"]
    assert hand.usable
    assert hand.corrected_by_hand
    assert abs(hand.tip_angle_deg - bent_finger().tip_angle_deg[2]) < CLEAN


def test_marks_by_hand_in_the_wrong_order_are_flagged(tmp_path: Path) -> None:
    path = save(tmp_path / "f1_100kPa.jpg", photograph(scene(), 2, View()))
    good = read_photo(open_photo(path), SETUP, Camera())
    rows = [(path.name, n + 1, *good.marks_px[10 - n], "") for n in range(11)]
    form = write_csv(tmp_path / "marks.csv", "file,mark,x_px,y_px,use", *zip(*rows, strict=True))
    (reading,) = read_photos([path], SETUP, Camera(), corrections=read_corrections(form, SETUP))
    assert not reading.usable
    assert "wrong order" in reading.flags[0]


def test_corrections_that_cannot_be_read(tmp_path: Path) -> None:
    form = write_csv(tmp_path / "m.csv", "file,mark,x_px,y_px,use", ["a"], [99], [1], [2], [""])
    with pytest.raises(CurveError, match="mark 1 to 11"):
        read_corrections(form, SETUP)


def test_names_and_tables(tmp_path: Path) -> None:
    label = label_of_name("finger_B_run2_down_1p5bar.JPG")
    assert (label.finger, label.repeat, label.branch) == ("B", 2, "down")
    assert label.pressure_kpa == pytest.approx(150.0)
    assert label_of_name("f3_20psi.png").pressure_kpa == pytest.approx(137.895, abs=1e-3)
    assert np.isnan(label_of_name("holiday.jpg").pressure_kpa)
    table = write_csv(
        tmp_path / "t.csv", "file,pressure_kpa,finger,repeat", ["a.jpg"], [75.0], ["C"], [3]
    )
    assert labels_of_table(table)["a.jpg"].finger == "C"
    twice = write_csv(tmp_path / "u.csv", "file,pressure_kpa", ["a", "a"], [1, 2])
    with pytest.raises(CurveError, match="twice"):
        labels_of_table(twice)


def test_a_photo_without_pressure_is_flagged(tmp_path: Path) -> None:
    path = save(tmp_path / "holiday.jpg", photograph(scene(), 1, View()))
    (reading,) = read_photos([path], SETUP, Camera())
    assert not reading.usable
    assert "pressure" in reading.flags[-1]


def test_damaged_and_missing_pictures(tmp_path: Path) -> None:
    whole = as_jpeg(photograph(scene(), 1, View()))
    (tmp_path / "half.jpg").write_bytes(whole[:2000])
    for name in ("half.jpg", "none.jpg"):
        with pytest.raises(CurveError, match="cannot be read"):
            open_photo(tmp_path / name)
    assert Image.open(io.BytesIO(whole)).size == (1920, 1080)


def test_fiducials_at_root_and_tip() -> None:
    """A tag on the root block, another on a card at the tip."""
    setup = fiducial_layout((5.0, 9.0), (94.0, 9.0), length_mm=SETUP.tip_point[0], side_mm=8.0)
    camera = Camera(kind="fiducials")
    found = read(2, read_as=setup, setup=setup, tags=(10, 11), camera=camera)
    assert found.flags == ()
    assert abs(found.tip_angle_deg - bent_finger().tip_angle_deg[2]) < CLEAN
    lost = read(2, read_as=setup, setup=setup, tags=(10, 12), camera=camera)
    assert lost.flags == ("fiducial 11 at the tip is not seen",)


def test_a_finger_seen_from_its_other_side() -> None:
    other = from_the_other_side(SETUP)
    found = read(2, read_as=other, other_side=True, root_mm=(45.0, 38.0))
    assert found.flags == ()
    assert abs(found.tip_angle_deg - bent_finger().tip_angle_deg[2]) < CLEAN
    assert abs(found.chord_angle_deg - bent_finger().chord_angle_deg[2]) < CLEAN
    assert found.tip_mm == pytest.approx(bent_finger().tip_path_mm[2], abs=1.0)
    wrong = read(2, other_side=True, root_mm=(45.0, 38.0))
    assert any("other side" in flag for flag in wrong.flags)


def test_fiducial_corners_by_hand() -> None:
    """Corners of two tags turned by 40°, as a perfect detector tells them."""
    from fiddlehead.bench.photos.angles import mark_angles

    setup = fiducial_layout((5.0, 9.0), (95.0, 9.0), length_mm=90.0, side_mm=8.0)
    a = np.radians(-40.0)
    turn = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])
    tip = (setup.tip - [90.0, 0.0]) @ turn.T + [80.0, -30.0]
    found = mark_angles(setup, np.concatenate([setup.root, tip]), 0.02)
    assert found is not None
    assert found.tip_deg == pytest.approx(40.0)
    assert found.tip_mm == pytest.approx([80.0, -30.0])
    assert found.chord_deg == pytest.approx(np.degrees(np.arctan2(30.0, 80.0)))


def test_dots_that_do_not_fit_their_block() -> None:
    with pytest.raises(ParameterError, match="too small"):
        dot_layout(
            length_mm=40.0,
            root_length_mm=3.0,
            tip_length_mm=3.0,
            height_mm=12.0,
            valley_height_mm=5.0,
            pitch_mm=8.0,
        )

"""Pictures of the bench: their numbers, and that each can be drawn."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import numpy as np
import pytest

from fiddlehead.air.cavity import Cavity
from fiddlehead.bench.compare import compare
from fiddlehead.bench.counts import success_rate, weibull_life
from fiddlehead.bench.leaks import judge_leak
from fiddlehead.bench.photos.board import Board
from fiddlehead.bench.photos.image import Photo
from fiddlehead.bench.photos.read import Camera, read_photo
from fiddlehead.bench.protocols import PROTOCOLS
from fiddlehead.bench.records import BenchRecord, Predicted
from fiddlehead.bench.reduce import cycles_of, grid_to, spread_of
from fiddlehead.bench.unknowns import Calibration, Estimate
from fiddlehead.errors import StoreError
from fiddlehead.report.calibrated import CalibrationPicture, draw_calibration
from fiddlehead.report.figures.bands import draw_bands, measured_picture, overlay_picture
from fiddlehead.report.figures.bench import (
    CoursePicture,
    RatesPicture,
    decay_picture,
    draw_courses,
    draw_decay,
    draw_life,
    draw_rates,
    life_picture,
)
from fiddlehead.report.figures.contact_sheet import draw_contact_sheet, frame_of
from fiddlehead.report.figures.protocol_sheet import draw_board, draw_marks, draw_test_sheet
from fiddlehead.report.figures.tip_paths import TipPoints, draw_tip_paths, tip_paths_picture
from fiddlehead.report.measured import load_spreads
from fiddlehead.report.slopes import saved_slopes, write_slopes
from tests.bench.bent import SETUP, bent_finger
from tests.bench.made import PEAK_KPA, bending
from tests.bench.render import Scene, View, photograph

GRID = grid_to(PEAK_KPA, 10)


def spreads() -> list:
    cycles = [
        cycle
        for finger, gain in (("A", 0.58), ("B", 0.62))
        for cycle in cycles_of(bending(finger, gain=gain), "angle_deg", GRID)
    ]
    return [
        spread_of(cycles, "angle_deg", branch=branch, definition="tip tangent")
        for branch in ("up", "down")
    ]


def test_measured_curves_with_scatter_between_fingers() -> None:
    picture = measured_picture("bend", "made up", spreads(), "hysteresis 4 %")
    rising, falling = picture.curves
    assert (rising.label, falling.label) == ("rising", "falling")
    assert rising.y[-1] == pytest.approx(90.0, abs=0.1)
    assert rising.sd[-1] == pytest.approx(np.std([87.0, 93.0], ddof=1), abs=0.1)
    assert len(rising.fine) == 2
    assert picture.y_label == "tip tangent bending angle (°)"
    assert "between fingers" in picture.detail
    assert draw_bands(picture).axes[0].get_xlabel() == "gauge pressure (kPa)"


def test_overlay_tells_verdict_and_band() -> None:
    predicted = Predicted(
        quantity="angle_deg", definition="tip tangent", pressure_kpa=GRID, value=0.66 * GRID,
        sd=0.02 * GRID, scatter=("stiffness",),
    )  # fmt: skip
    found = compare(spreads()[0], predicted, working_pressure_kpa=PEAK_KPA)
    picture = overlay_picture("bend", "made up", found, "n = 2", "stiffness")
    assert picture.curves[0].predicted
    assert "outside 5 %" in picture.remark
    assert "Predicted band: stiffness" in picture.remark
    draw_bands(picture)


def test_decay_is_told_in_percent_of_the_settled_pressure() -> None:
    time = np.arange(0.0, 120.0, 5.0)
    record = BenchRecord(
        test="leak", finger="A", repeat=1,
        values={"time_s": time, "pressure_kpa": 150.0 * (1.0 - 0.02 * time / 60.0)},
    )  # fmt: skip
    verdict = judge_leak(record, Cavity.rigid(20.0))
    picture = decay_picture(
        [record], [verdict], "made up", limit_percent_per_min=1.0, settle_s=30.0
    )
    ((label, since, percent),) = picture.lines
    assert label == "A: class undecided"
    assert np.interp(30.0, since, percent) == pytest.approx(100.0)
    assert percent[-1] == pytest.approx(100.0 * (1 - 0.02 * 115 / 60) / 0.99)
    draw_decay(picture)


def test_life_ranks_and_rates() -> None:
    cycles, failed = np.array([100.0, 300.0, 500.0, 900.0]), np.array([True, True, True, False])
    records = [
        BenchRecord(
            test="life", finger=str(n), repeat=1,
            values={"cycles": np.array([c]), "failed": np.array([float(f)])},
        )
        for n, (c, f) in enumerate(zip(cycles, failed, strict=True))
    ]  # fmt: skip
    picture = life_picture(records, weibull_life(cycles, failed), "made up")
    assert picture.cycles.tolist() == [100.0, 300.0, 500.0]
    assert picture.rank == pytest.approx((np.array([1, 2, 3]) - 0.3) / 4.4)
    assert "1 still worked" in picture.detail
    draw_life(picture)
    draw_rates(RatesPicture("made up", "", (success_rate(9, 10, "bowl"),)))


def test_courses_over_time() -> None:
    record = bending()
    draw_courses(CoursePicture("made up", "", (("A", record),)))


def test_contact_sheet_crops_to_the_marks_and_frames_the_useless() -> None:
    picture = photograph(Scene(bent_finger(), SETUP), 1, View())
    good = read_photo(Photo(picture, "good"), SETUP, Camera())
    bad = read_photo(Photo(picture[:200], "bad"), SETUP, Camera())
    frames = tuple(frame_of(picture, reading, 3, 2) for reading in (good, bad))
    assert frames[0].good
    assert frames[0].pixels.shape[1] <= 640
    high, wide = frames[0].pixels.shape[:2]
    assert ((frames[0].marks > 0) & (frames[0].marks < [wide, high])).all()
    assert "not used" in frames[1].heading
    assert frames[1].remark
    draw_contact_sheet(frames, "made up")


@pytest.mark.parametrize("name", PROTOCOLS)
def test_every_sheet_can_be_drawn(name: str) -> None:
    figure = draw_test_sheet(PROTOCOLS[name], "made up", ("150 kPa",))
    words = " ".join(text.get_text() for text in figure.axes[0].texts)
    assert "Eye protection" in words
    assert "ISO 4414" in words
    assert figure.get_size_inches() * 25.4 == pytest.approx([210.0, 297.0])


def test_board_and_marks_at_true_size() -> None:
    from fiddlehead.bench.photos.board import find_tags

    board = Board()
    figure = draw_board(board)
    figure.set_dpi(60)
    figure.canvas.draw()
    pixels = np.asarray(figure.canvas.buffer_rgba())[:, :, :3].copy()  # type: ignore[attr-defined]
    tags = find_tags(pixels)
    assert sorted(tags.corners) == [0, 1, 2, 3]
    across = tags.corners[1].mean(0) - tags.corners[0].mean(0)
    assert np.linalg.norm(across) / 60 * 25.4 == pytest.approx(board.width_mm, rel=0.005)
    draw_marks(SETUP, 85.9, 18.0, "made up")


def test_tips_beside_the_predicted_path() -> None:
    result = bent_finger()
    pressure = 1e3 * result.pressure_mpa
    moved = TipPoints("A", pressure, result.tip_path_mm + np.array([3.0, 4.0]))
    beyond = TipPoints("B", np.array([500.0]), np.zeros((1, 2)))
    picture = tip_paths_picture(result, [moved, beyond], "made up")
    assert picture.distance_mm == pytest.approx(5.0)
    assert len(picture.points[1].pressure_kpa) == 0
    draw_tip_paths(picture)


def made_up_calibration() -> Calibration:
    """One unknown, half of the curve held out."""
    grid = GRID[1:]
    estimate = Estimate(
        name="stiffness", unit="", value=1.1, sd=0.05, low=1.0, high=1.2, prior=1.0, prior_sd=0.15,
        learnt=0.9,
    )  # fmt: skip
    return Calibration(
        estimates=(estimate,),
        definition="tip tangent",
        pressure_kpa=grid,
        measured=0.6 * grid,
        before=0.7 * grid,
        after=0.61 * grid,
        fitted=(grid < 90).astype(float),
        fit_error_percent=0.5,
        held_out_error_percent=1.5,
        held_out_before_percent=12.0,
        correlation=np.eye(1),
        warnings=("mind this",),
        rounds=3,
    )


def test_calibration_shows_what_was_held_out() -> None:
    found = made_up_calibration()
    figure = draw_calibration(CalibrationPicture("made up", found))
    assert "error 1.5 %" in " ".join(text.get_text() for text in figure.axes[0].texts)
    draw_calibration(
        CalibrationPicture("made up", dataclasses.replace(found, held_out_error_percent=np.nan))
    )


def test_slopes_belong_to_one_project(tmp_path: Path) -> None:
    write_slopes(tmp_path, {"chord": np.array([1.0, 2.0])}, "abc")
    kept = saved_slopes(tmp_path, "abc")
    assert kept is not None
    assert kept["chord"].tolist() == [1.0, 2.0]
    assert saved_slopes(tmp_path, "other") is None
    assert saved_slopes(tmp_path / "nowhere", "abc") is None


def test_no_measurements_are_told(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="fiddlehead measure first"):
        load_spreads(tmp_path)

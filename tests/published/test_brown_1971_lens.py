"""Camera mathematics against an independent machine-vision library.

Lens distortion after D. C. Brown (1971), Photogrammetric Engineering 37, 855-866, and plane
homographies: written out in fiddlehead, compared with the library's projection; a lens calibrated
from drawn chequerboards must come out as it was put in.
"""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from fiddlehead.bench.photos.board import Board, Tags, find_plane, through
from fiddlehead.bench.photos.lens import Lens, calibrate_lens
from fiddlehead.errors import CurveError

LENS = Lens(
    focal_x=1500.0,
    focal_y=1490.0,
    centre_x=955.0,
    centre_y=545.0,
    k1=-0.28,
    k2=0.09,
    p1=4e-4,
    p2=-3e-4,
    k3=-0.01,
)
POINTS = np.random.default_rng(0).uniform([100.0, 80.0], [1820.0, 1000.0], (60, 2))


def test_distortion_is_that_of_the_library() -> None:
    rays = np.column_stack(
        [
            (POINTS[:, 0] - LENS.centre_x) / LENS.focal_x,
            (POINTS[:, 1] - LENS.centre_y) / LENS.focal_y,
            np.ones(60),
        ]
    )
    judged, _ = cv2.projectPoints(rays, np.zeros(3), np.zeros(3), LENS.matrix, LENS.coefficients)
    assert LENS.distort(POINTS) == pytest.approx(judged.reshape(-1, 2), abs=1e-8)


def test_undistorting_undoes_distorting() -> None:
    assert LENS.undistort(LENS.distort(POINTS)) == pytest.approx(POINTS, abs=0.05)  # it iterates
    assert LENS.undistort(np.zeros((0, 2))).shape == (0, 2)


def test_homographies_are_those_of_the_library() -> None:
    homography = np.array([[0.9, 0.1, 30.0], [-0.05, 1.1, -20.0], [1e-4, -5e-5, 1.0]])
    judged = cv2.perspectiveTransform(POINTS.reshape(-1, 1, 2), homography).reshape(-1, 2)
    assert through(homography, POINTS) == pytest.approx(judged, rel=1e-12)


@pytest.mark.parametrize("tilt_deg", [0.0, 12.0, 20.0])
def test_a_projected_board_gives_its_tilt_and_scale_back(tilt_deg: float) -> None:
    """Far away, so that perspective adds nothing to the tilt: 4000 px at 2 m, 2 pixels per mm."""
    board = Board()
    plain = Lens(focal_x=40000.0, focal_y=40000.0, centre_x=960.0, centre_y=540.0)
    corners = {}
    for number in range(4):
        flat = np.column_stack([board.corners_mm(number), np.zeros(4)])
        turn, _ = cv2.Rodrigues(np.array([np.pi - np.radians(tilt_deg), 0.0, 0.0]))
        seen, _ = cv2.projectPoints(
            flat, turn, np.array([0.0, 0.0, 20000.0]), plain.matrix, np.zeros(5)
        )
        corners[number] = seen.reshape(4, 2)
    plane = find_plane(Tags(corners, ()), board, None)
    assert plane is not None
    assert plane.residual_px < 1e-4
    assert plane.tilt_deg == pytest.approx(tilt_deg, abs=0.6)
    found = plane.place(np.concatenate([corners[n] for n in range(4)]))
    truth = np.concatenate([board.corners_mm(n) for n in range(4)])
    assert found == pytest.approx(truth, abs=1e-4)
    if tilt_deg == 0.0:
        assert plane.pixels_per_mm == pytest.approx(2.0, rel=1e-6)


def chequerboard(pose: tuple[float, float, float]) -> np.ndarray:
    """A 9 x 6 board of 20 mm squares, drawn through the lens pixel by pixel."""
    grid = np.stack(np.meshgrid(np.arange(960.0), np.arange(540.0)), -1).reshape(-1, 2)
    small = Lens(focal_x=750.0, focal_y=750.0, centre_x=480.0, centre_y=270.0, k1=-0.2, k2=0.05)
    straight = small.undistort(grid)
    rays = np.column_stack(
        [(straight[:, 0] - 480.0) / 750.0, (straight[:, 1] - 270.0) / 750.0, np.ones(len(grid))]
    )
    turn, _ = cv2.Rodrigues(np.array(pose))
    shift = np.array([0.0, 0.0, 240.0])
    normal = turn[:, 2]
    depth = (shift @ normal) / (rays @ normal)
    hit = (rays * depth[:, None] - shift) @ turn
    x, y = hit[:, 0] / 20.0 + 5.0, hit[:, 1] / 20.0 + 3.5
    inside = (x > 0) & (x < 10) & (y > 0) & (y < 7)
    dark = inside & ((np.floor(x) + np.floor(y)) % 2 == 0)
    gray = np.where(dark, 30.0, 235.0).reshape(540, 960).astype(np.uint8)
    return np.repeat(cv2.GaussianBlur(gray, (0, 0), 0.8)[:, :, None], 3, axis=2)


POSES = [(0.0, 0.0, 0.0), (0.4, 0.0, 0.0), (0.0, 0.4, 0.1), (-0.35, 0.2, 0.0), (0.2, -0.4, -0.1)]


def test_a_calibrated_lens_comes_out_as_it_was_put_in() -> None:
    lens, error = calibrate_lens([chequerboard(pose) for pose in POSES], (9, 6), 20.0)
    assert error < 0.5  # corners of drawn squares, pixel by pixel
    assert lens.focal_x == pytest.approx(750.0, rel=0.01)
    corner = np.array([[60.0, 40.0], [480.0, 40.0], [900.0, 500.0]])
    true = Lens(focal_x=750.0, focal_y=750.0, centre_x=480.0, centre_y=270.0, k1=-0.2, k2=0.05)
    # 3 px in the corners, where no square was seen; the lens moves them by 30 px
    assert lens.distort(corner) == pytest.approx(true.distort(corner), abs=3.0)


def test_too_few_views_are_refused() -> None:
    blank = np.full((540, 960, 3), 200, np.uint8)
    with pytest.raises(CurveError, match="in 1 of 3 photos"):
        calibrate_lens([chequerboard(POSES[0]), blank, blank], (9, 6), 20.0)
    with pytest.raises(CurveError, match="one size"):
        calibrate_lens([blank, blank[:200]], (9, 6), 20.0)

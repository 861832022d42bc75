"""The printed board behind the finger: four fiducials that give scale and tilt.

Fiducials are squares of the open 4 x 4 family of ArUco (Garrido-Jurado et al. 2014, Pattern
Recognition 47, 2280-2292), numbers 0 to 3 from the top left clockwise.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from jaxtyping import Float, UInt8

from fiddlehead.bench.photos.lens import Lens
from fiddlehead.bench.photos.vision import opencv

CORNERS = np.array([[-1.0, 1.0], [1.0, 1.0], [1.0, -1.0], [-1.0, -1.0]])
"""Corners of a fiducial in the order the library tells them, seen with y up."""


@dataclass(frozen=True)
class Board:
    """Distances as printed, mm: measure them, printers scale pages."""

    width_mm: float = 240.0
    """Between the centres of the left and right fiducials."""
    height_mm: float = 150.0
    """Between the centres of the upper and lower fiducials."""
    fiducial_mm: float = 24.0
    """Side of a black square."""

    def corners_mm(self, number: int) -> Float[np.ndarray, "4 2"]:
        """Corners of one fiducial; origin in the middle of the board, x right, y up."""
        left, top = number in (0, 3), number in (0, 1)
        centre = np.array([-0.5 if left else 0.5, 0.5 if top else -0.5]) * np.array(
            [self.width_mm, self.height_mm]
        )
        return centre + 0.5 * self.fiducial_mm * CORNERS


class Tags(NamedTuple):
    """Fiducials in a photo: number to its four corners in pixels."""

    corners: dict[int, Float[np.ndarray, "4 2"]]
    doubled: tuple[int, ...]


def find_tags(pixels: UInt8[np.ndarray, "row column 3"]) -> Tags:
    """All fiducials of the family, corners to a fraction of a pixel."""
    cv = opencv()
    settings = cv.aruco.DetectorParameters()
    settings.cornerRefinementMethod = cv.aruco.CORNER_REFINE_SUBPIX
    settings.cornerRefinementWinSize = 4
    family = cv.aruco.getPredefinedDictionary(cv.aruco.DICT_4X4_50)
    gray = cv.cvtColor(pixels, cv.COLOR_RGB2GRAY)
    corners, numbers, _ = cv.aruco.ArucoDetector(family, settings).detectMarkers(gray)
    found: dict[int, Float[np.ndarray, "4 2"]] = {}
    doubled = []
    for number, four in zip([] if numbers is None else numbers.ravel(), corners, strict=True):
        if int(number) in found:
            doubled.append(int(number))
        found[int(number)] = np.asarray(four, float).reshape(4, 2)
    return Tags(found, tuple(doubled))


def tag_pixels(number: int, side: int) -> UInt8[np.ndarray, "side side"]:
    """One fiducial as it is printed."""
    cv = opencv()
    family = cv.aruco.getPredefinedDictionary(cv.aruco.DICT_4X4_50)
    return np.asarray(cv.aruco.generateImageMarker(family, number, side))


@dataclass(frozen=True, eq=False)
class Plane:
    """How the board's plane lies in the photo.

    to_mm : homography from undistorted pixels to board mm
    residual_px : root mean square of the fiducials' corners about it
    seen : number of fiducials it rests on
    """

    to_mm: Float[np.ndarray, "3 3"]
    residual_px: float
    pixels_per_mm: float
    tilt_deg: float
    seen: int

    def place(self, points: Float[np.ndarray, "point 2"]) -> Float[np.ndarray, "point 2"]:
        """Board coordinates of undistorted pixels, mm."""
        return through(self.to_mm, points)


def through(
    homography: Float[np.ndarray, "3 3"], points: Float[np.ndarray, "point 2"]
) -> Float[np.ndarray, "point 2"]:
    """Points after a homography."""
    lifted = np.column_stack([points, np.ones(len(points))]) @ homography.T
    return lifted[:, :2] / lifted[:, 2:]


def find_plane(tags: Tags, board: Board, lens: Lens | None) -> Plane | None:
    """The board's plane from whatever of its fiducials is seen; None when there is none."""
    cv = opencv()
    seen = [number for number in range(4) if number in tags.corners]
    if not seen:
        return None
    pixels = np.concatenate([tags.corners[number] for number in seen])
    if lens is not None:
        pixels = lens.undistort(pixels)
    flat = np.concatenate([board.corners_mm(number) for number in seen])
    homography, _ = cv.findHomography(flat, pixels, 0)
    if homography is None:
        return None
    off = through(homography, flat) - pixels
    inverse = np.linalg.inv(homography)
    middle = pixels.mean(0)
    stretch = _stretch(inverse, middle)
    return Plane(
        to_mm=inverse / inverse[2, 2],
        residual_px=float(np.sqrt((off**2).sum(1).mean())),
        pixels_per_mm=float(1.0 / np.sqrt(stretch[0] * stretch[1])),
        tilt_deg=float(np.degrees(np.arccos(np.clip(stretch[1] / stretch[0], 0.0, 1.0)))),
        seen=len(seen),
    )


def _stretch(to_mm: Float[np.ndarray, "3 3"], at: Float[np.ndarray, "2"]) -> Float[np.ndarray, "2"]:
    """Largest and smallest mm per pixel around a pixel."""
    steps = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
    placed = through(to_mm, at + steps)
    return np.linalg.svd(placed[1:] - placed[0], compute_uv=False)

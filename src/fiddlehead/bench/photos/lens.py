"""Lens distortion: the polynomial of Brown (1971), and its calibration from a chequerboard."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, UInt8

from fiddlehead.bench.photos.vision import opencv
from fiddlehead.errors import CurveError

FEWEST_PHOTOS = 4
"""Fewer views leave focal length and distortion undetermined; common practice, no source."""


@dataclass(frozen=True, kw_only=True)
class Lens:
    """A pinhole with radial (k) and tangential (p) distortion, pixels.

    Source: D. C. Brown (1971), Photogrammetric Engineering 37, 855-866.
    """

    focal_x: float
    focal_y: float
    centre_x: float
    centre_y: float
    k1: float = 0.0
    k2: float = 0.0
    p1: float = 0.0
    p2: float = 0.0
    k3: float = 0.0

    @property
    def matrix(self) -> Float[np.ndarray, "3 3"]:
        """From rays to pixels."""
        return np.array(
            [[self.focal_x, 0, self.centre_x], [0, self.focal_y, self.centre_y], [0, 0, 1.0]]
        )

    @property
    def coefficients(self) -> Float[np.ndarray, "5"]:
        """k1, k2, p1, p2, k3."""
        return np.array([self.k1, self.k2, self.p1, self.p2, self.k3])

    def distort(self, points: Float[np.ndarray, "point 2"]) -> Float[np.ndarray, "point 2"]:
        """Where the lens puts points of a perfect pinhole picture (same matrix), pixels."""
        x = (points[:, 0] - self.centre_x) / self.focal_x
        y = (points[:, 1] - self.centre_y) / self.focal_y
        r2 = x * x + y * y
        radial = 1.0 + r2 * (self.k1 + r2 * (self.k2 + r2 * self.k3))
        u = x * radial + 2.0 * self.p1 * x * y + self.p2 * (r2 + 2.0 * x * x)
        v = y * radial + self.p1 * (r2 + 2.0 * y * y) + 2.0 * self.p2 * x * y
        return np.stack([self.focal_x * u + self.centre_x, self.focal_y * v + self.centre_y], 1)

    def undistort(self, points: Float[np.ndarray, "point 2"]) -> Float[np.ndarray, "point 2"]:
        """Where a perfect pinhole would have put points of the photo, pixels."""
        if not len(points):
            return points
        cv = opencv()
        straight = cv.undistortPoints(
            points.reshape(-1, 1, 2), self.matrix, self.coefficients, P=self.matrix
        )
        return np.asarray(straight, float).reshape(-1, 2)


def calibrate_lens(
    photos: Sequence[UInt8[np.ndarray, "_row _column 3"]],
    inner_corners: tuple[int, int],
    square_mm: float,
) -> tuple[Lens, float]:
    """Lens from photos of a flat chequerboard, and the reprojection error in pixels (rms).

    The sixth-order term k3 stays zero: it runs away where no square was seen (common practice).

    Parameters
    ----------
    inner_corners : crossings of four squares along and across, e.g. ``(9, 6)``

    Raises
    ------
    CurveError : the board is seen in fewer than four photos, or photos of different size
    """
    cv = opencv()
    across, along = inner_corners
    flat = np.zeros((across * along, 3), np.float32)
    flat[:, :2] = square_mm * np.mgrid[0:across, 0:along].T.reshape(-1, 2)
    sizes = {photo.shape[:2] for photo in photos}
    if len(sizes) > 1:
        raise CurveError(
            "all calibration photos must have one size", found=", ".join(map(str, sorted(sizes)))
        )
    seen = []
    for photo in photos:
        gray = cv.cvtColor(photo, cv.COLOR_RGB2GRAY)
        good, corners = cv.findChessboardCorners(gray, inner_corners)
        if good:
            rule = (cv.TERM_CRITERIA_EPS + cv.TERM_CRITERIA_COUNT, 40, 1e-4)
            seen.append(cv.cornerSubPix(gray, corners, (7, 7), (-1, -1), rule))
    if len(seen) < FEWEST_PHOTOS:
        raise CurveError(
            "the chequerboard is not seen often enough",
            found=f"in {len(seen)} of {len(photos)} photos",
            allowed=f"{FEWEST_PHOTOS} or more, tilted differently",
            remedy=f"Check that it has {across} x {along} inner corners and lies wholly inside.",
        )
    rows, columns = next(iter(sizes))
    error, matrix, coefficients, *_ = cv.calibrateCamera(
        [flat] * len(seen), seen, (columns, rows), None, None, flags=cv.CALIB_FIX_K3
    )
    k1, k2, p1, p2 = np.ravel(coefficients)[:4]
    lens = Lens(
        focal_x=float(matrix[0, 0]),
        focal_y=float(matrix[1, 1]),
        centre_x=float(matrix[0, 2]),
        centre_y=float(matrix[1, 2]),
        k1=float(k1),
        k2=float(k2),
        p1=float(p1),
        p2=float(p2),
    )
    return lens, float(error)

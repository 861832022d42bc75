"""One photo read: where the marks are, and the angles they give."""

from __future__ import annotations

import dataclasses

import numpy as np
from jaxtyping import Float


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class Setup:
    """Where marks were put on the straight finger, seen from the camera's side.

    Coordinates are those of the finger in mm: x from the root face to the tip, y from the
    gripping face to the bellows. ``root`` marks sit on the root block, ``tip`` marks on the tip
    block, ``path`` marks between them in order.
    """

    root: Float[np.ndarray, "root 2"]
    path: Float[np.ndarray, "path 2"]
    tip: Float[np.ndarray, "tip 2"]
    tip_point: Float[np.ndarray, "2"]
    """End of the gripping face, ``(length, 0)``."""
    diameter_mm: float = 2.0
    """Of a dot; side of a fiducial."""
    placement_mm: float = 0.3
    """Standard uncertainty of where a mark was put; drops out once a photo at rest is read."""

    @property
    def marks(self) -> Float[np.ndarray, "mark 2"]:
        """All marks: root, path, tip."""
        return np.concatenate([self.root, self.path, self.tip])


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class PhotoReading:
    """What one photo or video frame shows. ``usable`` is False whenever anything forbids its use;
    ``flags`` then say why, ``remarks`` tell what is worth knowing.
    """

    source: str
    marks_px: Float[np.ndarray, "mark 2"]
    """Image positions in the order of ``Setup.marks``; NaN where a mark was not found."""
    marks_mm: Float[np.ndarray, "mark 2"]
    """The same in the finger's own frame at the root: undistorted, tilt and scale corrected."""
    tip_angle_deg: float = np.nan
    chord_angle_deg: float = np.nan
    tip_mm: Float[np.ndarray, "2"] = dataclasses.field(default_factory=lambda: np.full(2, np.nan))
    tip_angle_u_deg: float = np.nan
    """Standard uncertainty of the tip angle."""
    chord_angle_u_deg: float = np.nan
    pixels_per_mm: float = np.nan
    tilt_deg: float = np.nan
    """Between the camera's axis and the normal of the board, as corrected."""
    pressure_kpa: float = np.nan
    time_s: float = np.nan
    finger: str = "1"
    repeat: int = 1
    flags: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()
    corrected_by_hand: bool = False

    @property
    def usable(self) -> bool:
        """Whether the angles may be used."""
        return not self.flags and bool(np.isfinite(self.tip_angle_deg))

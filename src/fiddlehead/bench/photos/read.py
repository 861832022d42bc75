"""One photo to one reading: find, undistort, flatten, match, measure; or say why not."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass, field

import numpy as np
from jaxtyping import Float

from fiddlehead.bench.photos.angles import mark_angles
from fiddlehead.bench.photos.board import Board, Plane, Tags, find_plane, find_tags
from fiddlehead.bench.photos.dots import find_dots
from fiddlehead.bench.photos.image import Photo
from fiddlehead.bench.photos.lens import Lens
from fiddlehead.bench.photos.match import Match, match_marks
from fiddlehead.bench.photos.records import PhotoReading, Setup

LOCATED_PX = 0.15
"""Standard uncertainty of a mark's centre in a sharp photo (measured on rendered photos)."""
MISFIT = 0.05
"""Largest misfit of rigid blocks, of their size: more means wrong dots or a bent block."""
SCALE_OFF = 0.03
"""Board and drawing may differ by so much before the scale is doubted."""
NO_BOARD_TILT_DEG = 5.0
"""Tilt allowed for when no board tells it."""
STEEPEST_DEG = 25.0
MOST_DOTS = 80
"""Only the clearest dots are matched: a busy background has hundreds."""


@dataclass(frozen=True, kw_only=True)
class Camera:
    """How photos were taken.

    kind : of marks: ``dark``, ``light``, ``coloured`` dots or ``fiducials``
    board : None for photos without one: scale then comes from the marks, tilt is not corrected
    pixels_per_mm : roughly, needed without board only
    root_tag, tip_tag : numbers of the fiducials on the finger
    """

    kind: str = "dark"
    hue_deg: float = 0.0
    board: Board | None = field(default_factory=Board)
    lens: Lens | None = None
    pixels_per_mm: float = 0.0
    root_tag: int = 10
    tip_tag: int = 11


def read_photo(photo: Photo, setup: Setup, camera: Camera) -> PhotoReading:
    """Measure one photo. Never raises for what a photo shows: ``flags`` say why it is no use."""
    nothing = np.full((len(setup.marks), 2), np.nan)
    blank = PhotoReading(
        source=photo.source,
        marks_px=nothing,
        marks_mm=nothing,
        time_s=photo.time_s,
        remarks=photo.remarks,
    )
    tags = find_tags(photo.pixels)
    plane = find_plane(tags, camera.board, camera.lens) if camera.board else None
    if camera.board and plane is None:
        return _flagged(blank, _no_board(photo))
    per_mm = plane.pixels_per_mm if plane else camera.pixels_per_mm
    if camera.kind == "fiducials":
        marks_px, told = _tagged(tags, setup, camera)
        doubt = False
    else:
        marks_px, told, doubt = _dotted(photo, setup, camera, tags, plane, per_mm)
    flags = [told] if told else []
    if plane is not None and plane.seen < 2:
        flags.append("only one fiducial of the board is seen: tilt and scale are not certain")
    if doubt:
        flags.append("two dots fit one mark equally well: mark by hand, or cover the false one")
    if not np.isfinite(marks_px).any():
        return _flagged(dataclasses.replace(blank, marks_px=marks_px), *flags)
    return measure(blank, marks_px, setup, camera, plane, flags)


def measure(
    blank: PhotoReading,
    marks_px: Float[np.ndarray, "mark 2"],
    setup: Setup,
    camera: Camera,
    plane: Plane | None,
    flags: list[str],
) -> PhotoReading:
    """Angles from marks at known pixels, found by the program or set by hand."""
    flat = np.full_like(marks_px, np.nan)
    seen = np.isfinite(marks_px).all(1)
    flat[seen] = flatten(marks_px[seen], camera, plane)
    per_mm = plane.pixels_per_mm if plane else _own_scale(setup, flatten(marks_px, camera, None))
    located = max(LOCATED_PX, plane.residual_px if plane else 0.0) / per_mm
    found = mark_angles(setup, flat, located)
    if found is None:
        return _flagged(
            dataclasses.replace(blank, marks_px=marks_px),
            *(flags or [f"{int(seen.sum())} of {len(seen)} marks: two are needed at each end"]),
        )
    remarks = list(blank.remarks)
    missing = int((~seen).sum())
    if missing:
        remarks.append(f"{missing} of {len(seen)} marks not found; both ends are")
    size = float(np.sqrt(((setup.tip - setup.tip.mean(0)) ** 2).sum()))
    if found.misfit_mm > MISFIT * size + 3.0 * located + setup.placement_mm:
        flags = [
            *flags,
            f"the marks do not fit their blocks ({found.misfit_mm:.2g} mm off): wrong order, wrong "
            "dots, or a mirrored picture",
        ]
    tilt = plane.tilt_deg if plane else np.nan
    if plane is not None and abs(found.scale - 1.0) > SCALE_OFF:
        remarks.append(
            f"distances on the finger are {100 * found.scale:.1f} % of the drawn ones: the board "
            "is not printed to scale, or the finger stands far in front of it; lengths are taken "
            "from the marks' own distances"
        )
    if plane is not None and plane.tilt_deg > STEEPEST_DEG:
        flags = [*flags, f"the camera is tilted by {plane.tilt_deg:.0f}°: too steep to correct"]
    extra = 0.0
    if plane is None:
        extra = float(np.degrees(0.25 * np.radians(NO_BOARD_TILT_DEG) ** 2))
        remarks.append(f"no board: tilt is not corrected, {NO_BOARD_TILT_DEG:g}° allowed for")
    return dataclasses.replace(
        blank,
        marks_px=marks_px,
        marks_mm=found.marks_mm,
        tip_angle_deg=found.tip_deg,
        chord_angle_deg=found.chord_deg,
        tip_mm=found.tip_mm,
        tip_angle_u_deg=float(np.hypot(found.tip_u_deg, extra)),
        chord_angle_u_deg=float(np.hypot(found.chord_u_deg, extra)),
        pixels_per_mm=per_mm,
        tilt_deg=tilt,
        flags=tuple(flags),
        remarks=tuple(remarks),
    )


def flatten(
    pixels: Float[np.ndarray, "point 2"], camera: Camera, plane: Plane | None
) -> Float[np.ndarray, "point 2"]:
    """Pixels without lens distortion and, with a board, in its plane (mm); y up either way."""
    straight = camera.lens.undistort(pixels) if camera.lens else pixels
    return plane.place(straight) if plane else straight * np.array([1.0, -1.0])


def _own_scale(setup: Setup, flat: Float[np.ndarray, "mark 2"]) -> float:
    """Pixels per mm from the marks themselves: the root group, else the tip group."""
    roots, paths = len(setup.root), len(setup.path)
    for drawn, found in ((setup.root, flat[:roots]), (setup.tip, flat[roots + paths :])):
        seen = np.isfinite(found).all(1)
        if seen.sum() >= 2:
            a, b = drawn[seen], found[seen]
            return float(np.sqrt(((b - b.mean(0)) ** 2).sum() / ((a - a.mean(0)) ** 2).sum()))
    return 1.0


def _flagged(reading: PhotoReading, *flags: str) -> PhotoReading:
    return dataclasses.replace(reading, flags=tuple(flags))


def _no_board(photo: Photo) -> str:
    mirrored = find_tags(np.ascontiguousarray(photo.pixels[:, ::-1]))
    if any(number in mirrored.corners for number in range(4)):
        return "this picture is mirrored: the board is read only after flipping it"
    return "no board is seen: keep its four fiducials in the picture, sharp and unshaded"


def _tagged(tags: Tags, setup: Setup, camera: Camera) -> tuple[Float[np.ndarray, "mark 2"], str]:
    marks = np.full((len(setup.marks), 2), np.nan)
    told = []
    groups = (("root", camera.root_tag, 0), ("tip", camera.tip_tag, len(setup.root)))
    for name, number, start in groups:
        if number in tags.doubled:
            told.append(f"fiducial {number} is seen twice")
        elif number in tags.corners:
            marks[start : start + 4] = tags.corners[number]
        else:
            told.append(f"fiducial {number} at the {name} is not seen")
    return marks, "; ".join(told)


def _dotted(
    photo: Photo, setup: Setup, camera: Camera, tags: Tags, plane: Plane | None, per_mm: float
) -> tuple[Float[np.ndarray, "mark 2"], str, bool]:
    """Pixels of each mark, what is wrong, and whether the match is in doubt."""
    marks = np.full((len(setup.marks), 2), np.nan)
    dots = find_dots(
        photo.pixels, setup.diameter_mm * per_mm, kind=camera.kind, hue_deg=camera.hue_deg
    )
    centres = dots.centres[~_inside_tags(dots.centres, tags)][:MOST_DOTS]
    if not len(centres):
        return marks, "no marks are seen", False
    flat = flatten(centres, camera, plane)
    scale = (0.85, 1.15) if plane else (0.4 * per_mm, 2.5 * per_mm)
    match = match_marks(flat, setup, scale=scale)
    if match is None or match.found < len(setup.root) + 1:
        mirrored = match_marks(flat * np.array([-1.0, 1.0]), setup, scale=scale)
        if mirrored is not None and mirrored.found > 0.8 * len(setup.marks):
            return (
                marks,
                (
                    "the marks fit only when mirrored: a mirrored picture, or the finger was seen "
                    'from its other side (then declare seen_from = "right")'
                ),
                False,
            )
        needed = f"{len(centres)} dots seen, {len(setup.marks)} wanted"
        return marks, f"too few marks fit the drawing ({needed})", False
    seen = match.number >= 0
    marks[seen] = centres[match.number[seen]]
    return marks, _tip_missing(match, setup), match.ambiguous


def _tip_missing(match: Match, setup: Setup) -> str:
    tip = match.number[len(setup.root) + len(setup.path) :]
    if (tip >= 0).sum() >= 2:
        return ""
    return f"only {match.found} of {len(setup.marks)} marks: those at the tip are not seen"


def _inside_tags(
    centres: Float[np.ndarray, "dot 2"], tags: Tags
) -> Float[np.ndarray, " dot"] | np.ndarray:
    """Dots within any fiducial, with a little room around it."""
    inside = np.zeros(len(centres), bool)
    for corners in tags.corners.values():
        middle = corners.mean(0)
        reach = 1.15 * np.linalg.norm(corners - middle, axis=1).max()
        inside |= np.linalg.norm(centres - middle, axis=1) < reach
    return inside

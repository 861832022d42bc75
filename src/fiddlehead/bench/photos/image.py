"""Photos and video frames to pixels, the right way up: the one place that opens pictures."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
from jaxtyping import UInt8

from fiddlehead.bench.photos.vision import opencv
from fiddlehead.errors import CurveError

PHOTO_SUFFIXES = (".jpg", ".jpeg", ".png", ".tif", ".tiff", ".bmp", ".webp")
VIDEO_SUFFIXES = (".mp4", ".mov", ".avi", ".mkv", ".m4v")
_ORIENTATION = 0x0112
_TURNED = {3: "180°", 6: "90°", 8: "90°"}
_MIRRORED = (2, 4, 5, 7)


@dataclass(frozen=True, eq=False)
class Photo:
    """One picture as it should be looked at, red-green-blue."""

    pixels: UInt8[np.ndarray, "row column 3"]
    source: str
    remarks: tuple[str, ...] = ()
    time_s: float = np.nan
    """Of a video frame, from the start of the video."""


def open_photo(path: Path) -> Photo:
    """A photo turned as its camera meant it (EXIF orientation).

    Raises
    ------
    CurveError : no picture, or a damaged one
    """
    from PIL import Image, ImageOps, UnidentifiedImageError

    try:
        with Image.open(path) as image:
            orientation = image.getexif().get(_ORIENTATION, 1)
            pixels = np.asarray(ImageOps.exif_transpose(image).convert("RGB"))
    except (OSError, UnidentifiedImageError, ValueError, SyntaxError) as error:
        raise CurveError(
            "this picture cannot be read",
            where=str(path),
            found=str(error).splitlines()[0] if str(error) else type(error).__name__,
            allowed=", ".join(PHOTO_SUFFIXES),
            remedy="Export it again; nothing was measured in it.",
        ) from error
    remarks = []
    if orientation in _TURNED:
        remarks.append(f"the camera was held turned by {_TURNED[orientation]} (EXIF); mended")
    if orientation in _MIRRORED:
        remarks.append("the camera stored this picture mirrored (EXIF); mended")
    return Photo(pixels, path.name, tuple(remarks))


def video_frames(path: Path, every_s: float) -> Iterator[Photo]:
    """Frames of a video at equal intervals.

    Raises
    ------
    CurveError : no video, or one whose code is not known here
    """
    cv = opencv()
    film = cv.VideoCapture(str(path))
    rate = film.get(cv.CAP_PROP_FPS) if film.isOpened() else 0.0
    if not rate > 0:
        raise CurveError(
            "this video cannot be read",
            where=str(path),
            allowed=", ".join(VIDEO_SUFFIXES),
            remedy="Convert it to another form, or export single frames as photos.",
        )
    try:
        number, wanted = 0, 0.0
        while film.grab():
            time = number / rate
            number += 1
            if time + 0.5 / rate >= wanted:
                good, frame = film.retrieve()
                wanted += every_s
                if good:
                    rgb = np.ascontiguousarray(frame[:, :, ::-1])
                    yield Photo(rgb, f"{path.name} at {time:.3f} s", time_s=time)
    finally:
        film.release()


def as_jpeg(pixels: UInt8[np.ndarray, "row column 3"], quality: int = 85, **more: Any) -> bytes:
    """A picture as JPEG bytes (ISO/IEC 10918); ``more`` as the library knows it."""
    from PIL import Image

    buffer = BytesIO()
    Image.fromarray(pixels).save(buffer, "JPEG", quality=quality, **more)
    return buffer.getvalue()

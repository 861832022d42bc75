"""Many photos or a video to readings with pressures, and readings to bench records."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

import numpy as np
from jaxtyping import Float

from fiddlehead.bench.photos.board import find_plane, find_tags
from fiddlehead.bench.photos.corrections import Correction
from fiddlehead.bench.photos.image import Photo, open_photo
from fiddlehead.bench.photos.layout import learned
from fiddlehead.bench.photos.names import Label, label_of_name
from fiddlehead.bench.photos.read import Camera, measure, read_photo
from fiddlehead.bench.photos.records import PhotoReading, Setup
from fiddlehead.bench.records import CHORD, TIP_TANGENT, BenchRecord
from fiddlehead.errors import CurveError, FiddleheadError

AT_REST_KPA = 2.0
"""A photo below this pressure shows the finger at rest."""


def read_photos(
    paths: Sequence[Path],
    setup: Setup,
    camera: Camera,
    *,
    labels: Mapping[str, Label] | None = None,
    corrections: Mapping[str, Correction] | None = None,
    finger: str = "1",
    progress: Callable[[PhotoReading], object] | None = None,
) -> list[PhotoReading]:
    """Measure photos; each is labelled by the table, else by its own name.

    The first photo at rest of each finger tells where its marks really are, so errors of placing
    them drop out. A photo that cannot be used stays in the list with its flags.
    """
    named = [(path, _label(path.name, labels, finger)) for path in paths]
    named.sort(key=lambda item: _order(item[1]))
    setups: dict[str, Setup] = {}
    readings = []
    for path, label in named:
        correction = (corrections or {}).get(path.name)
        own = setups.get(label.finger, setup)
        try:
            reading = _read_one(open_photo(path), own, camera, correction)
        except FiddleheadError as error:
            blank = np.full((len(setup.marks), 2), np.nan)
            reading = PhotoReading(
                source=path.name, marks_px=blank, marks_mm=blank, flags=(error.message,)
            )
        flags = reading.flags
        if not np.isfinite(label.pressure_kpa):
            flags = (*flags, "neither its name nor a table tells the pressure")
        reading = dataclasses.replace(
            reading,
            pressure_kpa=label.pressure_kpa,
            finger=label.finger,
            repeat=label.repeat,
            flags=flags,
        )
        if reading.usable and label.finger not in setups and label.pressure_kpa < AT_REST_KPA:
            setups[label.finger] = learned(setup, reading)
            reading = dataclasses.replace(
                reading,
                tip_angle_u_deg=_without_placement(reading.tip_angle_u_deg, setup),
                remarks=(*reading.remarks, "angles of this finger count from this photo at rest"),
                tip_angle_deg=0.0,
                chord_angle_deg=0.0,
            )
        readings.append(reading)
        if progress:
            progress(reading)
    return readings


def _without_placement(u_deg: float, setup: Setup) -> float:
    arms = sum(
        1.0 / float(((group - group.mean(0)) ** 2).sum()) for group in (setup.root, setup.tip)
    )
    placed = float(np.degrees(setup.placement_mm * np.sqrt(arms)))
    return float(np.sqrt(max(u_deg**2 - placed**2, 0.0)))


def _label(name: str, labels: Mapping[str, Label] | None, finger: str) -> Label:
    label = (labels or {}).get(name) or label_of_name(name)
    return label if label.finger else dataclasses.replace(label, finger=finger)


def _order(label: Label) -> tuple[str, int, bool, float]:
    down = label.branch == "down"
    pressure = label.pressure_kpa if np.isfinite(label.pressure_kpa) else np.inf
    return label.finger, label.repeat, down, -pressure if down else pressure


def _read_one(
    photo: Photo, setup: Setup, camera: Camera, correction: Correction | None
) -> PhotoReading:
    reading = read_photo(photo, setup, camera)
    if correction is None:
        return reading
    if correction.rejected:
        return dataclasses.replace(reading, flags=("rejected by hand",), corrected_by_hand=True)
    marks = reading.marks_px.copy()
    for number, place in correction.places.items():
        marks[number - 1] = place
    plane = None
    if camera.board is not None:
        plane = find_plane(find_tags(photo.pixels), camera.board, camera.lens)
        if plane is None:
            return reading
    blank = dataclasses.replace(reading, flags=(), remarks=photo.remarks)
    told = dataclasses.replace(blank, remarks=(*photo.remarks, "marks corrected by hand"))
    return dataclasses.replace(
        measure(told, marks, setup, camera, plane, []), corrected_by_hand=True
    )


def synchronised(
    readings: Sequence[PhotoReading], log: BenchRecord, *, offset_s: float
) -> list[PhotoReading]:
    """Video readings with the pressure of a log: ``log time = video time + offset_s``.

    Frames outside the log are flagged.

    Raises
    ------
    CurveError : the log has no clock
    """
    if "time_s" not in log.values:
        raise CurveError("a pressure log needs its time to go with a video", where=log.source)
    time, pressure = log.values["time_s"], log.values["pressure_kpa"]
    placed = []
    for reading in readings:
        at = reading.time_s + offset_s
        inside = time[0] <= at <= time[-1]
        value = float(np.interp(at, time, pressure)) if inside else np.nan
        flags = reading.flags if inside else (*reading.flags, "outside the pressure log")
        placed.append(
            dataclasses.replace(
                reading, pressure_kpa=value, flags=flags, finger=log.finger, repeat=log.repeat
            )
        )
    return placed


def indicator_time(
    photos: Sequence[Photo], box_px: tuple[int, int, int, int], *, least: float = 25.0
) -> float:
    """Video time at which a lamp in view goes on, s: half-way crossing of its brightness.

    Parameters
    ----------
    box_px : left, top, width, height of the picture part that holds the lamp
    least : change of the mean brightness (of 255) that counts

    Raises
    ------
    CurveError : no lamp goes on there
    """
    left, top, wide, high = box_px
    bright = np.array(
        [float(p.pixels[top : top + high, left : left + wide].mean()) for p in photos]
    )
    times = np.array([photo.time_s for photo in photos])
    low, top_level = float(bright[0]), float(bright.max())
    if not len(bright) or top_level - low < least:
        raise CurveError(
            "no indicator goes on in this box",
            found=f"brightness {bright.min():.0f} to {bright.max():.0f} of 255",
            remedy="Check indicator_box_px (left, top, width, height), and start with it off.",
        )
    half = 0.5 * (low + top_level)
    at = int(np.argmax(bright > half))
    part = (half - bright[at - 1]) / (bright[at] - bright[at - 1])
    return float(times[at - 1] + part * (times[at] - times[at - 1]))


def bending_records(
    readings: Sequence[PhotoReading],
    definition: str,
    *,
    test: str = "bend",
    sha256: Mapping[str, str] | None = None,
) -> list[BenchRecord]:
    """Usable readings as records of ``test``, one for each finger and repeat.

    Raises
    ------
    CurveError : no such definition
    """
    columns: dict[str, Callable[[PhotoReading], tuple[float, float]]] = {
        TIP_TANGENT: lambda r: (r.tip_angle_deg, r.tip_angle_u_deg),
        CHORD: lambda r: (r.chord_angle_deg, r.chord_angle_u_deg),
    }
    if definition not in columns:
        raise CurveError("no such bending angle", found=definition, allowed=", ".join(columns))
    groups: dict[tuple[str, int], list[PhotoReading]] = {}
    for reading in readings:
        groups.setdefault((reading.finger, reading.repeat), []).append(reading)
    records = []
    for (finger, repeat), members in groups.items():
        used = [reading for reading in members if reading.usable]
        told = tuple(f"{r.source} left out: {'; '.join(r.flags)}" for r in members if r.flags)
        if not used:
            continue
        pairs = np.array([columns[definition](reading) for reading in used])
        tips = np.array([reading.tip_mm for reading in used])
        records.append(
            BenchRecord(
                test=test,
                finger=finger,
                repeat=repeat,
                values={
                    "pressure_kpa": np.array([r.pressure_kpa for r in used]),
                    "angle_deg": pairs[:, 0],
                    "angle_u_deg": pairs[:, 1],
                    "tip_x_mm": tips[:, 0],
                    "tip_y_mm": tips[:, 1],
                    **_times(used),
                },
                angle_definition=definition,
                source=f"{len(members)} photos",
                sha256=_joint(members, sha256),
                remarks=told,
            )
        )
    return records


def _times(used: Sequence[PhotoReading]) -> dict[str, Float[np.ndarray, " sample"]]:
    """Times of video frames; nothing for photos."""
    times = np.array([reading.time_s for reading in used])
    return {"time_s": times} if np.isfinite(times).all() else {}


def _joint(members: Sequence[PhotoReading], hashes: Mapping[str, str] | None) -> str:
    return " ".join(sorted({(hashes or {}).get(r.source, "")[:12] for r in members})).strip()

"""Video: frames at equal intervals, and pressure by a lamp that goes on with the valve."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import pytest

from fiddlehead.bench.photos.image import video_frames
from fiddlehead.bench.photos.records import PhotoReading
from fiddlehead.bench.photos.series import bending_records, indicator_time, synchronised
from fiddlehead.bench.records import BenchRecord
from fiddlehead.errors import CurveError

RATE, LAMP_ON = 25.0, 1.2
BOX = (40, 20, 30, 30)


@pytest.fixture
def film(tmp_path: Path) -> Path:
    """Four seconds of grey with a lamp that goes on after 1.2 s."""
    path = tmp_path / "bend.mp4"
    writer = cv2.VideoWriter(str(path), cv2.VideoWriter.fourcc(*"mp4v"), RATE, (320, 180))
    assert writer.isOpened()
    for number in range(100):
        frame = np.full((180, 320, 3), 90, np.uint8)
        if number / RATE >= LAMP_ON:
            frame[20:50, 40:70] = 240
        writer.write(frame)
    writer.release()
    return path


def log() -> BenchRecord:
    """The valve opens 5 s into the log; the pressure then rises by 50 kPa a second."""
    time = np.arange(0.0, 9.0, 0.1)
    return BenchRecord(
        test="bend",
        finger="A",
        repeat=1,
        values={"time_s": time, "pressure_kpa": 50.0 * np.maximum(time - 5.0, 0.0)},
        source="log.csv",
    )


def reading(time_s: float) -> PhotoReading:
    none = np.zeros((0, 2))
    return PhotoReading(
        source=f"at {time_s}",
        marks_px=none,
        marks_mm=none,
        time_s=time_s,
        tip_angle_deg=20.0 * time_s,
        tip_angle_u_deg=0.2,
    )


def test_frames_at_equal_intervals(film: Path) -> None:
    times = [frame.time_s for frame in video_frames(film, every_s=0.5)]
    assert times == pytest.approx(np.arange(0.0, 4.0, 0.5), abs=1.0 / RATE)


def test_the_lamp_gives_the_offset_and_the_log_the_pressure(film: Path) -> None:
    frames = list(video_frames(film, every_s=0.04))
    on = indicator_time(frames, BOX)
    assert on == pytest.approx(LAMP_ON, abs=1.0 / RATE)
    placed = synchronised([reading(1.0), reading(2.2), reading(20.0)], log(), offset_s=5.0 - on)
    assert placed[0].pressure_kpa == pytest.approx(0.0, abs=2.0)
    assert placed[1].pressure_kpa == pytest.approx(50.0, abs=2.0)
    assert placed[2].flags == ("outside the pressure log",)
    (record,) = bending_records(placed, "tip tangent")
    assert len(record) == 2
    assert "left out" in record.remarks[0]
    assert record.values["time_s"] == pytest.approx([1.0, 2.2])


def test_no_lamp_and_no_video_are_told(film: Path, tmp_path: Path) -> None:
    with pytest.raises(CurveError, match="no indicator goes on"):
        indicator_time(list(video_frames(film, every_s=0.2)), (200, 100, 20, 20))
    (tmp_path / "no.mp4").write_bytes(b"no video")
    with pytest.raises(CurveError, match="cannot be read"):
        next(iter(video_frames(tmp_path / "no.mp4", every_s=1.0)))
    blind = BenchRecord(test="bend", finger="A", repeat=1, values={"pressure_kpa": np.ones(3)})
    with pytest.raises(CurveError, match="needs its time"):
        synchronised([], blind, offset_s=0.0)

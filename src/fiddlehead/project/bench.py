"""The ``[bench]`` section as the bench room takes it: files, mappings, marks and cameras."""

from __future__ import annotations

from collections.abc import Iterator
from glob import glob
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from fiddlehead.bench.leaks import ProofTest, TightnessLimits
from fiddlehead.bench.photos.board import Board
from fiddlehead.bench.photos.corrections import Correction, read_corrections
from fiddlehead.bench.photos.image import open_photo
from fiddlehead.bench.photos.layout import dot_layout, fiducial_layout, from_the_other_side
from fiddlehead.bench.photos.lens import Lens, calibrate_lens
from fiddlehead.bench.photos.names import Label, labels_of_table
from fiddlehead.bench.photos.read import Camera
from fiddlehead.bench.photos.records import Setup
from fiddlehead.bench.quantities import QUANTITIES
from fiddlehead.bench.read import RecordFile
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.project.air_section import AirSection
from fiddlehead.project.bench_section import (
    BenchSection,
    CameraSection,
    PhotoFiles,
    RecordFiles,
)
from fiddlehead.project.findings import Finding
from fiddlehead.project.locate import Path as KeyPath
from fiddlehead.project.validate import Source

if TYPE_CHECKING:
    from fiddlehead.project.load import Project


def expand(folder: Path, patterns: tuple[str, ...]) -> list[Path]:
    """Files named by paths or patterns, each once, in order; a path without file stays."""
    found: dict[Path, None] = {}
    for pattern in patterns:
        hits = sorted(glob(str(folder / pattern)))
        for hit in hits or [str(folder / pattern)]:
            found[Path(hit)] = None
    return list(found)


def record_files(project: Project) -> Iterator[RecordFile]:
    """Every declared file with its mapping."""
    bench = project.sections.bench
    for declared in bench.records:
        for path in expand(project.path.parent, declared.files):
            working = project.loads.working_pressure_kpa
            yield record_file(declared, path, bench, working, project.path.parent)


def record_file(
    declared: RecordFiles,
    path: Path,
    bench: BenchSection,
    working_pressure_kpa: float,
    folder: Path,
) -> RecordFile:
    """One file of a ``[[bench.records]]``."""
    entries = declared.model_dump()
    columns = {name: entries.get(f"{name}_column") for name in QUANTITIES}
    units = {name: entries.get(f"{name}_unit") for name in QUANTITIES}
    return RecordFile(
        path=path,
        test=declared.test,
        columns={name: column for name, column in columns.items() if column},
        units={name: unit for name, unit in units.items() if unit and columns[name]},
        finger=declared.finger,
        repeat=declared.repeat,
        finger_column=declared.finger_column or "",
        repeat_column=declared.repeat_column or "",
        object_column=declared.object_column or "",
        object_name=declared.object_name,
        preset_angle_deg=declared.preset_angle_deg,
        angle_definition=declared.angle_definition or "",
        pressure_kind=declared.pressure_kind,
        ambient_kpa=bench.ambient_kpa,
        expected_pressure_kpa=working_pressure_kpa if declared.test in ("bend", "block") else None,
        calibrations={
            name: folder / table
            for name in ("pressure", "force")
            if (table := entries[f"{name}_calibration"])
        },
        sheet=declared.sheet,
        delimiter=declared.delimiter,
        decimal=declared.decimal,
    )


def marks_of(finger: FingerParameters, camera: CameraSection) -> Setup:
    """Where the marks of a finger are: as declared, else as on the test sheet.

    Raises
    ------
    ParameterError : the finger is too small for its dots
    """
    own = camera.root_marks_mm, camera.tip_marks_mm
    if own[0] is not None and own[1] is not None:
        setup = Setup(
            root=np.array(own[0]),
            path=np.array(camera.path_marks_mm or []).reshape(-1, 2),
            tip=np.array(own[1]),
            tip_point=np.array([finger.length_mm, 0.0]),
            diameter_mm=camera.diameter_mm,
        )
    elif camera.marks == "fiducials":
        setup = fiducial_layout(
            (0.5 * finger.root_length_mm, 0.5 * finger.height_mm),
            (finger.length_mm + 0.7 * camera.diameter_mm, 0.5 * finger.height_mm),
            length_mm=finger.length_mm,
            side_mm=camera.diameter_mm,
        )
    else:
        setup = dot_layout(
            length_mm=finger.length_mm,
            root_length_mm=finger.root_length_mm,
            tip_length_mm=finger.tip_length_mm,
            height_mm=finger.height_mm,
            valley_height_mm=finger.valley_height_mm,
            pitch_mm=finger.pitch_mm,
            diameter_mm=camera.diameter_mm,
            flag=camera.tip_card,
        )
    return setup if camera.seen_from == "left" else from_the_other_side(setup)


def camera_of(camera: CameraSection, folder: Path) -> Camera:
    """The camera of a series, its lens calibrated where photos for that are declared.

    Raises
    ------
    CurveError : those photos cannot be read or do not show the chequerboard
    """
    lens: Lens | None = None
    if camera.lens_photos:
        photos = [open_photo(path).pixels for path in expand(folder, camera.lens_photos)]
        lens, _ = calibrate_lens(photos, camera.lens_corners, 20.0)
    board = Board(camera.board_width_mm, camera.board_height_mm, camera.fiducial_mm)
    return Camera(
        kind=camera.marks,
        hue_deg=camera.hue_deg,
        board=board if camera.board else None,
        lens=lens,
        pixels_per_mm=camera.pixels_per_mm or 0.0,
    )


def limits_of(bench: BenchSection, air: AirSection) -> TightnessLimits:
    """The limits of tightness, and what a proof test must show."""
    return TightnessLimits(
        holds_percent_per_min=bench.holds_percent_per_min,
        supply_share_percent=bench.supply_share_percent,
        droop_deg=bench.droop_deg,
        proof_factor=air.proof_factor,
    )


def proofs_of(bench: BenchSection) -> list[ProofTest]:
    """The proof tests."""
    return [ProofTest(**proof.model_dump()) for proof in bench.proofs]


def bench_mistakes(bench: BenchSection, folder: Path, source: Source) -> Iterator[Finding]:
    """Declared files that are not there, and declarations that miss what they need."""
    for number, declared in enumerate(bench.records):
        path = ("bench", "records", number)
        yield from _missing(expand(folder, declared.files), (*path, "files"), source)
        for name in ("pressure_calibration", "force_calibration"):
            told = getattr(declared, name)
            yield from _missing([folder / told] if told else [], (*path, name), source)
        if declared.angle_column and not declared.angle_definition:
            yield Finding(
                kind="mistake",
                message="the bending angle needs its definition",
                allowed='"tip tangent" | "chord"',
                remedy='Add angle_definition = "tip tangent" or "chord"; they differ by about two.',
                **source.place((*path, "angle_definition")),
            )
    for number, series in enumerate(bench.photos):
        path = ("bench", "photos", number)
        yield from _missing(expand(folder, series.files), (*path, "files"), source)
        for name in ("table", "corrections"):
            told = getattr(series, name)
            yield from _missing([folder / told] if told else [], (*path, name), source)
        yield from _scale(series, path, source)
    for number, video in enumerate(bench.videos):
        path = ("bench", "videos", number)
        yield from _scale(video, path, source)
        yield from _missing([folder / video.file], (*path, "file"), source)
        yield from _missing([folder / video.log], (*path, "log"), source)


def _scale(camera: CameraSection, place: KeyPath, source: Source) -> Iterator[Finding]:
    if not camera.board and camera.pixels_per_mm is None:
        yield Finding(
            kind="mistake",
            message="without a board the rough scale must be told",
            remedy="Add pixels_per_mm = 6.0 (length of the finger in pixels over mm).",
            **source.place((*place, "pixels_per_mm")),
        )


def _missing(paths: list[Path], place: tuple[str | int, ...], source: Source) -> Iterator[Finding]:
    for path in paths:
        if not path.is_file():
            yield Finding(
                kind="mistake",
                message="there is no such file",
                found=path.name,
                remedy="Paths count from the folder of the project file.",
                **source.place(place),
            )


def labels_of(photos: PhotoFiles, folder: Path) -> dict[str, Label] | None:
    """Labels of a series by its table; None when names alone tell them.

    Raises
    ------
    CurveError : the table cannot be read
    """
    return labels_of_table(folder / photos.table) if photos.table else None


def corrections_of(photos: PhotoFiles, folder: Path, setup: Setup) -> dict[str, Correction] | None:
    """Marks set by hand; None when there are none.

    Raises
    ------
    CurveError : the table cannot be read
    """
    return read_corrections(folder / photos.corrections, setup) if photos.corrections else None

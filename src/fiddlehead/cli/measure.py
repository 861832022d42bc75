"""``fiddlehead measure``: everything the bench recorded, imported and reduced."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from fiddlehead.cli.codes import DOUBTS, OK, WRONG_INPUT
from fiddlehead.cli.measure_words import tell, tell_proofs
from fiddlehead.cli.options import json_option, project_argument, results_option
from fiddlehead.cli.output import Voice
from fiddlehead.cli.session import checked_project, now, results_folder

if TYPE_CHECKING:
    from fiddlehead.air.cavity import Cavity
    from fiddlehead.bench.records import BenchRecord
    from fiddlehead.project.load import Project
    from fiddlehead.report.measured import PhotoSeries


@click.command()
@project_argument
@results_option
@click.option("--strict", is_flag=True, help="Exit with 1 when anything had to be left out.")
@json_option
def measure(project: Path, results: Path | None, strict: bool, machine: bool) -> int:
    """Import and reduce what the bench measured.

    PROJECT is the project file or its folder; its [bench] section tells the files. Raw files are
    copied read-only to bench-raw/ beside the project file. Curves, leak rates, responses, lives,
    success rates and contact sheets of photos go to measured/ in the results folder. Whatever
    cannot be used is left out and told; the rest is kept.
    """
    from fiddlehead.bench.archive import keep_raw
    from fiddlehead.bench.measured import Reduction, reduce_all
    from fiddlehead.bench.read import read_records
    from fiddlehead.bench.reduce import grid_to
    from fiddlehead.errors import FiddleheadError
    from fiddlehead.project.bench import limits_of, proofs_of, record_files
    from fiddlehead.report.measured import write_measured

    voice = Voice(machine)
    loaded = checked_project(project, voice, "measure")
    folder = results_folder(loaded, results)
    bench = loaded.sections.bench
    records: list[BenchRecord] = []
    lost: list[str] = []
    files = list(record_files(loaded))
    raw = keep_raw(loaded.path.parent / "bench-raw", [file.path for file in files])
    for file in files:
        try:
            found = read_records(file)
        except FiddleheadError as error:
            lost.append(str(error))
            continue
        records += found
    series, seen, photo_hashes = read_series(loaded, voice, lost)
    records += seen
    if not records:
        lost += [f"{one.source} left out: {'; '.join(one.flags)}"
                 for group in series for one in group.readings if one.flags]  # fmt: skip
        for text in lost or ["the [bench] section declares no files"]:
            voice.paragraph(f"Mind: {text}")
        voice.document("measure", WRONG_INPUT, troubles=lost)
        return WRONG_INPUT
    limits = limits_of(bench, loaded.sections.air)
    measured = reduce_all(
        records,
        Reduction(
            grid_kpa=grid_to(loaded.loads.working_pressure_kpa, loaded.loads.pressure_steps),
            conditioning_cycles=bench.conditioning_cycles,
            hold_s=bench.hold_s,
            settle_s=bench.settle_s,
            cavity=cavity_of(loaded, folder),
            supply_l_per_min=bench.supply_l_per_min,
            limits=limits,
        ),
    )
    written = write_measured(
        folder,
        loaded.name,
        measured,
        series,
        date=now(),
        raw_sha256={**raw, **photo_hashes},
        limit_percent_per_min=bench.holds_percent_per_min,
        settle_s=bench.settle_s,
    )
    remarks = [
        f"{record.source}, finger {record.finger}, repeat {record.repeat}: {remark}"
        for record in records
        for remark in record.remarks
    ]
    told = [*lost, *measured.troubles, *remarks]
    tell(voice, measured)
    tell_proofs(
        voice,
        proofs_of(bench),
        loaded.loads.working_pressure_kpa,
        limits,
    )
    for text in dict.fromkeys(told):
        voice.paragraph(f"Mind: {text}")
    voice.files(written.pictures, [written.folder / "measured.json"])
    voice.caution()
    code = DOUBTS if strict and told else OK
    voice.document(
        "measure",
        code,
        curves=list(measured.spreads),
        leaks=[(leak.finger, leak.leak_class) for leak in measured.leaks],
        troubles=list(dict.fromkeys(told)),
        folder=str(written.folder),
        files=[str(path) for path in written.files],
    )
    return code


def read_series(
    loaded: Project, voice: Voice, lost: list[str]
) -> tuple[list[PhotoSeries], list[BenchRecord], dict[str, str]]:
    """All photos and videos: readings with thumbnails, records under both angle definitions."""
    from fiddlehead.bench.photos.image import open_photo, video_frames
    from fiddlehead.bench.photos.read import read_photo
    from fiddlehead.bench.photos.records import PhotoReading, Setup
    from fiddlehead.bench.photos.series import (
        bending_records,
        indicator_time,
        read_photos,
        synchronised,
    )
    from fiddlehead.bench.read import RecordFile, read_records
    from fiddlehead.bench.records import ANGLES
    from fiddlehead.errors import FiddleheadError
    from fiddlehead.files import sha256
    from fiddlehead.project.bench import camera_of, corrections_of, expand, labels_of, marks_of
    from fiddlehead.report.figures.contact_sheet import Frame, frame_of
    from fiddlehead.report.measured import PhotoSeries as Series

    base = loaded.path.parent
    series: list[PhotoSeries] = []
    records: list[BenchRecord] = []
    hashes: dict[str, str] = {}

    def keep(readings: list[PhotoReading], frames: list[Frame], test: str = "bend") -> None:
        series.append(Series(tuple(readings), tuple(frames)))
        for definition in ANGLES if test == "bend" else ANGLES[:1]:
            records.extend(bending_records(readings, definition, test=test, sha256=hashes))

    def small(setup: Setup, reading: PhotoReading, pixels: object) -> Frame:
        return frame_of(pixels, reading, len(setup.root), len(setup.tip))  # type: ignore[arg-type]

    for photos in loaded.sections.bench.photos:
        paths = expand(base, photos.files)
        hashes |= {path.name: sha256(path) for path in paths}
        setup = marks_of(loaded.finger, photos)
        voice.say(f"Reading {len(paths)} photos ...")
        readings = read_photos(
            paths,
            setup,
            camera_of(photos, base),
            labels=labels_of(photos, base),
            corrections=corrections_of(photos, base, setup),
            finger=photos.finger,
        )
        by_name = {path.name: path for path in paths}
        frames = []
        for reading in readings:
            try:
                pixels = open_photo(by_name[reading.source]).pixels
            except FiddleheadError:
                continue
            frames.append(small(setup, reading, pixels))
        keep(readings, frames)
    for video in loaded.sections.bench.videos:
        try:
            setup, camera = marks_of(loaded.finger, video), camera_of(video, base)
            log_file = RecordFile(
                path=base / video.log,
                test="leak",
                columns={"time": video.log_time_column, "pressure": video.log_pressure_column},
                units={"pressure": video.log_pressure_unit},
                finger=video.finger,
                repeat=video.repeat,
            )
            (log,) = read_records(log_file)
            voice.say(f"Reading {video.file} ...")
            film = list(video_frames(base / video.file, video.every_s))
            offset = video.offset_s
            if video.indicator_box_px is not None:
                quick = list(video_frames(base / video.file, 0.0))
                offset = video.indicator_log_time_s - indicator_time(quick, video.indicator_box_px)
            readings = [read_photo(photo, setup, camera) for photo in film]
            readings = synchronised(readings, log, offset_s=offset)
        except FiddleheadError as error:
            lost.append(str(error))
            continue
        hashes[Path(video.file).name] = sha256(base / video.file)
        pairs = zip(readings, film, strict=True)
        keep(readings, [small(setup, reading, one.pixels) for reading, one in pairs], video.test)
    return series, records, hashes


def cavity_of(loaded: Project, results: Path) -> Cavity:
    """Volume over pressure: of a saved bending, else the undeformed volume; tubes included."""
    import numpy as np

    from fiddlehead.air.cavity import Cavity
    from fiddlehead.errors import FiddleheadError
    from fiddlehead.finger.volumes import cavity_volume_mm3
    from fiddlehead.report.export.store import load_bend_result

    tubes = loaded.sections.bench.tube_volume_cm3
    try:
        bent = load_bend_result(results / "bend")
        volumes = 1e-3 * np.asarray(bent.cavity_volume_mm3)
        cavity = Cavity(1e3 * bent.pressure_mpa, volumes)
    except FiddleheadError:
        cavity = Cavity.rigid(1e-3 * cavity_volume_mm3(loaded.finger))
    return cavity.together(dead_volume_cm3=tubes)

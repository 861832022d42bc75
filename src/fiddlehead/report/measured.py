"""The ``measured`` folder: everything the bench gave, as pictures, tables and one record.

measured/
├── measured.json   numbers of every reduction, remarks, fingerprints of the raw files
├── curves/         mean curves with both scatters, one CSV each
├── records/        cleaned records, one CSV each
├── marks_N.csv     marks found in photos, to correct by hand
└── pictures        curves, decay, steps, life, picks, contact sheets
"""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from fiddlehead.bench.measured import Measured, curve_words
from fiddlehead.bench.photos.corrections import write_corrections
from fiddlehead.bench.photos.records import PhotoReading
from fiddlehead.bench.records import BenchRecord, Spread
from fiddlehead.errors import StoreError
from fiddlehead.files import write_text
from fiddlehead.report.about import versions
from fiddlehead.report.export.tables import write_table
from fiddlehead.report.figures.bands import draw_bands, measured_picture
from fiddlehead.report.figures.bench import (
    CoursePicture,
    RatesPicture,
    decay_picture,
    draw_courses,
    draw_decay,
    draw_life,
    draw_rates,
    life_picture,
)
from fiddlehead.report.figures.contact_sheet import Frame, draw_contact_sheet
from fiddlehead.report.figures.style import save
from fiddlehead.report.figures.tip_paths import TipPoints
from fiddlehead.report.results import Written, write_result

RECORD = "measured.json"
FORMAT = "fiddlehead measurements 1"


@dataclasses.dataclass(frozen=True, eq=False)
class PhotoSeries:
    """Photos read together: readings and small pictures."""

    readings: tuple[PhotoReading, ...]
    frames: tuple[Frame, ...]


def write_measured(
    results: Path,
    project_name: str,
    measured: Measured,
    series: Sequence[PhotoSeries],
    *,
    date: str,
    raw_sha256: Mapping[str, str],
    limit_percent_per_min: float,
    settle_s: float,
) -> Written:
    """Write all of it, whole or not at all.

    Raises
    ------
    StoreError : the folder cannot be written
    """

    def fill(folder: Path) -> None:
        for name, spread in measured.spreads.items():
            write_table(folder / "curves" / f"{name}.csv", spread_columns(spread))
        for record in measured.records:
            columns = {name: list(values) for name, values in record.values.items()}
            write_table(folder / "records" / f"{record_name(record)}.csv", columns)
        for number, one in enumerate(series, start=1):
            write_corrections(folder / f"marks_{number}.csv", one.readings)
            for page, start in enumerate(range(0, len(one.frames), 12), start=1):
                figure = draw_contact_sheet(
                    one.frames[start : start + 12], f"{project_name}, photos {number}"
                )
                save(figure, folder, f"contact_sheet_{number}_{page}")
        _draw(folder, project_name, measured, limit_percent_per_min, settle_s)
        document = {
            "format": FORMAT,
            "date": date,
            "versions": versions(),
            "raw_files_sha256": dict(raw_sha256),
            **_summary(measured),
            "photos": [_photo(reading) for one in series for reading in one.readings],
        }
        write_text(folder / RECORD, json.dumps(document, indent=2, ensure_ascii=False) + "\n")

    return write_result(results / "measured", fill, "measured")


def record_name(record: BenchRecord) -> str:
    """``bend_A_1_tip_tangent``: unique among records unless one run was entered twice."""
    parts = [record.test, record.finger, str(record.repeat), record.angle_definition]
    parts += [record.object_name, record.sha256[:6]]
    return "_".join(part.replace(" ", "_") for part in parts if part)


def spread_columns(spread: Spread) -> dict[str, Any]:
    """One row per pressure."""
    return {
        "pressure_kpa": spread.pressure_kpa,
        f"mean_{spread.quantity}": spread.mean,
        f"sd_between_fingers_{spread.quantity}": spread.sd_fingers,
        f"sd_of_repeats_{spread.quantity}": spread.sd_repeats,
        **{
            f"finger_{finger}_{spread.quantity}": curve
            for finger, curve in zip(spread.fingers, spread.each, strict=True)
        },
    }


def _draw(
    folder: Path, project: str, measured: Measured, limit_percent_per_min: float, settle_s: float
) -> None:
    curves = dict.fromkeys(name.rpartition("_")[0] for name in measured.spreads)
    for name in curves:
        branches = [measured.spreads[f"{name}_{b}"] for b in ("up", "down")
                    if f"{name}_{b}" in measured.spreads]  # fmt: skip
        loops = [c.hysteresis_percent for c in measured.cycles[name]]
        known = [loop for loop in loops if np.isfinite(loop)]
        remark = f"hysteresis {np.mean(known):.1f} % of range, mean of cycles" if known else ""
        heading = f"{project}: measured {curve_words(name)}"
        save(draw_bands(measured_picture(name, heading, branches, remark)), folder, name)
    by_test = {test: [r for r in measured.records if r.test == test] for test in ("leak", "step")}
    if measured.leaks:
        picture = decay_picture(
            by_test["leak"],
            measured.leaks,
            f"{project}: pressure decay",
            limit_percent_per_min=limit_percent_per_min,
            settle_s=settle_s,
        )
        save(draw_decay(picture), folder, "pressure_decay")
    if measured.steps:
        words = "; ".join(f"{s.finger}: rise {1e3 * s.rise_s:.0f} ms" for s in measured.steps[:4])
        courses = tuple((f"{r.finger}, repeat {r.repeat}", r) for r in by_test["step"])
        save(
            draw_courses(CoursePicture(f"{project}: step response", words, courses)), folder, "step"
        )
    if measured.life is not None:
        lives = [record for record in measured.records if record.test == "life"]
        picture_of_life = life_picture(lives, measured.life, f"{project}: cycles to failure")
        save(draw_life(picture_of_life), folder, "life")
    if measured.picks:
        detail = "picked, held and released; bars: exact 95 % interval (Clopper & Pearson 1934)"
        rates = RatesPicture(f"{project}: pick trials", detail, measured.picks)
        save(draw_rates(rates), folder, "picks")


def _summary(measured: Measured) -> dict[str, Any]:
    return {
        "curves": {name: plain(spread) for name, spread in measured.spreads.items()},
        "cycles": {
            name: [
                {
                    "finger": cycle.finger,
                    "repeat": cycle.repeat,
                    "hysteresis_percent": _number(cycle.hysteresis_percent),
                    "set_after": _number(cycle.set_after),
                }
                for cycle in cycles
            ]
            for name, cycles in measured.cycles.items()
        },
        "blocked_force": [plain(item) for item in measured.held],
        "lateral_stiffness": [plain(item) for item in measured.lateral],
        "step_response": [plain(item) for item in measured.steps],
        "creep": [plain(item) for item in measured.creeps],
        "leaks": [plain(item) for item in measured.leaks],
        "life": plain(measured.life) if measured.life else None,
        "picks": [plain(item) for item in measured.picks],
        "damage": [plain(item) for item in measured.damage],
        "pull_off": [plain(item) for item in measured.pulls],
        "troubles": list(measured.troubles),
        "records": [
            {
                "test": record.test,
                "finger": record.finger,
                "repeat": record.repeat,
                "samples": len(record),
                "angle_definition": record.angle_definition,
                "source": record.source,
                "sha256": record.sha256,
                "remarks": list(record.remarks),
            }
            for record in measured.records
        ],
    }


def _photo(reading: PhotoReading) -> dict[str, Any]:
    return {**plain(reading), "usable": reading.usable}


def plain(item: Any) -> Any:
    """Records, arrays and their numbers as JSON knows them; NaN becomes null."""
    if dataclasses.is_dataclass(item):
        return {f.name: plain(getattr(item, f.name)) for f in dataclasses.fields(item)}
    if isinstance(item, dict):
        return {key: plain(value) for key, value in item.items()}
    if isinstance(item, np.ndarray):
        return plain(item.tolist())
    if isinstance(item, list | tuple):
        return [plain(value) for value in item]
    return _number(item)


def _number(value: Any) -> Any:
    if isinstance(value, np.generic):
        value = value.item()
    return None if isinstance(value, float) and not np.isfinite(value) else value


def load_tips(results: Path) -> list[TipPoints]:
    """Tip positions that photos of an earlier ``measure`` gave, by finger.

    Raises
    ------
    StoreError : no measurements there, or another format
    """
    by_finger: dict[str, list[tuple[float, float, float]]] = {}
    for photo in _document(results)["photos"]:
        if photo["usable"] and photo["pressure_kpa"] is not None:
            row = (photo["pressure_kpa"], *photo["tip_mm"])
            by_finger.setdefault(photo["finger"], []).append(row)
    return [
        TipPoints(finger, np.array(rows)[:, 0], np.array(rows)[:, 1:])
        for finger, rows in by_finger.items()
    ]


def load_spreads(results: Path) -> dict[str, Spread]:
    """Measured curves of an earlier ``measure``.

    Raises
    ------
    StoreError : none there, or another format
    """
    return {name: _spread(kept) for name, kept in _document(results)["curves"].items()}


def _document(results: Path) -> dict[str, Any]:
    path = results / "measured" / RECORD
    missing = StoreError(
        "there are no readable measurements here",
        where=str(path),
        remedy="Run fiddlehead measure first.",
    )
    try:
        document = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise missing from error
    if not isinstance(document, dict) or document.get("format") != FORMAT:
        raise missing
    return document


def _spread(kept: dict[str, Any]) -> Spread:
    arrays = ("pressure_kpa", "mean", "sd_fingers", "sd_repeats", "each")
    values: dict[str, Any] = {
        name: np.array(value, float) if name in arrays else value for name, value in kept.items()
    }
    values["fingers"], values["repeats"] = tuple(kept["fingers"]), tuple(kept["repeats"])
    return Spread(**values)

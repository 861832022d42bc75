"""Files of any columns, rates and units to bench records, by a mapping declared once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
from jaxtyping import Float

from fiddlehead.bench.cleaning import COUNTED, clean
from fiddlehead.bench.plausible import (
    odd_angles,
    one_unit_throughout,
    refuse_odd_pressure,
    refuse_swapped_headers,
    refuse_swapped_time,
)
from fiddlehead.bench.quantities import NEEDED, QUANTITIES, parse_cells
from fiddlehead.bench.records import ANGLES, BenchRecord
from fiddlehead.bench.sensors import read_calibration
from fiddlehead.bench.spreadsheet import SUFFIXES, read_workbook
from fiddlehead.errors import CurveError, FiddleheadError
from fiddlehead.files import sha256
from fiddlehead.material.delimited import Table, read_table

STANDARD_ATMOSPHERE_KPA = 101.325
"""ISO 2533 (1975); used where the ambient pressure was not measured."""


@dataclass(frozen=True, kw_only=True)
class RecordFile:
    """One file of measurements and what its columns mean.

    test : a name of ``quantities.NEEDED``
    columns : quantity (a name of ``quantities.QUANTITIES``) to header
    units : quantity to unit, where it is not the record's own
    finger, repeat : used where no column tells them
    pressure_kind : ``gauge`` or ``absolute``
    ambient_kpa : pressure of the open air, taken off absolute pressures
    expected_pressure_kpa : highest gauge pressure the test should reach, to notice a wrong unit
    calibrations : quantity to a table of ``reading`` and ``reference``, in the record's unit
    """

    path: Path
    test: str
    columns: Mapping[str, str]
    units: Mapping[str, str] = field(default_factory=dict)
    finger: str = "1"
    repeat: int = 1
    finger_column: str = ""
    repeat_column: str = ""
    object_column: str = ""
    object_name: str = ""
    preset_angle_deg: float = 0.0
    angle_definition: str = ""
    pressure_kind: str = "gauge"
    ambient_kpa: float = STANDARD_ATMOSPHERE_KPA
    expected_pressure_kpa: float | None = None
    calibrations: Mapping[str, Path] = field(default_factory=dict)
    sheet: str = ""
    delimiter: str = "auto"
    decimal: str = "auto"


def read_records(file: RecordFile) -> list[BenchRecord]:
    """All runs in one file, cleaned; one record for each finger, repeat and object.

    Raises
    ------
    CurveError, ParameterError : a file, mapping or unit that cannot be right; faults that only
        spoil samples are left out and told in ``remarks``
    """
    file = _as_form(file) if not file.columns else file
    _check_mapping(file)
    where = file.path.name
    refuse_swapped_headers(file.columns, where)
    labels = [c for c in (file.finger_column, file.repeat_column, file.object_column) if c]
    table = _table(file, [*file.columns.values(), *labels])
    try:
        parsed = {
            name: parse_cells(
                name, table.text(header), file.units.get(name, ""), decimal=file.decimal
            )
            for name, header in file.columns.items()
        }
    except FiddleheadError as error:
        raise CurveError(
            error.message,
            where=error.where or where,
            found=error.found,
            allowed=error.allowed,
            remedy=error.remedy,
        ) from error
    values = {QUANTITIES[name].record: column.numbers for name, column in parsed.items()}
    notes = tuple(
        f"{name} is written in {', '.join(column.units)}: each cell was read in its own unit"
        for name, column in parsed.items()
        if len(column.units) > 1
    )
    if file.pressure_kind == "absolute" and "pressure_kpa" in values:
        values["pressure_kpa"] = values["pressure_kpa"] - file.ambient_kpa
    corrected, more = _calibrated(file, values)
    values, notes = corrected, (*notes, *more)
    digest = sha256(file.path)
    return [
        _one_record(file, key, rows, values, digest, notes)
        for key, rows in _groups(file, table).items()
    ]


def _as_form(file: RecordFile) -> RecordFile:
    """A filled-in form of ours: its columns carry the names of the records."""
    if file.test not in NEEDED:
        return file
    plain = [name for name in NEEDED[file.test] if name != "angle"]
    table = _table(file, [QUANTITIES[name].record for name in plain])
    columns = {name: q.record for name, q in QUANTITIES.items() if q.record in table.header}
    definition = file.angle_definition
    for angle, header in FORM_ANGLES.items():
        if header in table.header and any(cell.strip() for cell in table.text(header)):
            columns["angle"], definition = header, angle
    finger, repeat, thing = (
        name if name in table.header else "" for name in ("finger", "repeat", "object")
    )
    return replace(
        file,
        columns=columns,
        angle_definition=definition,
        finger_column=finger,
        repeat_column=repeat,
        object_column=thing,
    )


FORM_ANGLES = {angle: f"{angle.replace(' ', '_')}_angle_deg" for angle in ANGLES}
"""A form's angle columns carry the definition in their name."""


def _check_mapping(file: RecordFile) -> None:
    if file.test not in NEEDED:
        raise CurveError(
            "no such test", where=file.path.name, found=repr(file.test), allowed=", ".join(NEEDED)
        )
    missing = [name for name in NEEDED[file.test] if not file.columns.get(name)]
    if missing:
        raise CurveError(
            f"a {file.test} test needs a column for {' and '.join(missing)}",
            where=file.path.name,
            remedy=" ".join(f'Declare {name}_column = "...".' for name in missing),
        )
    if file.columns.get("angle") and file.angle_definition not in ANGLES:
        raise CurveError(
            "the bending angle needs its definition; the two differ by a factor of about two",
            where=file.path.name,
            found=repr(file.angle_definition),
            allowed=" or ".join(map(repr, ANGLES)),
            remedy='Declare angle_definition = "tip tangent" (direction of the tip against that '
            'of the root) or "chord" (direction from the root to the tip).',
        )


def _table(file: RecordFile, columns: list[str]) -> Table:
    if file.path.suffix.lower() in SUFFIXES:
        return read_workbook(file.path, columns, sheet=file.sheet)
    return read_table(file.path, columns, delimiter=file.delimiter)


def _calibrated(
    file: RecordFile, values: dict[str, Float[np.ndarray, " row"]]
) -> tuple[dict[str, Float[np.ndarray, " row"]], list[str]]:
    """Readings with the correction of their sensor's calibration line, and what to say of it."""
    changed, notes = dict(values), []
    for name, path in file.calibrations.items():
        record = QUANTITIES[name].record
        if record not in values:
            continue
        line = read_calibration(path)
        changed[record] = values[record] + line.correction(values[record])
        span = line.highest - line.lowest
        known = values[record][np.isfinite(values[record])]
        if len(known) and (known.max() > line.highest + 0.05 * span or
                           known.min() < line.lowest - 0.05 * span):  # fmt: skip
            notes.append(
                f"{name} goes beyond the readings its sensor was calibrated at "
                f"({line.lowest:.4g} to {line.highest:.4g})"
            )
    return changed, notes


Key = tuple[str, int, str]


def _groups(file: RecordFile, table: Table) -> dict[Key, list[int]]:
    """Row numbers by finger, repeat and object, in the order they first appear."""
    count = len(table.rows)
    fingers = table.text(file.finger_column) if file.finger_column else [file.finger] * count
    repeats = table.text(file.repeat_column) if file.repeat_column else [""] * count
    objects = table.text(file.object_column) if file.object_column else [file.object_name] * count
    groups: dict[Key, list[int]] = {}
    for row, (finger, repeat, thing) in enumerate(zip(fingers, repeats, objects, strict=True)):
        number = _whole(repeat, file, table.rows[row][0]) if repeat else file.repeat
        groups.setdefault((finger.strip() or file.finger, number, thing.strip()), []).append(row)
    return groups


def _whole(text: str, file: RecordFile, line: int) -> int:
    try:
        return int(float(text))
    except ValueError:
        raise CurveError(
            "the number of a repeat must be a whole number",
            where=f"{file.path.name} line {line}, column {file.repeat_column!r}",
            found=repr(text),
        ) from None


def _one_record(
    file: RecordFile,
    key: Key,
    rows: list[int],
    values: Mapping[str, Float[np.ndarray, " row"]],
    digest: str,
    notes: tuple[str, ...],
) -> BenchRecord:
    finger, repeat, thing = key
    record = BenchRecord(
        test=file.test,
        finger=finger,
        repeat=repeat,
        values={name: column[rows] for name, column in values.items()},
        angle_definition=file.angle_definition if "angle" in file.columns else "",
        object_name=thing,
        preset_angle_deg=file.preset_angle_deg,
        source=file.path.name,
        sha256=digest,
        remarks=notes,
    )
    if file.test not in COUNTED:
        refuse_swapped_time(record)
    if "pressure_kpa" in record.values:
        record = odd_angles(one_unit_throughout(record), file.expected_pressure_kpa)
        refuse_odd_pressure(
            record,
            kind=file.pressure_kind,
            ambient_kpa=file.ambient_kpa,
            unit=file.units.get("pressure") or "kPa",
            expected_kpa=file.expected_pressure_kpa,
        )
    needed = tuple(QUANTITIES[name].record for name in NEEDED[file.test])
    timed = ("time_s",) if "time_s" in record.values and file.test not in COUNTED else ()
    return clean(record, tuple(dict.fromkeys((*needed, *timed))))

"""Import of bench records: any columns and units, and every fault told while the rest is kept."""

from __future__ import annotations

import dataclasses
import stat
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from openpyxl import Workbook

from fiddlehead.bench.archive import keep_raw
from fiddlehead.bench.cleaning import spikes
from fiddlehead.bench.quantities import parse_cells
from fiddlehead.bench.read import RecordFile, read_records
from fiddlehead.errors import CurveError, FiddleheadError, ParameterError, StoreError
from tests.bench.made import write_csv

TIME = np.arange(0.0, 60.0, 1.0)
PRESSURE = np.round(np.concatenate([np.linspace(0, 150, 30), np.linspace(150, 0, 30)]), 2)
ANGLE = np.round(0.5 * PRESSURE + 0.01 * np.sin(7.0 * TIME), 3)
COLUMNS = {"time": "t", "pressure": "p", "angle": "bend"}


def file(path: Path, **changes: object) -> RecordFile:
    """The declaration of a bending record."""
    plain = RecordFile(
        path=path,
        test="bend",
        columns=COLUMNS,
        angle_definition="tip tangent",
        expected_pressure_kpa=150.0,
    )
    return dataclasses.replace(plain, **changes)  # type: ignore[arg-type]


def test_units_decimal_commas_and_semicolons(tmp_path: Path) -> None:
    path = write_csv(
        tmp_path / "log.csv",
        "t;p;bend",
        [f"{v:.1f}".replace(".", ",") for v in TIME],
        [f"{v / 100:.4f}".replace(".", ",") for v in PRESSURE],
        [f"{v:.3f}".replace(".", ",") for v in ANGLE],
        mark=";",
    )
    (record,) = read_records(file(path, units={"pressure": "bar"}))
    assert record.values["pressure_kpa"] == pytest.approx(PRESSURE, abs=0.006)
    assert record.values["angle_deg"] == pytest.approx(ANGLE)
    assert record.remarks == ()
    assert len(record.sha256) == 64


def test_fingers_and_repeats_by_column_and_a_workbook(tmp_path: Path) -> None:
    book = Workbook()
    page = book.active
    assert page is not None
    page.append(["made up"])
    page.append(["finger", "run", "t", "p", "bend"])
    for finger in ("A", "B"):
        for run in (1, 2):
            for t, p, a in zip(TIME, PRESSURE, ANGLE, strict=True):
                page.append([finger, run, float(t), float(p), float(a)])
    path = tmp_path / "log.xlsx"
    book.save(path)
    records = read_records(file(path, finger_column="finger", repeat_column="run"))
    assert [(r.finger, r.repeat) for r in records] == [("A", 1), ("A", 2), ("B", 1), ("B", 2)]
    assert all(len(record) == 60 for record in records)
    assert records[3].values["angle_deg"] == pytest.approx(ANGLE)


def test_a_broken_workbook_and_a_missing_sheet_are_told(tmp_path: Path) -> None:
    path = tmp_path / "log.xlsx"
    path.write_bytes(b"not a workbook")
    with pytest.raises(CurveError, match="cannot be read"):
        read_records(file(path))
    Workbook().save(path)
    with pytest.raises(CurveError, match="no such sheet"):
        read_records(file(path, sheet="Tuesday"))


def test_absolute_pressures_become_gauge(tmp_path: Path) -> None:
    path = write_csv(tmp_path / "log.csv", "t,p,bend", TIME, PRESSURE + 100.0, ANGLE)
    (record,) = read_records(file(path, pressure_kind="absolute", ambient_kpa=100.0))
    assert record.values["pressure_kpa"] == pytest.approx(PRESSURE)


def test_a_calibrated_sensor_is_corrected_and_its_range_told(tmp_path: Path) -> None:
    """The sensor reads 2 % high and 1 kPa too much: reference = (reading - 1) / 1.02."""
    read = np.array([1.0, 52.0, 103.0])
    table = write_csv(tmp_path / "cal.csv", "reading,reference", read, (read - 1.0) / 1.02)
    path = write_csv(tmp_path / "log.csv", "t,p,bend", TIME, 1.02 * PRESSURE + 1.0, ANGLE)
    (record,) = read_records(file(path, calibrations={"pressure": table, "force": table}))
    assert record.values["pressure_kpa"] == pytest.approx(PRESSURE, abs=1e-6)
    assert any("beyond the readings" in remark for remark in record.remarks)


def test_every_cell_may_carry_its_unit() -> None:
    parsed = parse_cells("pressure", ["100 kPa", "1.5 bar", "20 psi", "0.1 MPa", "7"], "bar")
    assert parsed.numbers == pytest.approx([100.0, 150.0, 137.895146, 100.0, 700.0])
    assert parsed.units == ("kPa", "bar", "psi", "MPa")
    assert np.isnan(parse_cells("pressure", ["12 apples"]).numbers[0])


def test_clocks_dates_and_temperatures() -> None:
    assert parse_cells("time", ["12:00:00", "12:01:05.5"]).numbers == pytest.approx([0.0, 65.5])
    midnight = parse_cells("time", ["23:59:59", "", "00:00:02"]).numbers
    assert midnight[[0, 2]] == pytest.approx([0.0, 3.0])
    stamps = ["2026-11-25T23:59:58", "2026-11-26 00:00:03"]
    assert parse_cells("time", stamps).numbers == pytest.approx([0.0, 5.0])
    assert parse_cells("temperature", ["296.15"], "K").numbers == pytest.approx([23.0])
    assert parse_cells("temperature", ["73.4"], "degF").numbers == pytest.approx([23.0])
    assert parse_cells("failed", ["yes", "no", "?"]).numbers[:2] == pytest.approx([1.0, 0.0])
    with pytest.raises(ParameterError):
        parse_cells("temperature", ["20"], "kPa")


def test_dropouts_are_left_out_and_counted(tmp_path: Path) -> None:
    angle: list[object] = list(ANGLE)
    angle[10], angle[11] = "", "OVER"
    path = write_csv(tmp_path / "log.csv", "t,p,bend", TIME, PRESSURE, angle)
    (record,) = read_records(file(path))
    assert len(record) == 58
    assert "2 of 60 samples without angle_deg" in record.remarks[0]


def test_a_lone_zero_is_a_dropout_but_a_step_is_not() -> None:
    ramp = np.linspace(0.0, 100.0, 50) + 0.01 * np.cos(np.arange(50.0))
    broken = ramp.copy()
    broken[20] = 0.0
    assert np.flatnonzero(spikes(broken)).tolist() == [20]
    assert not spikes(np.repeat([0.0, 50.0, 100.0], 20)).any()


def test_a_clock_that_jumps_back_keeps_the_longest_run(tmp_path: Path) -> None:
    time = TIME.copy()
    time[40:] -= 39.0
    path = write_csv(tmp_path / "log.csv", "t,p,bend", time, PRESSURE, ANGLE)
    (record,) = read_records(file(path))
    assert len(record) == 40
    assert any("clock jumps back by 38 s" in remark for remark in record.remarks)


def test_one_stamp_out_of_order_costs_one_sample(tmp_path: Path) -> None:
    time = TIME.copy()
    time[25] = 3.0
    path = write_csv(tmp_path / "log.csv", "t,p,bend", time, PRESSURE, ANGLE)
    (record,) = read_records(file(path))
    assert len(record) == 59


def test_a_frozen_sensor_is_told(tmp_path: Path) -> None:
    angle = ANGLE.copy()
    angle[12:25] = angle[12]
    path = write_csv(tmp_path / "log.csv", "t,p,bend", TIME, PRESSURE, angle)
    (record,) = read_records(file(path))
    assert len(record) == 48
    assert any("frozen sensor" in remark for remark in record.remarks)


def test_a_unit_that_changes_in_the_middle_keeps_the_longer_part(tmp_path: Path) -> None:
    pressure = PRESSURE.copy()
    pressure[40:] /= 6.894757
    path = write_csv(tmp_path / "log.csv", "t,p,bend", TIME, pressure, ANGLE)
    (record,) = read_records(file(path))
    assert len(record) == 40
    assert any("from psi to kPa" in remark for remark in record.remarks)


def test_a_unit_that_changes_while_the_finger_rests_is_told(tmp_path: Path) -> None:
    up = np.r_[np.zeros(5), np.linspace(10.0, 100.0, 10), np.linspace(90.0, 0.0, 10)]
    pressure = np.r_[up, up, up / 100.0]
    time = np.arange(len(pressure), dtype=float)
    path = write_csv(tmp_path / "log.csv", "t,p,bend", time, pressure, 0.4 * np.r_[up, up, up])
    (record,) = read_records(file(path))
    assert any("reach only 1 kPa" in r and "from bar to kPa" in r for r in record.remarks)
    assert 50 < len(record) < 60


def test_a_clock_that_jumps_ahead_is_told_and_dwells_are_not(tmp_path: Path) -> None:
    time = TIME.copy()
    time[40:] += 3600.0
    path = write_csv(tmp_path / "log.csv", "t,p,bend", time, PRESSURE, ANGLE)
    (record,) = read_records(file(path))
    assert len(record) == 60
    assert any("1 pause" in remark for remark in record.remarks)
    dwells = np.cumsum(np.where(np.arange(60) % 6 == 0, 30.0, 1.0))
    path = write_csv(tmp_path / "steps.csv", "t,p,bend", dwells, PRESSURE, ANGLE)
    assert read_records(file(path))[0].remarks == ()


def test_swapped_columns_of_neutral_names_are_asked_about(tmp_path: Path) -> None:
    path = write_csv(tmp_path / "log.csv", "t,p,bend", TIME, 0.4 * PRESSURE, PRESSURE)
    (record,) = read_records(file(path, expected_pressure_kpa=float(PRESSURE.max())))
    assert any("swapped?" in remark for remark in record.remarks)
    path = write_csv(tmp_path / "good.csv", "t,p,bend", TIME, PRESSURE, PRESSURE)
    (record,) = read_records(file(path, expected_pressure_kpa=float(PRESSURE.max())))
    assert record.remarks == ()


Change = Callable[[Path], RecordFile]
REFUSED: dict[str, tuple[Change, str]] = {
    "swapped time": (
        lambda p: file(
            write_csv(p, "t,p,bend", PRESSURE, np.arange(60.0), ANGLE),
        ),
        "swapped",
    ),
    "swapped headers": (
        lambda p: file(
            write_csv(p, "time,angle_deg,press_kPa", TIME, ANGLE, PRESSURE),
            columns={"time": "time", "pressure": "angle_deg", "angle": "press_kPa"},
        ),
        "pressure_column = 'press_kPa'",
    ),
    "psi read as kPa": (
        lambda p: file(write_csv(p, "t,p,bend", TIME, PRESSURE / 6.894757, ANGLE)),
        'pressure_unit = "psi"',
    ),
    "bar read as kPa": (
        lambda p: file(write_csv(p, "t,p,bend", TIME, PRESSURE / 100.0, ANGLE)),
        'pressure_unit = "bar"',
    ),
    "absolute read as gauge": (
        lambda p: file(write_csv(p, "t,p,bend", TIME, PRESSURE + 101.0, ANGLE)),
        'pressure_kind = "absolute"',
    ),
    "gauge read as absolute": (
        lambda p: file(write_csv(p, "t,p,bend", TIME, PRESSURE, ANGLE), pressure_kind="absolute"),
        'pressure_kind = "gauge"',
    ),
    "angle of unknown kind": (
        lambda p: file(write_csv(p, "t,p,bend", TIME, PRESSURE, ANGLE), angle_definition=""),
        "needs its definition",
    ),
    "column not declared": (
        lambda p: file(write_csv(p, "t,p", TIME, PRESSURE), columns={"pressure": "p"}),
        'angle_column = "..."',
    ),
    "column not there": (
        lambda p: file(write_csv(p, "t,p,angle", TIME, PRESSURE, ANGLE)),
        "no column named 'bend'",
    ),
    "nothing but dropouts": (
        lambda p: file(write_csv(p, "t,p,bend", TIME, ["-"] * 60, ANGLE)),
        "too few good samples",
    ),
    "unknown test": (
        lambda p: file(write_csv(p, "t,p,bend", TIME, PRESSURE, ANGLE), test="dance"),
        "no such test",
    ),
    "points and commas": (
        lambda p: file(write_csv(p, "t;p;bend", TIME, ["1.000,5"] * 60, ANGLE, mark=";")),
        "decimal mark",
    ),
    "force in bar": (
        lambda p: file(write_csv(p, "t,p,bend", TIME, PRESSURE, ANGLE), units={"pressure": "N"}),
        "does not measure pressure",
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_cannot_be_meant_is_refused_with_the_mend(tmp_path: Path, case: str) -> None:
    make, told = REFUSED[case]
    with pytest.raises(FiddleheadError) as caught:
        read_records(make(tmp_path / "log.csv"))
    assert told in str(caught.value)
    assert "\n" not in str(caught.value)


def test_raw_copies_are_read_only_and_watched(tmp_path: Path) -> None:
    raw = write_csv(tmp_path / "log.csv", "t,p", [0, 1], [2, 3])
    folder = tmp_path / "raw"
    hashes = keep_raw(folder, [raw])
    assert keep_raw(folder, [raw]) == hashes
    (copy,) = folder.iterdir()
    assert copy.name.startswith(hashes["log.csv"][:12])
    assert not copy.stat().st_mode & stat.S_IWUSR
    copy.chmod(0o644)
    copy.write_text("nicer numbers")
    with pytest.raises(StoreError, match="no longer what was measured"):
        keep_raw(folder, [raw])

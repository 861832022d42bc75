"""Workbooks: the one place that opens and writes them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

from fiddlehead.errors import CurveError
from fiddlehead.files import write_whole
from fiddlehead.material.delimited import Table

SUFFIXES = (".xlsx", ".xlsm")


def read_workbook(path: Path, columns: Sequence[str], *, sheet: str = "") -> Table:
    """The rows below the header that holds ``columns``, as text like any other table.

    Parameters
    ----------
    sheet : name of the sheet; the first one that holds the header when empty

    Raises
    ------
    CurveError : no workbook, no such sheet, no such header, no data
    """
    from openpyxl import load_workbook

    try:
        book = load_workbook(path, read_only=True, data_only=True)
    except Exception as error:  # the library raises what the zip and XML layers below it raise
        raise _unreadable(path, error) from error
    try:
        names = [sheet] if sheet else list(book.sheetnames)
        if sheet and sheet not in book.sheetnames:
            raise CurveError(
                "there is no such sheet",
                where=path.name,
                found=repr(sheet),
                allowed=", ".join(map(repr, book.sheetnames)),
            )
        for name in names:
            rows = [
                (number, tuple(_text(cell) for cell in row))
                for number, row in enumerate(book[name].iter_rows(values_only=True), start=1)
            ]
            found = _below_header(path, rows, columns)
            if found is not None:
                return found
    finally:
        book.close()
    raise CurveError(
        f"no sheet has a header with {', '.join(map(repr, columns))} and data below it",
        where=path.name,
        found="sheets " + ", ".join(map(repr, names)),
        remedy="Declare the column names exactly as the header writes them.",
    )


def first_rows(path: Path, count: int) -> list[list[str]]:
    """The first rows of a workbook's first sheet as text, for a look at it.

    Raises
    ------
    CurveError : no workbook
    """
    from openpyxl import load_workbook

    try:
        book = load_workbook(path, read_only=True, data_only=True)
    except Exception as error:
        raise _unreadable(path, error) from error
    try:
        rows = book[book.sheetnames[0]].iter_rows(max_row=count, values_only=True)
        return [[_text(cell) for cell in row] for row in rows]
    finally:
        book.close()


def _unreadable(path: Path, error: Exception) -> CurveError:
    return CurveError(
        "this workbook cannot be read",
        where=str(path),
        found=str(error),
        allowed="a workbook saved as .xlsx (ISO/IEC 29500)",
        remedy="Save it again from your spreadsheet, or export CSV.",
    )


def _below_header(
    path: Path, rows: Sequence[tuple[int, tuple[str, ...]]], columns: Sequence[str]
) -> Table | None:
    for at, (_, cells) in enumerate(rows):
        if all(cells.count(column) == 1 for column in columns):
            data = tuple(row for row in rows[at + 1 :] if any(row[1]))
            return Table(path, cells, data, "") if data else None
    return None


def _text(cell: Any) -> str:
    if cell is None:
        return ""
    if isinstance(cell, datetime | date | time):
        return cell.isoformat()
    if isinstance(cell, float):
        return repr(cell)
    return str(cell).strip()


def write_workbook(path: Path, title: str, head: Sequence[str], columns: Sequence[str]) -> Path:
    """A blank form: lines of words, then a header with room below it.

    Raises
    ------
    StoreError : the place cannot be written
    """
    from openpyxl import Workbook
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    book = Workbook()
    page = book.active
    assert page is not None
    page.title = title[:31]
    for line in head:
        page.append([line])
    page.append(list(columns))
    for number, name in enumerate(columns, start=1):
        page.cell(row=page.max_row, column=number).font = Font(bold=True)
        page.column_dimensions[get_column_letter(number)].width = max(12, len(name) + 2)
    page.freeze_panes = f"A{page.max_row + 1}"
    return write_whole(path, book.save)

"""Delimited text as testing machines write it: to columns of numbers, or a clear refusal.

Comma, semicolon or tab; decimal point or comma; UTF-8 with or without byte-order mark; lines
before the header, comment lines (``#``) and one line of units after the header are passed over.
"""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from jaxtyping import Float

from fiddlehead.errors import CurveError

DELIMITERS = {"semicolon": ";", "tab": "\t", "comma": ","}


@dataclass(frozen=True)
class Table:
    """Rows of text under a header, each with its line number in the file."""

    path: Path
    header: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    delimiter: str

    def text(self, column: str) -> list[str]:
        """One column as text."""
        index = self.header.index(column)
        return [cells[index] if index < len(cells) else "" for _, cells in self.rows]

    def numbers(self, column: str, *, decimal: str = "auto") -> Float[np.ndarray, " row"]:
        """One column as finite numbers.

        Parameters
        ----------
        decimal : ``"."``, ``","`` or ``"auto"`` (told from the cells of this column)

        Raises
        ------
        CurveError : text, an empty cell, NaN or infinity, with its line number
        """
        cells = self.text(column)
        mark = self._decimal_mark(column, cells) if decimal == "auto" else decimal
        values = np.empty(len(cells))
        for i, (cell, (line, _)) in enumerate(zip(cells, self.rows, strict=True)):
            values[i] = self._number(cell, mark, line, column)
        return values

    def _decimal_mark(self, column: str, cells: Sequence[str]) -> str:
        commas = any("," in cell for cell in cells)
        if commas and any("." in cell for cell in cells):
            raise CurveError(
                "this column holds points and commas; which one is the decimal mark?",
                where=f"{self.path.name}, column {column!r}",
                found=next(cell for cell in cells if "," in cell).strip(),
                allowed="one decimal mark and no thousands separator",
                remedy='Export again without thousands separators, or declare decimal = ",".',
            )
        return "," if commas else "."

    def _number(self, cell: str, mark: str, line: int, column: str) -> float:
        text = cell.strip()
        plain = text.replace(",", ".") if mark == "," and "." not in text else text
        try:
            value = float(plain) if "_" not in plain else math.nan
        except ValueError:
            value = math.nan
        if math.isfinite(value):
            return value
        raise CurveError(
            "an empty cell where a number is needed" if not text else "this is not a number",
            where=f"{self.path.name} line {line}, column {column!r}",
            found=repr(text) if text else "nothing",
            allowed=f"a finite number with decimal {'comma' if mark == ',' else 'point'}",
            remedy="Delete this line from the file, or declare the columns that hold numbers.",
        )


def read_table(path: Path, columns: Sequence[str], *, delimiter: str = "auto") -> Table:
    """Find the header holding the declared ``columns`` and split what follows.

    Parameters
    ----------
    path : text file
    columns : names that must stand in the header, as written there
    delimiter : ``"auto"``, ``"comma"``, ``"semicolon"`` or ``"tab"``

    Raises
    ------
    CurveError : missing or empty file, not UTF-8, a column missing or doubled, a short line
    """
    lines = [
        (number, line)
        for number, line in enumerate(_text(path).splitlines(), start=1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    if not lines:
        raise CurveError("the file is empty", where=str(path), remedy="Export the test again.")
    marks = list(DELIMITERS.values()) if delimiter == "auto" else [_mark(delimiter, path)]
    start, mark = _find_header(path, lines, columns, marks)
    header = tuple(_split(lines[start][1], mark))
    for column in columns:
        if header.count(column) > 1:
            raise CurveError(
                "the header names this column more than once",
                where=f"{path.name} line {lines[start][0]}",
                found=repr(column),
                allowed="each declared column once",
                remedy="Rename one of them in the file.",
            )
    rows = [(number, tuple(_split(line, mark))) for number, line in lines[start + 1 :]]
    rows = [row for row in rows if any(cell.strip() for cell in row[1])]
    needed = [header.index(column) for column in columns]
    if rows and _is_units_line([rows[0][1][i] for i in needed if i < len(rows[0][1])]):
        rows = rows[1:]
    if not rows:
        raise CurveError(
            "there is a header but no data below it",
            where=f"{path.name} line {lines[start][0]}",
            remedy="Export the test again.",
        )
    return Table(path, header, tuple(rows), mark)


def _is_units_line(cells: Sequence[str]) -> bool:
    """Words such as ``(mm)`` or ``N/mm2`` under the header, and nothing like data."""
    if any(cell.lower() in ("yes", "no", "true", "false") for cell in cells):
        return False
    numeric = any(re.match(r"[-+.,]*\d|[-+]?(nan|inf)", cell, re.IGNORECASE) for cell in cells)
    return not numeric and any(re.search(r"[^\W\d]|%", cell) for cell in cells)


def _text(path: Path) -> str:
    try:
        raw = path.read_bytes()
    except OSError as error:
        raise CurveError(
            f"cannot read this file: {error.strerror or error}",
            where=str(path),
            remedy="Check the path; it counts from the folder of the project file.",
        ) from error
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise CurveError(
            "this file is not UTF-8 text",
            where=f"{path.name} line {line}",
            found=f"byte 0x{raw[error.start]:02x}",
            allowed="UTF-8 (with or without byte-order mark)",
            remedy="Save it again from your editor or spreadsheet as CSV UTF-8.",
        ) from error


def _mark(delimiter: str, path: Path) -> str:
    if delimiter not in DELIMITERS:
        raise CurveError(
            "unknown delimiter",
            where=path.name,
            found=repr(delimiter),
            allowed="auto, " + ", ".join(DELIMITERS),
        )
    return DELIMITERS[delimiter]


def _split(line: str, mark: str) -> list[str]:
    return [cell.strip() for cell in next(csv.reader([line], delimiter=mark))]


def _find_header(
    path: Path, lines: list[tuple[int, str]], columns: Sequence[str], marks: Sequence[str]
) -> tuple[int, str]:
    best: tuple[int, int, str] = (-1, 0, marks[0])
    for index, (_, line) in enumerate(lines):
        for mark in marks:
            cells = _split(line, mark)
            hits = sum(column in cells for column in columns)
            if hits == len(columns):
                return index, mark
            best = max(best, (hits, index, mark), key=lambda b: b[0])
    missing = [c for c in columns if c not in _split(lines[best[1]][1], best[2])]
    if best[0] == 0:
        best = (0, 0, max(marks, key=lambda mark: lines[0][1].count(mark)))
    raise CurveError(
        f"no column named {', '.join(repr(name) for name in missing)}",
        where=f"{path.name} line {lines[best[1]][0]}",
        found=", ".join(repr(cell) for cell in _split(lines[best[1]][1], best[2])),
        remedy="Declare the column names exactly as the header writes them.",
    )

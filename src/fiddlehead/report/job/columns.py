"""The column dictionary: every column of every table in a package, its unit and its meaning."""

from __future__ import annotations

import csv
import io
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from fiddlehead.fabricate.experiment_factors import FACTORS
from fiddlehead.project.fields import entries
from fiddlehead.project.load import Project
from fiddlehead.project.schema import ProjectFile, tables
from fiddlehead.project.study import ENTRIES
from fiddlehead.study.catalogue import CATALOGUE
from fiddlehead.units import name_without_unit, unit_of_field, written_unit

UNKNOWN = "not described: see the project file, or who made the file"


@dataclass(frozen=True)
class Column:
    """One column of one file."""

    file: str
    name: str
    unit: str
    meaning: str


def columns_of(project: Project, tables: Mapping[str, bytes]) -> tuple[Column, ...]:
    """Describe the columns of CSV files.

    Parameters
    ----------
    tables : content by the file's place in the package
    """
    declared = dict(_declared(project.sections))
    found = []
    for place, content in tables.items():
        known = declared if place.startswith("project/") else {}
        for name in _header(content, set(known)):
            unit, meaning = known.get(name, ("", ""))
            own_unit, own_meaning = described(name)
            found.append(Column(place, name, unit or own_unit, meaning or own_meaning or UNKNOWN))
    return tuple(found)


def _header(content: bytes, wanted: set[str]) -> list[str]:
    """The line that holds a wanted name, else the first that is no comment."""
    lines = content.decode("utf-8-sig", errors="replace").splitlines()
    rows = [_cells(line) for line in lines[:40] if line.strip() and not line.startswith("#")]
    return next((row for row in rows if wanted & set(row)), rows[0] if rows else [])


def _cells(line: str) -> list[str]:
    """One line taken apart at the delimiter it holds most of."""
    delimiter = max(",;\t", key=line.count)
    return [cell.strip() for cell in next(csv.reader(io.StringIO(line), delimiter=delimiter), [])]


def described(name: str) -> tuple[str, str]:
    """Unit and meaning of a column that fiddlehead writes; meaning "" where it writes none such."""
    unit = written_unit(unit_of_field(name))
    columns, beginnings = _dictionary()
    if name in columns:
        told, meaning = columns[name]
        return told or unit, meaning
    for beginning in sorted(beginnings, key=len, reverse=True):
        if name.startswith(beginning):
            what = name_without_unit(name.removeprefix(beginning))
            return unit, f"{beginnings[beginning]}: {what}"
    of_coupons = "print setting the coupon was made with" if name in FACTORS else ""
    return unit, _of_studies().get(name, of_coupons)


@cache
def _of_studies() -> dict[str, str]:
    """What varies and what is found in studies, as the project file and the trials say it."""
    says = {
        (table, entry.name): entry.says for table, model in tables() for entry in entries(model)
    }
    varied = {name: says[place] for name, place in ENTRIES.items()}
    found = {name: says for kind in CATALOGUE.values() for name, says in kind.quantities.items()}
    return varied | found


@cache
def _dictionary() -> tuple[dict[str, list[str]], dict[str, str]]:
    text = (files("fiddlehead.report.job") / "columns.toml").read_text(encoding="utf-8")
    read = tomllib.loads(text)
    return read["columns"], read["beginnings"]


def _declared(sections: ProjectFile) -> Iterator[tuple[str, tuple[str, str]]]:
    """Columns of raw files as the project file declares them: name, unit and meaning."""
    for table in (*sections.material.tests, *sections.bench.records):
        entries: dict[str, Any] = table.model_dump()
        for key, name in entries.items():
            if key.endswith("_column") and name:
                quantity = key.removesuffix("_column")
                unit = str(entries.get(f"{quantity}_unit") or "")
                if quantity == "pressure" and entries.get("pressure_kind"):
                    unit = f"{unit} {entries['pressure_kind']}"
                yield name, (written_unit(unit), f"raw data: {quantity.replace('_', ' ')}")


def as_csv(columns: tuple[Column, ...]) -> bytes:
    """The dictionary as a table of its own."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(("file", "column", "unit", "meaning"))
    writer.writerows((c.file, c.name, c.unit, c.meaning) for c in columns)
    return text.getvalue().encode()

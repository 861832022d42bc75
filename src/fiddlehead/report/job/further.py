"""Results that no section of their own tells: their pictures and small tables, as saved."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator
from pathlib import Path

from fiddlehead.report.document import Block, Picture, Section, Table
from fiddlehead.report.job.parts import PARTS, Job, Part
from fiddlehead.units import name_without_unit, unit_of_field, written_unit

MOST_COLUMNS, MOST_ROWS = 12, 40
"""Larger tables are left to the data package."""


def further_results(job: Job) -> Section | None:
    """One part after the other; None where there is nothing else."""
    told_already = {*PARTS, *(job.found[name].part for name in job.made_by("grasp"))}
    parts = [found.part for found in job.found.values() if found.part not in told_already]
    shown = tuple(_shown(job, part) for part in parts if job.has(part.name))
    told = tuple(section for section in shown if section.blocks)
    return Section("Further results", told) if told else None


def _shown(job: Job, part: Part) -> Section:
    heading = f"{part.tells[:1].upper()}{part.tells[1:]}"
    folder = job.results / part.name
    blocks: list[Block] = []
    for path in sorted(folder.glob("*.png")):
        words = path.stem.replace("_", " ")
        picture = Picture(job.picture(part.name, path.stem), f"{heading}: {words}.")
        blocks.append(picture)
    for path in sorted(folder.glob("*.csv")):
        blocks += _table(path)
    return Section(heading, tuple(blocks))


def _table(path: Path) -> Iterator[Table]:
    """A table that fits on a page."""
    with path.open(encoding="utf-8", newline="") as file:
        header, *rows = csv.reader(file)
    if 0 < len(rows) <= MOST_ROWS and len(header) <= MOST_COLUMNS:
        title = path.name
        yield Table(
            tuple(map(_words, header)), tuple(tuple(map(_cell, row)) for row in rows), title
        )


def _words(name: str) -> str:
    unit = written_unit(unit_of_field(name))
    return f"{name_without_unit(name)}, {unit}" if unit else name_without_unit(name)


def _cell(text: str) -> str:
    try:
        value = float(text)
    except ValueError:
        return text
    return f"{value:.4g}" if math.isfinite(value) else ""

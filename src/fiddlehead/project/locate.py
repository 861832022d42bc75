"""Where an entry stands in a TOML text: key path to line number.

The TOML reader forgets lines; this scan finds them again. It follows table headers, arrays of
tables, dotted and quoted keys, and passes over values that run over several lines.
"""

from __future__ import annotations

import re

Path = tuple[str | int, ...]

_NAME = r"""(?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*')"""
_DOTTED = rf"{_NAME}(?:\s*\.\s*{_NAME})*"
_HEADER = re.compile(rf"^\s*(\[\[?)\s*({_DOTTED})\s*\]")
_ASSIGNMENT = re.compile(rf"^\s*({_DOTTED})\s*=(.*)$")
_STRINGS = re.compile(r'"(?:[^"\\]|\\.)*"' + r"|'[^']*'")


def lines_of(text: str) -> dict[Path, int]:
    """The line (from 1) of every table and every key of a well-formed TOML text.

    Array-of-tables members carry their number in the path: ``("material", "tests", 0, "file")``.
    """
    found: dict[Path, int] = {}
    counts: dict[Path, int] = {}
    table: Path = ()
    lines = text.splitlines()
    number = 0
    while number < len(lines):
        line = lines[number]
        number += 1
        header = _HEADER.match(line)
        assignment = None if header else _ASSIGNMENT.match(line)
        if header:
            table = _numbered(_keys(header[2]), counts)
            if header[1] == "[[":
                counts[table] = counts.get(table, 0) + 1
                table = (*table, counts[table] - 1)
            found.setdefault(table, number)
            found.setdefault(table[:-1], number)
        elif assignment:
            path = table
            for key in _keys(assignment[1]):
                path = (*path, key)
                found.setdefault(path, number)
            number += _lines_that_follow(assignment[2], lines[number:])
    return found


def line_of(lines: dict[Path, int], path: Path) -> int | None:
    """The line of an entry, or of the nearest table around it."""
    for length in range(len(path), 0, -1):
        if path[:length] in lines:
            return lines[path[:length]]
    return None


def _keys(dotted: str) -> tuple[str, ...]:
    return tuple(key.strip().strip("\"'") for key in re.findall(_NAME, dotted))


def _numbered(keys: tuple[str, ...], counts: dict[Path, int]) -> Path:
    """Insert the current member number after every array of tables on the way down."""
    path: Path = ()
    for key in keys[:-1]:
        path = (*path, key)
        if path in counts:
            path = (*path, counts[path] - 1)
    return (*path, keys[-1])


def _lines_that_follow(value: str, rest: list[str]) -> int:
    """How many further lines belong to a value that starts with ``value``."""
    for mark in ('"""', "'''"):
        if value.lstrip().startswith(mark):
            if value.count(mark) >= 2:
                return 0
            ends = (i for i, line in enumerate(rest, 1) if mark in line)
            return next(ends, len(rest))
    depth, used = _depth(value), 0
    while depth > 0 and used < len(rest):
        depth += _depth(rest[used])
        used += 1
    return used


def _depth(line: str) -> int:
    bare = _STRINGS.sub("", line).split("#", 1)[0]
    return sum(bare.count(mark) for mark in "[{") - sum(bare.count(mark) for mark in "]}")

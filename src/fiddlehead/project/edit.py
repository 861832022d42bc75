"""Single entries of a project file changed, its comments and order kept.

A change names an entry by its key path. What is written is read back and compared before it is
given out, so that a change never does more or less than was asked for.
"""

from __future__ import annotations

import copy
import re
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from fiddlehead.errors import ProjectFileError
from fiddlehead.project.locate import Path, lines_of
from fiddlehead.project.validate import dotted, written

HEADER = re.compile(r"^\s*\[")


@dataclass(frozen=True)
class Change:
    """One entry or table with its new value.

    path : ``("finger", "pitch_mm")``, ``("pad",)``, ``("material", "tests", 0)``; a number one past
        the last member adds one
    value : numbers, text, lists, tables; ``None`` takes the entry or table out
    """

    path: Path
    value: Any


def changed(text: str, changes: Iterable[Change]) -> str:
    """The text of a project file after some changes.

    Raises
    ------
    ProjectFileError : the file is no TOML, a path leads nowhere, or the file is written in a way
        in which the change cannot be made safely
    """
    for change in changes:
        text = _changed(text, change)
    return text


def _changed(text: str, change: Change) -> str:
    try:
        wanted = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise _refusal(change, "the file is not valid TOML; mend it first") from error
    _apply(wanted, change)
    found = text if wanted == tomllib.loads(text) else _written(text, change)
    try:
        same = tomllib.loads(found) == wanted
    except tomllib.TOMLDecodeError:
        same = False
    if not same:
        raise _refusal(change, "this entry cannot be changed from here")
    return found


def _apply(data: Any, change: Change) -> None:
    """The same change on plain data."""
    *way, last = change.path
    for key, following in zip(way, change.path[1:], strict=True):
        if isinstance(data, dict) and isinstance(key, str) and key not in data:
            if change.value is None:
                return
            data[key] = [] if isinstance(following, int) else {}
        elif not isinstance(data, dict) and not _member(data, key):
            raise _refusal(change, "there is no such table")
        data = data[key]
    if isinstance(data, dict) and isinstance(last, str):
        if change.value is None:
            data.pop(last, None)
        else:
            data[last] = copy.deepcopy(change.value)
    elif isinstance(data, list) and isinstance(last, int) and 0 <= last <= len(data):
        data[last : last + 1] = [] if change.value is None else [copy.deepcopy(change.value)]
    else:
        raise _refusal(change, "there is no such entry")


def _member(data: Any, key: Any) -> bool:
    return isinstance(data, list) and isinstance(key, int) and 0 <= key < len(data)


def _written(text: str, change: Change) -> str:
    *way, last = change.path
    if change.value is not None and isinstance(change.value, dict):
        return _table_written(text, change)
    if change.value is not None and isinstance(last, str) and not _exists(text, change.path):
        return _inserted(text, tuple(way), last, change.value)
    try:
        document = tomlkit.parse(text)
        place: Any = document
        for key in way:
            place = place[key]
        if change.value is None:
            del place[last]
        else:
            place[last] = change.value
        return tomlkit.dumps(document)
    except (TOMLKitError, KeyError, IndexError, TypeError) as error:
        raise _refusal(change, "this entry cannot be changed from here") from error


def _exists(text: str, path: Path) -> bool:
    place: Any = tomllib.loads(text)
    for key in path:
        if not (isinstance(place, dict) and key in place) and not _member(place, key):
            return False
        place = place[key]
    return True


def _table_written(text: str, change: Change) -> str:
    """A whole table: put in the place of an older one, or added."""
    if _exists(text, change.path):
        old: Any = tomllib.loads(text)
        for key in change.path:
            old = old[key]
        for name in old:
            if name not in change.value:
                text = _changed(text, Change((*change.path, name), None))
        for name, value in change.value.items():
            text = _changed(text, Change((*change.path, name), value))
        return text
    *way, last = change.path
    name = dotted(tuple(key for key in change.path if isinstance(key, str)))
    rows = [f"[[{name}]]" if isinstance(last, int) else f"[{name}]"]
    rows += [f"{key} = {written(value)}" for key, value in change.value.items()]
    lines = text.splitlines()
    at = len(lines)
    if isinstance(last, int) and last > 0:
        at = _end_of_table(lines, lines_of(text)[(*way, last - 1)])
    lines[at:at] = ["", *rows, *([""] if lines[at:] else [])]
    return "\n".join(lines) + "\n"


def _inserted(text: str, table: Path, name: str, value: Any) -> str:
    """A new entry below the others of its table, or where a comment shows it."""
    line = f"{name} = {written(value)}"
    found = lines_of(text)
    lines = text.splitlines()
    if table not in found:
        header = f"[{dotted(table)}]"
        return "\n".join([*lines, "", header, line]) + "\n"
    start = found[table]
    last = max(
        (n for path, n in found.items() if len(path) == len(table) + 1 and path[:-1] == table
         and not HEADER.match(lines[n - 1])),
        default=start,
    )  # fmt: skip
    shown = re.compile(rf"^\s*#\s*{re.escape(name)}\s*=")
    for number in range(start, _end_of_section(lines, start)):
        if shown.match(lines[number]):
            lines[number] = line
            return "\n".join(lines) + "\n"
    after = last
    while after < len(lines) and not _parses("\n".join(lines[last - 1 : after])):
        after += 1  # a value that runs over several lines
    lines.insert(after, line)
    return "\n".join(lines) + "\n"


def _parses(text: str) -> bool:
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return False
    return True


def _end_of_section(lines: list[str], start: int) -> int:
    """Index of the next header below line ``start`` (counted from 1), real or commented out."""
    header = re.compile(r"^\s*(#\s*)?\[\[?[A-Za-z_.]+\]\]?\s*(#.*)?$")
    ends = (n for n in range(start, len(lines)) if header.match(lines[n]))
    return next(ends, len(lines))


def _end_of_table(lines: list[str], start: int) -> int:
    """Index just behind the last entry of the table whose header is line ``start``."""
    ends = (n for n in range(start, len(lines)) if HEADER.match(lines[n]) and _is_header(lines, n))
    end = next(ends, len(lines))
    while end > start and (not lines[end - 1].strip() or lines[end - 1].lstrip().startswith("#")):
        end -= 1
    return end


def _is_header(lines: list[str], number: int) -> bool:
    """A line in brackets may also be part of a list that runs over several lines."""
    return _parses("\n".join(lines[:number]))


def _refusal(change: Change, why: str) -> ProjectFileError:
    return ProjectFileError(
        why,
        where=dotted(change.path),
        found=written(change.value) if change.value is not None else "",
        remedy="Open the project file in an editor and change it there.",
    )

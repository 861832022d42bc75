"""The project file from disk to plain data with lines, or one clear refusal."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from fiddlehead.errors import ProjectFileError
from fiddlehead.project.locate import lines_of
from fiddlehead.project.validate import Source

FILE_NAME = "fiddlehead.toml"


def find_project_file(place: Path) -> Path:
    """The project file named by ``place``: the file itself, or ``fiddlehead.toml`` in the folder.

    Raises
    ------
    ProjectFileError : nothing there
    """
    path = place / FILE_NAME if place.is_dir() else place
    if path.is_file():
        return path
    raise ProjectFileError(
        "there is no project file here",
        where=str(path),
        remedy="Name the folder or file of a project, or write one: fiddlehead new FOLDER",
    )


def read_project_text(path: Path) -> str:
    """The text of a project file.

    Raises
    ------
    ProjectFileError : unreadable or not UTF-8
    """
    try:
        raw = path.read_bytes()
    except OSError as error:
        raise ProjectFileError(
            f"cannot read this file: {error.strerror or error}", where=str(path)
        ) from error
    try:
        return raw.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise ProjectFileError(
            "the file is not UTF-8 text",
            where=f"{path.name} line {line}",
            found=f"byte 0x{raw[error.start]:02x}",
            allowed="UTF-8",
            remedy="Save it again as UTF-8 from your editor.",
        ) from error


def parse(text: str, file: str) -> tuple[dict[str, Any], Source]:
    """Plain data and where each entry stands.

    Raises
    ------
    ProjectFileError : no valid TOML (open standard, version 1.0), with the line
    """
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        place = re.search(r"\s*\(at (?:line (\d+), column \d+|end of document)\)", str(error))
        number = int(place[1]) if place and place[1] else len(text.splitlines())
        lines = text.splitlines()
        raise ProjectFileError(
            "this line cannot be read: " + str(error)[: place.start() if place else None],
            where=f"{file} line {number}",
            found=lines[number - 1].strip() if 0 < number <= len(lines) else "the end of the file",
            remedy='Entries read  name = value;  text stands in "quotation marks"; each name once.',
        ) from error
    return data, Source(file, lines_of(text))

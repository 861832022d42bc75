"""Documents to read, print and sign: plain data here, drawn as a page or as a PDF.

Everything a document says is data first (:class:`Sheet`), so that tests read numbers and not
markup, and so that the HTML page and the PDF say the same.
"""

from __future__ import annotations

import base64
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from fiddlehead.air.cautions import CAUTIONS
from fiddlehead.errors import StoreError

if TYPE_CHECKING:
    from jinja2 import Template

_NUMBER = re.compile(r"[-−+]?[\d.,]+(e[-+]?\d+)?( ?(%|°))?")
_EMBEDDED = {".svg": "image/svg+xml", ".png": "image/png"}


@dataclass(frozen=True)
class Table:
    """Rows under a header; every cell is text. The first column names the row.

    title : what the table shows, where its heading does not say it
    """

    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    title: str = ""

    kind = "table"

    @property
    def numeric(self) -> tuple[bool, ...]:
        """Which columns hold numbers only and are set flush right."""
        columns = zip(*self.rows, strict=True)
        return tuple(all(_NUMBER.fullmatch(cell) for cell in column) for column in columns)


@dataclass(frozen=True)
class Picture:
    """A picture beside the document, what it shows, and the same in words for who cannot see it.

    file : path from the folder of the document
    """

    file: str
    shows: str
    words: str = ""

    kind = "picture"

    @property
    def alternative(self) -> str:
        """The text that stands for the picture."""
        return self.words or self.shows


@dataclass(frozen=True)
class Steps:
    """Numbered instructions."""

    lines: tuple[str, ...]

    kind = "steps"


@dataclass(frozen=True)
class Points:
    """Statements that stand side by side."""

    lines: tuple[str, ...]

    kind = "points"


@dataclass(frozen=True)
class Note:
    """Something the reader must not miss."""

    text: str

    kind = "note"


@dataclass(frozen=True)
class Headline:
    """The numbers everybody looks for first: value and what it is."""

    values: tuple[tuple[str, str], ...]

    kind = "headline"


@dataclass(frozen=True)
class Section:
    """A heading with what belongs to it; plain text is a paragraph."""

    heading: str
    blocks: tuple[Block, ...]

    kind = "section"


Block = str | Table | Picture | Steps | Points | Note | Headline | Section


@dataclass(frozen=True)
class Sheet:
    """One document. The cautions about compressed air end every one.

    contents : whether a table of contents stands before the first section
    """

    title: str
    subtitle: str
    sections: tuple[Section, ...]
    cautions: tuple[str, ...] = CAUTIONS
    contents: bool = False


def pictures_of(sheet: Sheet) -> Iterator[Picture]:
    """Every picture of a document, in order."""
    yield from _pictures(sheet.sections)


def _pictures(blocks: tuple[Block, ...]) -> Iterator[Picture]:
    for block in blocks:
        if isinstance(block, Picture):
            yield block
        elif isinstance(block, Section):
            yield from _pictures(block.blocks)


def html(sheet: Sheet, embed_from: Path | None = None) -> str:
    """The document as one page of HTML 5 without scripts or outside parts.

    Parameters
    ----------
    embed_from : folder that pictures are read from, to put them into the page; None leaves them
        beside it

    Raises
    ------
    StoreError : a picture cannot be read
    """
    sources = {
        picture.file: picture.file if embed_from is None else _embedded(embed_from / picture.file)
        for picture in pictures_of(sheet)
    }
    return _template().render(sheet=sheet, source=sources)


@cache
def _template() -> Template:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    surroundings = Environment(
        loader=PackageLoader("fiddlehead.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    return surroundings.get_template("page.html")


def _embedded(path: Path) -> str:
    return f"data:{_EMBEDDED[path.suffix]};base64,{base64.b64encode(read_picture(path)).decode()}"


def read_picture(path: Path) -> bytes:
    """The bytes of a picture.

    Raises
    ------
    StoreError : it is not there
    """
    try:
        return path.read_bytes()
    except OSError as error:
        raise StoreError(
            "this picture cannot be read",
            where=str(path),
            found=error.strerror or str(error),
            remedy="Run the command that draws it again.",
        ) from error

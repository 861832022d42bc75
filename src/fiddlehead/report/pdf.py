"""A document as PDF: laid out by the typesetter, pictures as vectors, tagged for screen readers.

The same document and date give the same bytes. The file claims PDF/UA-1 (ISO 14289-1): headings,
tables and alternative texts are marked, and the typesetter refuses what would break the claim.
"""

from __future__ import annotations

import json
from dataclasses import asdict
from datetime import UTC, date, datetime
from importlib.resources import files
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from fiddlehead.errors import StoreError
from fiddlehead.files import write_bytes, write_text
from fiddlehead.report.document import Block, Section, Sheet, Table, pictures_of, read_picture

LAYOUT = "page.typ"


def pdf(sheet: Sheet, folder: Path, day: str) -> bytes:
    """Set a document on A4.

    Parameters
    ----------
    folder : pictures are read from here
    day : the document's date, ISO 8601

    Raises
    ------
    StoreError : a picture cannot be read or is damaged
    """
    import typst
    from matplotlib import get_data_path

    written = datetime.combine(date.fromisoformat(day[:10]), datetime.min.time(), UTC)
    with TemporaryDirectory(prefix="fiddlehead-") as place:
        room = Path(place)
        layout = files("fiddlehead.report") / "templates" / LAYOUT
        write_text(room / LAYOUT, layout.read_text(encoding="utf-8"))
        write_text(room / "document.json", json.dumps(_plain(sheet), ensure_ascii=False))
        for picture in pictures_of(sheet):
            write_bytes(room / "pictures" / picture.file, read_picture(folder / picture.file))
        try:
            made = typst.compile(
                room / LAYOUT,
                root=room,
                format="pdf",
                font_paths=[Path(get_data_path()) / "fonts" / "ttf"],
                ignore_system_fonts=True,
                pdf_standards="ua-1",
                timestamp=written,
            )
        except typst.TypstError as error:
            raise StoreError(
                "the document cannot be set",
                where=str(folder),
                found=str(error.message),
                remedy="If a picture is damaged, run the command that draws it again.",
            ) from error
    return bytes(made)


def _plain(sheet: Sheet) -> dict[str, Any]:
    return {
        "title": sheet.title,
        "subtitle": sheet.subtitle,
        "contents": sheet.contents,
        "sections": [_part(section) for section in sheet.sections],
        "cautions": list(sheet.cautions),
    }


def _part(block: Block) -> dict[str, Any]:
    if isinstance(block, str):
        return {"kind": "paragraph", "text": block}
    if isinstance(block, Section):
        blocks = [_part(inner) for inner in block.blocks]
        return {"kind": block.kind, "heading": block.heading, "blocks": blocks}
    more = {"numeric": list(block.numeric)} if isinstance(block, Table) else {}
    return {"kind": block.kind, **asdict(block), **more}

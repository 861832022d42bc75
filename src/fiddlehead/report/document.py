"""Sheets to read, print and sign: one HTML page without scripts or outside parts.

Pictures lie beside the page and are named in it. Everything a sheet says is plain data first
(:class:`Sheet`), so that tests read numbers and not markup.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from fiddlehead.air.cautions import CAUTIONS


@dataclass(frozen=True)
class Table:
    """Rows under a header; every cell is text."""

    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Picture:
    """A picture beside the page, and what it shows."""

    file: str
    shows: str


@dataclass(frozen=True)
class Steps:
    """Numbered instructions."""

    lines: tuple[str, ...]


Block = str | Table | Picture | Steps


@dataclass(frozen=True)
class Section:
    """A heading with what belongs to it; plain text is a paragraph."""

    heading: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True)
class Sheet:
    """One document. The cautions about compressed air end every one."""

    title: str
    subtitle: str
    sections: tuple[Section, ...]
    cautions: tuple[str, ...] = CAUTIONS


_STYLE = """\
body { font: 10.5pt/1.45 "DejaVu Sans", Arial, sans-serif; color: #22303c; max-width: 190mm;
  margin: 12mm auto; padding: 0 6mm; }
h1 { font-size: 17pt; margin: 0; } h2 { font-size: 12pt; margin: 7mm 0 2mm;
  border-bottom: 0.3mm solid #8a96a0; } .sub { color: #5d6973; margin: 1mm 0 0; }
table { border-collapse: collapse; width: 100%; margin: 2mm 0; } th, td { text-align: left;
  vertical-align: top; padding: 1mm 2mm; border-bottom: 0.2mm solid #dfe4e8; }
th { background: #f3f5f7; } img { max-width: 100%; } figure { margin: 3mm 0; }
figcaption { font-size: 9pt; color: #5d6973; }
.caution { border: 0.6mm solid #d55e00; padding: 1mm 4mm 2mm; margin-top: 7mm; }
.caution h2 { border: 0; margin: 2mm 0 1mm; } li { margin: 0.6mm 0; }
h2, figure, table, .caution { break-inside: avoid; } @page { size: A4; margin: 12mm; }
"""


def html(sheet: Sheet) -> str:
    """The sheet as one page of HTML 5."""
    body = [f"<h1>{escape(sheet.title)}</h1>", f'<p class="sub">{escape(sheet.subtitle)}</p>']
    for section in sheet.sections:
        body.append(f"<h2>{escape(section.heading)}</h2>")
        body += [_block(block) for block in section.blocks]
    lines = "".join(f"<li>{escape(line)}</li>" for line in sheet.cautions)
    body.append(f'<div class="caution"><h2>Cautions</h2><ul>{lines}</ul></div>')
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f"<title>{escape(sheet.title)}</title>\n<style>\n{_STYLE}</style>\n</head>\n<body>\n"
        + "\n".join(body)
        + "\n</body>\n</html>\n"
    )


def _block(block: Block) -> str:
    if isinstance(block, str):
        return f"<p>{escape(block)}</p>"
    if isinstance(block, Picture):
        name, shows = escape(block.file, quote=True), escape(block.shows, quote=True)
        return f'<figure><img src="{name}" alt="{shows}"><figcaption>{shows}</figcaption></figure>'
    if isinstance(block, Steps):
        return "<ol>" + "".join(f"<li>{escape(line)}</li>" for line in block.lines) + "</ol>"
    head = _row(block.header, "th") if any(block.header) else ""
    return f"<table>{head}{''.join(_row(row, 'td') for row in block.rows)}</table>"


def _row(cells: Sequence[str], tag: str) -> str:
    return "<tr>" + "".join(f"<{tag}>{escape(cell)}</{tag}>" for cell in cells) + "</tr>"

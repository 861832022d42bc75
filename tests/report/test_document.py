"""Pages: contrast in both schemes, tables, and what the typesetter refuses."""

from __future__ import annotations

import re
from importlib.resources import files
from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader

from fiddlehead.errors import StoreError
from fiddlehead.report.document import (
    Headline,
    Note,
    Picture,
    Points,
    Section,
    Sheet,
    Steps,
    Table,
    html,
)
from fiddlehead.report.pdf import pdf

DAY = "2026-11-25"
STYLE = (files("fiddlehead.report") / "templates" / "page.css").read_text(encoding="utf-8")
DOT = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="20" height="10">'
    '<rect width="9" height="9"/></svg>'
)


def luminance(colour: str) -> float:
    """Relative luminance (WCAG 2.2, W3C 2023)."""
    parts = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_contrast_is_measured_right() -> None:
    assert contrast("#ffffff", "#000000") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)  # WebAIM's example


def test_text_stands_out_in_light_and_dark() -> None:
    """At least 4.5 to 1 (WCAG 2.2, 1.4.3, level AA)."""
    schemes = re.findall(r":root \{(.*?)\}", STYLE, re.DOTALL)
    assert len(schemes) == 3  # light, dark, print
    for scheme in schemes:
        colour = dict(re.findall(r"--([\w-]+): (#\w{6})", scheme))
        for ink, paper in (
            ("ink", "paper"), ("quiet", "paper"), ("mark", "paper"), ("warn", "paper"),
            ("ink", "tint"), ("ink", "warn-tint"),
        ):  # fmt: skip
            assert contrast(colour[ink], colour[paper]) >= 4.5, (ink, paper, scheme)


def everything(title: str = "All kinds") -> Sheet:
    """A document with every kind of block, and with characters that mean something to markup."""
    inner = Section("Within # *", (Points(("one", "two")), Note("mind $x$ <b>")))
    table = Table(("what", "a_1"), (("x & y", "1.5"), ("#set page()", "-2")), "A table [1]")
    blocks = ("a < b", table, Picture("dot.svg", "A dot"), Steps(("do", "check")),
              Headline((("65°", "angle"),)), inner)  # fmt: skip
    return Sheet(title, "sub", (Section("First", blocks),), cautions=("mind",), contents=True)


def test_numbers_stand_flush_right() -> None:
    assert everything().sections[0].blocks[1].numeric == (False, True)  # type: ignore[union-attr]
    page = html(everything())
    assert '<td class="number">1.5</td>' in page
    assert '<th scope="row">x &amp; y</th>' in page


def test_markup_in_text_stays_text(tmp_path: Path) -> None:
    (tmp_path / "dot.svg").write_text(DOT)
    made = PdfReader(BytesIO(pdf(everything(), tmp_path, DAY)))
    text = "".join(page.extract_text() for page in made.pages)
    for shown in ("#set page()", "mind $x$ <b>", "A table [1]", "Within # *"):
        assert shown in text
    assert "&lt;b&gt;" in html(everything())


def test_a_missing_picture_is_told(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match=r"dot\.svg"):
        html(everything(), embed_from=tmp_path)
    with pytest.raises(StoreError, match=r"dot\.svg"):
        pdf(everything(), tmp_path, DAY)

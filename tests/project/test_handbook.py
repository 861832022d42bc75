"""The handbook's tables are those of the code."""

from __future__ import annotations

from pathlib import Path

from fiddlehead.cli.codes import EXIT_CODES
from fiddlehead.project.example import table_markdown

DOCS = Path(__file__).resolve().parents[2] / "docs"


def test_project_file_page_holds_the_table_of_entries() -> None:
    assert table_markdown() in (DOCS / "project-file.md").read_text(encoding="utf-8")


def test_command_line_page_holds_the_exit_codes() -> None:
    page = (DOCS / "command-line.md").read_text(encoding="utf-8")
    assert "\n".join(f"| {code} | {text} |" for code, text in EXIT_CODES.items()) in page

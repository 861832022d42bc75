"""Builds the handbook's site from the same files that people read in the repository.

Pictures that live outside ``docs/`` are brought in; other links out of it name the file instead.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from mkdocs.structure.files import File, Files

RUN = re.compile(r"^```(\w+) run(?: slow)?$", re.MULTILINE)
ROOT = Path(__file__).resolve().parents[1]
OUTSIDE = re.compile(r"(!?)\[([^\]]*)\]\(((?:\.\./)+)([^)#]+)(#[^)]*)?\)")


def on_files(files: Files, config: Any) -> Files:
    """Add pictures that pages show from outside the handbook's folder."""
    for page in files.documentation_pages():
        text = Path(page.abs_src_path).read_text(encoding="utf-8")
        for picture in (m[4] for m in OUTSIDE.finditer(text) if m[1]):
            if files.get_file_from_path(_kept(picture)) is None:
                source = str(ROOT / picture)
                files.append(File.generated(config, _kept(picture), abs_src_path=source))
    return files


def on_page_markdown(markdown: str, page: Any, **_: Any) -> str:
    """Point pictures to where they were put, write other places as plain names, and show blocks
    that the tests run like any other."""
    markdown = RUN.sub(r"```\1", markdown)
    if page.file.src_uri.startswith("reference/"):
        return markdown
    return OUTSIDE.sub(_brought_in, markdown)


def _brought_in(link: re.Match[str]) -> str:
    return f"![{link[2]}]({_kept(link[4])})" if link[1] else f"{link[2]} (`{link[4]}`)"


def _kept(picture: str) -> str:
    return f"images/{Path(picture).name}"

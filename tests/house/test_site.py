"""The handbook's site: it builds from the same files, lists every page, and needs no network."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
import yaml

import fiddlehead

ROOT = Path(__file__).resolve().parents[2]
DOCS = ROOT / "docs"
PACKAGE = Path(fiddlehead.__file__).parent
OUTSIDE = re.compile(r"""<(?:script|link|img)[^>]*(?:src|href)=["'](?:https?:)?//""")


def listed(entries: object) -> set[str]:
    """Every page a navigation names."""
    if isinstance(entries, str):
        return {entries}
    inner = entries.values() if isinstance(entries, dict) else entries
    return set().union(*map(listed, inner))  # type: ignore[call-overload]


def test_navigation_lists_every_page() -> None:
    settings = yaml.safe_load((ROOT / "mkdocs.yml").read_text(encoding="utf-8"))
    assert listed(settings["nav"]) == {p.relative_to(DOCS).as_posix() for p in DOCS.rglob("*.md")}


def test_every_room_has_a_reference_page() -> None:
    rooms = {path.parent.name for path in PACKAGE.glob("*/__init__.py")}
    rooms |= {path.stem for path in PACKAGE.glob("*.py")} - {"__init__"}
    pages = {page.stem: page.read_text(encoding="utf-8") for page in DOCS.glob("reference/*.md")}
    assert set(pages) == rooms
    assert all(f"\n::: fiddlehead.{room}\n" in text for room, text in pages.items())


@pytest.mark.slow
def test_the_site_builds_and_stands_alone(tmp_path: Path) -> None:
    made = subprocess.run(
        [sys.executable, "-m", "mkdocs", "build", "--strict", "--quiet", "-d", str(tmp_path)],
        cwd=ROOT,
        env={**os.environ, "NO_MKDOCS_2_WARNING": "1"},
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    assert made.returncode == 0, made.stdout + made.stderr
    pages = {p.relative_to(tmp_path).as_posix(): p.read_text() for p in tmp_path.rglob("*.html")}
    assert [name for name, text in pages.items() if OUTSIDE.search(text)] == []
    assert "Drucker" in pages["material.html"]
    assert "fit_law" in pages["reference/material.html"]
    assert "MaterialCard" in pages["reference/material.html"]
    assert "console run" not in pages["first-finger.html"]
    assert (tmp_path / "images" / "growth.png").is_file()  # brought in from benchmarks/results

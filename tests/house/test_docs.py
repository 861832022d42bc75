"""What README and handbook show is run, and every link leads somewhere.

A fenced block whose first line is ```` ```python run ```` is executed as a program of its own;
```` ```console run ```` holds commands after ``$`` and, below each, text its output must contain
(``...`` stands for anything in between). The word ``slow`` after ``run`` marks a page as slow.
Blocks of one page run in order in one folder that holds a copy of ``examples/``.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import NamedTuple

import pytest

ROOT = Path(__file__).resolve().parents[2]
PAGES = [ROOT / "README.md", ROOT / "CONTRIBUTING.md", *sorted((ROOT / "docs").rglob("*.md"))]
FENCE = re.compile(r"^```(\w+) run( slow)?\n(.*?)^```$", re.MULTILINE | re.DOTALL)
LINK = re.compile(r"!?\[[^\]]*\]\(([^)\s]+)\)")


class Block(NamedTuple):
    """One runnable block: its language, its text, and whether it takes long."""

    language: str
    text: str
    slow: bool


def blocks(page: str) -> list[Block]:
    """The runnable blocks of a page in order."""
    return [Block(m[1], m[3], bool(m[2])) for m in FENCE.finditer(page)]


def commands(text: str) -> list[tuple[str, list[str]]]:
    """Commands of a console block, each with the pieces of output shown below it."""
    found: list[tuple[str, list[str]]] = []
    for line in text.splitlines():
        if line.startswith("$ "):
            found.append((line[2:], []))
        elif line.strip() and line.strip() != "...":
            found[-1][1].extend(piece.strip() for piece in line.split("...") if piece.strip())
    return found


def run(program: list[str], folder: Path) -> str:
    """Run a program in ``folder`` with this environment's scripts first; returns what it says."""
    path = os.pathsep.join([str(Path(sys.executable).parent), os.environ["PATH"]])
    result = subprocess.run(
        program,
        cwd=folder,
        env={**os.environ, "PATH": path},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        timeout=900,
        check=False,
    )
    assert result.returncode == 0, f"{program[-1]}\n{result.stdout}"
    return result.stdout


def execute(block: Block, folder: Path) -> None:
    """Run one block; fails when a program does, or when shown output does not appear."""
    if block.language == "python":
        run([sys.executable, "-W", "error", "-c", block.text], folder)
        return
    for command, shown in commands(block.text):
        said = run(["bash", "-c", command], folder)
        at = 0
        for piece in shown:
            at = said.find(piece, at)
            assert at >= 0, f"$ {command}\nshows {piece!r}, got:\n{said}"


def runnable_pages() -> list[object]:
    """Pages with something to run, slow ones marked."""
    chosen = []
    for page in PAGES:
        found = blocks(page.read_text(encoding="utf-8"))
        marks = [pytest.mark.slow] if any(block.slow for block in found) else []
        if found:
            chosen.append(pytest.param(page, id=page.relative_to(ROOT).as_posix(), marks=marks))
    return chosen


@pytest.mark.parametrize("page", runnable_pages())
def test_page_runs(page: Path, tmp_path: Path) -> None:
    shutil.copytree(ROOT / "examples", tmp_path / "examples", dirs_exist_ok=True)
    for block in blocks(page.read_text(encoding="utf-8")):
        execute(block, tmp_path)


def test_readme_and_handbook_have_something_to_run() -> None:
    assert blocks((ROOT / "README.md").read_text(encoding="utf-8"))
    assert any(blocks(page.read_text(encoding="utf-8")) for page in (ROOT / "docs").glob("*.md"))


@pytest.mark.parametrize(
    "text",
    [
        "```python run\nassert 1 == 2\n```\n",
        "```console run\n$ false\n```\n",
        "```console run\n$ echo one\ntwo\n```\n",
        "```console run\n$ echo one two\ntwo ... one\n```\n",
    ],
)
def test_a_wrong_example_is_noticed(text: str, tmp_path: Path) -> None:
    (block,) = blocks(text)
    with pytest.raises(AssertionError):
        execute(block, tmp_path)


def test_a_right_example_passes(tmp_path: Path) -> None:
    page = "```python run\nassert 2 == 2\n```\n```console run slow\n$ echo a b c\na ... c\n```\n"
    python, console = blocks(page)
    assert (python.slow, console.slow) == (False, True)
    execute(python, tmp_path)
    execute(console, tmp_path)


def broken_links(page: Path) -> list[str]:
    """Relative links of a page that lead nowhere."""
    targets = LINK.findall(page.read_text(encoding="utf-8"))
    local = [target.split("#")[0] for target in targets if "://" not in target]
    return [target for target in local if target and not (page.parent / target).exists()]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.relative_to(ROOT).as_posix())
def test_links_lead_somewhere(page: Path) -> None:
    assert broken_links(page) == []


def test_a_broken_link_is_noticed(tmp_path: Path) -> None:
    page = tmp_path / "page.md"
    page.write_text("[here](page.md#top) ![gone](images/none.png)\n", encoding="utf-8")
    assert broken_links(page) == ["images/none.png"]


def test_every_handbook_page_is_listed() -> None:
    listing = (ROOT / "docs/README.md").read_text(encoding="utf-8")
    pages = {page.name for page in (ROOT / "docs").glob("*.md")} - {"README.md"}
    assert {page for page in pages if f"({page})" not in listing} == set()

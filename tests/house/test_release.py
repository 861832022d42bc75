"""What is shipped agrees with itself: versions, pins, install files."""

from __future__ import annotations

import re
import tomllib
from importlib import metadata
from pathlib import Path

import pytest

import fiddlehead
from tests.house import gates

ROOT = Path(__file__).resolve().parents[2]
INSTALL_FILES = [
    "constraints.txt",
    "pyproject.toml",
    "Makefile",
    ".ci/run",
    "hatch_build.py",
    "frontend/package.json",
    "frontend/package-lock.json",
    "frontend/.npmrc",
]
PIN = re.compile(r"[A-Za-z0-9_.-]+==[A-Za-z0-9_.!+-]+( ; .+)?")


def project() -> dict:
    """The project table of pyproject.toml."""
    return tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]


def newest_release(changelog: str) -> str:
    """The first numbered heading of a changelog."""
    found = re.search(r"^## \[(\d+\.\d+\.\d+)\] - \d{4}-\d{2}-\d{2}$", changelog, re.MULTILINE)
    assert found, "no release heading"
    return found.group(1)


def canonical(name: str) -> str:
    """A package name in the one spelling that indexes compare by."""
    return re.sub(r"[-_.]+", "-", name).lower()


def pins() -> dict[str, str]:
    """Pinned versions by canonical name."""
    lines = (ROOT / "constraints.txt").read_text(encoding="utf-8").splitlines()
    pinned = [line.split(";")[0].strip() for line in lines if line and not line.startswith("#")]
    return {canonical(line.split("==")[0]): line.split("==")[1] for line in pinned}


def test_version_is_told_once() -> None:
    changelog = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
    assert fiddlehead.__version__ == project()["version"] == newest_release(changelog)


def test_newest_release_is_the_first_heading() -> None:
    text = "# Changelog\n\n## [Unreleased]\n\n## [0.3.0] - 2027-01-02\n\n## [0.2.0] - 2026-12-01\n"
    assert newest_release(text) == "0.3.0"


@pytest.mark.parametrize("name", INSTALL_FILES)
def test_install_files_name_no_host(name: str) -> None:
    assert gates.registry_hosts(ROOT / name) == []


@pytest.mark.parametrize(
    "line", ["--index-url x", "-r more.txt", "numpy @ file:x", "# see https" + "://x"]
)
def test_a_named_host_is_noticed(tmp_path: Path, line: str) -> None:
    planted = tmp_path / "constraints.txt"
    planted.write_text(f"numpy==2.4.6\n{line}\n", encoding="utf-8")
    assert len(gates.registry_hosts(planted)) == 1


def test_constraints_are_names_and_versions_only() -> None:
    lines = (ROOT / "constraints.txt").read_text(encoding="utf-8").splitlines()
    odd = [line for line in lines if line and line[0] != "#" and not PIN.fullmatch(line)]
    assert odd == []


def test_everything_asked_for_is_pinned() -> None:
    extras = project()["optional-dependencies"].values()
    asked = [*project()["dependencies"], *(need for extra in extras for need in extra)]
    names = {canonical(re.match(r"[A-Za-z0-9_.-]+", need).group()) for need in asked}
    assert names - set(pins()) == set()


def test_pins_are_what_runs_here() -> None:
    """The tests vouch for the pinned releases only if they run with them."""
    installed = {canonical(d.name): d.version for d in metadata.distributions()}
    shared = set(pins()) & set(installed)
    assert {name: installed[name] for name in shared} == {name: pins()[name] for name in shared}


def test_the_page_fetches_exactly_what_is_written_down() -> None:
    """Every library of the page is named with one version, and the lock file has its digest."""
    import json

    asked = json.loads((ROOT / "frontend/package.json").read_text())["devDependencies"]
    lock = json.loads((ROOT / "frontend/package-lock.json").read_text())["packages"]
    assert lock.pop("")["devDependencies"] == asked
    assert all(re.fullmatch(r"\d+\.\d+\.\d+", version) for version in asked.values())
    assert {name: lock[f"node_modules/{name}"]["version"] for name in asked} == asked
    assert all(one["integrity"].startswith("sha512-") for one in lock.values())


def test_third_party_code_of_the_page_is_not_committed() -> None:
    ignored = (ROOT / ".gitignore").read_text().splitlines()
    assert "src/fiddlehead/web/static/vendor/" in ignored
    assert "node_modules/" in ignored
    own = list((ROOT / "src/fiddlehead/web/static/app").rglob("*.js"))
    long = {path.name: n for path in own if (n := len(path.read_text().splitlines())) > 300}
    assert own
    assert long == {}

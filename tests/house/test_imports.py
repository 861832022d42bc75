"""Imports run downhill, and the first screen comes up without the heavy libraries."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

import fiddlehead

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = Path(fiddlehead.__file__).parent
HEAVY = ("jax", "matplotlib", "scipy")
RECORDS = sorted(
    ".".join(path.relative_to(PACKAGE.parent).with_suffix("").parts)
    for path in PACKAGE.rglob("records.py")
)

UPHILL: list[tuple[str, str, str]] = [
    ("downhill", "errors.py", "import fiddlehead.material"),
    ("downhill", "mesh/__init__.py", "import fiddlehead.trials"),
    ("downhill", "finger/__init__.py", "import fiddlehead.material"),
    ("downhill", "trials/__init__.py", "def later():\n    import fiddlehead.report"),
    ("downhill", "loft/__init__.py", "x = 1"),
    ("mechanics-is-blind", "mechanics/__init__.py", "import fiddlehead.finger"),
    ("mechanics-is-blind", "mechanics/__init__.py", "import fiddlehead.material.fit"),
    ("mesh-is-blind", "mesh/__init__.py", "import fiddlehead.material.laws"),
    ("report-reads-records", "report/__init__.py", "import fiddlehead.mechanics"),
    ("report-reads-records", "report/__init__.py", "import jax"),
    ("faces-own-click", "trials/__init__.py", "import click"),
    ("report-owns-drawing", "trials/__init__.py", "import matplotlib.pyplot"),
    ("report-owns-drawing", "cli/__init__.py", "import meshio"),
    ("bench-reads-records", "bench/compare.py", "import fiddlehead.trials.bend"),
    ("bench-owns-vision", "report/__init__.py", "import cv2"),
    ("fabricate-owns-solids", "report/__init__.py", "def later():\n    import manifold3d"),
    ("downhill", "grasp/__init__.py", "import fiddlehead.bench"),
    ("study-owns-searching", "report/__init__.py", "def later():\n    import sklearn"),
    ("web-owns-the-server", "cli/__init__.py", "import starlette"),
    ("web-reads-records", "web/__init__.py", "import jax"),
    ("judges-stay-outside", "mechanics/__init__.py", "import ngsolve"),
]


def contracts() -> dict[str, str]:
    """Contract names by their ids, as pyproject.toml states them."""
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    return {c["id"]: c["name"] for c in settings["tool"]["importlinter"]["contracts"]}


def run_python(source: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """A fresh Python that finds the package in ``source`` first."""
    environment = {**os.environ, "PYTHONPATH": str(source), "COLUMNS": "500"}
    return subprocess.run(
        [sys.executable, *arguments],
        cwd=source.parent,
        env=environment,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


def lint(source: Path, contract: str | None = None) -> subprocess.CompletedProcess[str]:
    """Run the import contracts of this repository over the package in ``source``."""
    command = "from importlinter.cli import lint_imports_command as c; c()"
    chosen = ["--contract", contract] if contract else []
    config = ["--no-cache", "--no-logo", "--config", str(ROOT / "pyproject.toml")]
    return run_python(source, "-c", command, *config, *chosen)


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """A copy of the package to plant offences in; returns the folder that holds it."""
    source = tmp_path / "src"
    shutil.copytree(PACKAGE, source / "fiddlehead", ignore=shutil.ignore_patterns("__pycache__"))
    return source


def add(source: Path, place: str, line: str) -> None:
    """Append a line to a module of the copy, which is made where it is missing."""
    module = source / "fiddlehead" / place
    module.parent.mkdir(exist_ok=True)
    before = module.read_text(encoding="utf-8") if module.exists() else ""
    module.write_text(f"{before}\n{line}\n", encoding="utf-8")


def test_contracts_hold() -> None:
    result = lint(PACKAGE.parent)
    assert result.returncode == 0, result.stdout + result.stderr


@pytest.mark.parametrize(("contract", "place", "line"), UPHILL)
def test_contract_bites(copy: Path, contract: str, place: str, line: str) -> None:
    (copy / "fiddlehead/material/fit.py").touch()
    add(copy, place, line)
    result = lint(copy, contract)
    assert result.returncode == 1, result.stdout + result.stderr
    assert f"{contracts()[contract]} BROKEN" in result.stdout
    assert ".".join(("fiddlehead", *Path(place).parts[:-1])) in result.stdout


def test_every_contract_has_a_planted_offence() -> None:
    assert {contract for contract, *_ in UPHILL} == set(contracts())


def loaded(source: Path, program: str) -> set[str]:
    """Which heavy libraries a fresh Python has loaded after running ``program``."""
    listing = "import sys; print('loaded', *{name.split('.')[0] for name in sys.modules})"
    result = run_python(source, "-c", f"{program}\n{listing}")
    assert result.returncode == 0, result.stderr
    return set(result.stdout.splitlines()[-1].split()) & set(HEAVY)


SCREEN = """
from fiddlehead.cli.main import main
try:
    main(["--help"])
except SystemExit as stop:
    assert not stop.code, stop.code
"""


def test_package_imports_light() -> None:
    assert loaded(PACKAGE.parent, "import fiddlehead") == set()


def test_first_screen_comes_up_light() -> None:
    assert loaded(PACKAGE.parent, SCREEN) == set()


@pytest.mark.parametrize("records", RECORDS)
def test_records_open_without_solvers(records: str) -> None:
    assert loaded(PACKAGE.parent, f"import {records}") == set()


@pytest.mark.parametrize("heavy", HEAVY)
def test_weight_is_noticed(copy: Path, heavy: str) -> None:
    add(copy, "__init__.py", f"import {heavy}")
    assert heavy in loaded(copy, "import fiddlehead")

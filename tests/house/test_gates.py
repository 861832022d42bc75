"""The house rules hold on the package, and each gate reports a planted offence."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import pytest

import fiddlehead
from tests.house import documents, gates

PACKAGE = Path(fiddlehead.__file__).parent

EXCUSED_LENGTHS: dict[str, str] = {}
"""Places allowed to be long ("fiddlehead/room/module.py" or "...py:function"), with the reason."""

SIGNALS = {
    "Cancelled": "raised by a progress callback to stop a path; what is done is kept",
    "_Stop": "ends scipy's search when the budget is spent; what is done is kept",
}
"""Exceptions that report no error, with the reason they exist."""

GATES: dict[str, Callable[[Path], list[str]]] = {
    "too_long": lambda package: gates.too_long(package, EXCUSED_LENGTHS),
    "mute_names": gates.mute_names,
    "prints_or_exits": gates.prints_or_exits,
    "writes_files": gates.writes_files,
    "heavy_records": lambda package: gates.heavy_records(package, sys.stdlib_module_names),
    "unfinished": gates.unfinished,
    "blank_front_pages": documents.blank_front_pages,
    "undocumented": documents.undocumented,
    "shapeless": documents.shapeless,
    "bare_raises": gates.bare_raises,
    "stray_errors": lambda package: gates.stray_errors(package, SIGNALS),
}

PLANTED: list[tuple[str, str, str, str]] = [
    ("too_long", "room/long.py", "x = 1\n" * 301, "301 lines"),
    ("too_long", "room/deep.py", "def deep():\n" + "    x = 1\n" * 100, "deep: 101 lines"),
    ("mute_names", "room/utils.py", "", "room/utils.py"),
    ("mute_names", "room/mesh_helpers.py", "", "room/mesh_helpers.py"),
    ("mute_names", "misc/thing.py", "", "fiddlehead/misc"),
    ("prints_or_exits", "room/loud.py", "print('hello')\n", "print()"),
    ("prints_or_exits", "room/loud.py", "import sys\nsys.exit(1)\n", "sys.exit"),
    ("prints_or_exits", "room/loud.py", "import sys\nsys.stderr.write('x')\n", "sys.stderr"),
    ("prints_or_exits", "room/loud.py", "raise SystemExit(2)\n", "SystemExit"),
    ("writes_files", "room/pen.py", "open('a', 'w')\n", "open() for writing"),
    ("writes_files", "room/pen.py", "open('a', mode='ab')\n", "open() for writing"),
    ("writes_files", "room/pen.py", "path.open('x')\n", "open() for writing"),
    ("writes_files", "room/pen.py", "path.write_text('x')\n", ".write_text()"),
    ("writes_files", "room/pen.py", "path.write_bytes(b'x')\n", ".write_bytes()"),
    ("heavy_records", "room/records.py", "import jax.numpy as jnp\n", "imports jax.numpy"),
    ("heavy_records", "room/records.py", "def f():\n    import scipy\n", "imports scipy"),
    (
        "heavy_records",
        "room/records.py",
        "from fiddlehead.room.solve import solve\n",
        "imports fiddlehead.room.solve",
    ),
    ("unfinished", "room/later.py", "# TO" + "DO: finish\n", "room/later.py:1"),
    ("blank_front_pages", "room/__init__.py", '"""A room."""\n', "1 lines"),
    ("undocumented", "room/mute.py", "x = 1\n", "module"),
    ("undocumented", "room/mute.py", '"""Told."""\ndef act():\n    pass\n', "act"),
    ("undocumented", "room/mute.py", '"""Told."""\nclass Thing:\n    pass\n', "Thing"),
    (
        "undocumented",
        "room/mute.py",
        '"""Told."""\nclass Thing:\n    """Told."""\n    def act(self):\n        pass\n',
        "Thing.act",
    ),
    ("shapeless", "room/bare.py", "def f(x: np.ndarray): ...\n", "f: x"),
    ("shapeless", "room/bare.py", "def f() -> tuple[int, Array]: ...\n", "f: return"),
    ("shapeless", "room/bare.py", "def f(*, x: jax.Array | None): ...\n", "f: x"),
    ("shapeless", "room/bare.py", "class C:\n    field: NDArray[float]\n", "C.field"),
    ("bare_raises", "room/curt.py", "raise ValueError('no')\n", "ValueError"),
    ("bare_raises", "room/curt.py", "raise KeyError\n", "KeyError"),
    ("stray_errors", "room/stray.py", "class LostError(ValueError):\n    pass\n", "LostError"),
    (
        "stray_errors",
        "room/stray.py",
        "class Base(Exception): ...\nclass Child(Base): ...\n",
        "Child is no FiddleheadError",
    ),
]

ALLOWED: list[tuple[str, str, str]] = [
    ("prints_or_exits", "cli/show.py", "import sys\nprint('hello')\nsys.exit(0)\n"),
    ("writes_files", "room/reader.py", "open('a')\nopen('a', 'rb')\npath.open('r')\n"),
    ("writes_files", "room/writer.py", "from fiddlehead import files\nfiles.write_text(p, 'x')\n"),
    (
        "heavy_records",
        "room/records.py",
        "import json\nimport numpy as np\nfrom fiddlehead.mesh.records import Mesh\n",
    ),
    (
        "undocumented",
        "room/told.py",
        '"""Told."""\nclass Base:\n    """Told."""\n    def act(self):\n        """Told."""\n'
        'class Child(Base):\n    """Told."""\n    def act(self):\n        pass\n',
    ),
    ("shapeless", "room/shaped.py", 'def f(x: Float[np.ndarray, "node 3"] | None): ...\n'),
    ("stray_errors", "room/tree.py", "class FiddleheadError(Exception): ...\n"),
    ("stray_errors", "room/tree.py", "class CardError(FiddleheadError, ValueError): ...\n"),
]


def plant(tmp_path: Path, place: str, text: str) -> Path:
    """A package with one module in it; returns the package folder."""
    package = tmp_path / "fiddlehead"
    module = package / place
    module.parent.mkdir(parents=True)
    module.write_text(text, encoding="utf-8")
    return package


@pytest.mark.parametrize("gate", GATES)
def test_package_keeps_the_rule(gate: str) -> None:
    assert GATES[gate](PACKAGE) == []


@pytest.mark.parametrize(("gate", "place", "text", "report"), PLANTED)
def test_gate_bites(tmp_path: Path, gate: str, place: str, text: str, report: str) -> None:
    offences = GATES[gate](plant(tmp_path, place, text))
    assert any(report in offence for offence in offences), offences


@pytest.mark.parametrize(("gate", "place", "text"), ALLOWED)
def test_gate_lets_good_code_pass(tmp_path: Path, gate: str, place: str, text: str) -> None:
    assert GATES[gate](plant(tmp_path, place, text)) == []


def test_every_gate_has_a_planted_offence() -> None:
    assert {gate for gate, *_ in PLANTED} == set(GATES)


def test_excused_lengths_are_still_needed() -> None:
    assert all(reason.strip() for reason in EXCUSED_LENGTHS.values())
    long = gates.too_long(PACKAGE, {})
    for place in EXCUSED_LENGTHS:
        module, _, function = place.partition(":")
        assert any(offence.startswith(module) and function in offence for offence in long), place

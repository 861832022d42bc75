"""Kernel and finite-element judge live in one process, in the order ``conftest`` loads them."""

from __future__ import annotations

import subprocess
import sys

BOTH = """
import OCP
import ngsolve
from netgen import occ
from fiddlehead.fabricate import kernel
assert abs(kernel.volume(kernel.cylinder((0, 0, 0), (0, 0, 1), 1.0, 1.0)) - 3.14159265) < 1e-6
assert abs(occ.Box((0, 0, 0), (1, 2, 3)).mass - 6.0) < 1e-9
"""


def test_they_do_not_bring_each_other_down() -> None:
    done = subprocess.run([sys.executable, "-c", BOTH], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_the_kernel_was_loaded_first() -> None:
    import ngsolve  # noqa: F401

    loaded = list(sys.modules)
    assert loaded.index("OCP") < loaded.index("ngsolve")

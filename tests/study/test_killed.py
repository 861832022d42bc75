"""``kill -9`` at fifty random moments: nothing lost, nothing doubled."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork and SIGKILL")
def test_fifty_kills_leave_the_store_of_a_run_that_was_never_cut_off(tmp_path: Path) -> None:
    said = subprocess.run(
        [sys.executable, "-m", "tests.study.killed", str(tmp_path), "50"],
        cwd=ROOT, capture_output=True, text=True, timeout=300, check=False,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path), "ANALYTIC_PAUSE_S": "0.002"},
    )  # fmt: skip
    assert said.returncode == 0, said.stderr
    numbers = re.fullmatch(r"(\d+) killed, (\d+) different fills, 200 designs, same True\n",
                           said.stdout)  # fmt: skip
    assert numbers, said.stdout
    assert int(numbers[1]) >= 40  # the others had finished before the signal came
    assert int(numbers[2]) >= 8  # killed at many different stages of the work

"""Run one command line inside this process."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from fiddlehead.cli.main import main

SMALL = """\
[project]
name = "small"

[material]
law_from = "hardness"
shore_a_hardness = 85.0

[finger]
bellows_count = 2
flank_angle_deg = 90.0
pitch_mm = 8.0
valley_gap_mm = 2.0
height_mm = 12.0
valley_height_mm = 5.0
wall_thickness_mm = 1.2
roof_thickness_mm = 1.2
base_thickness_mm = 2.0
side_wall_thickness_mm = 1.2
width_mm = 12.0
channel_width_mm = 4.0
root_length_mm = 5.0
tip_length_mm = 4.0
inlet_bore_mm = 2.0

[loads]
working_pressure_kpa = 100.0
pressure_steps = 4

[mesh]
preset = "preview"
"""


@dataclass(frozen=True)
class Said:
    """What a command left behind."""

    code: int
    out: str
    err: str

    @property
    def document(self) -> Any:
        """The JSON document on standard output."""
        return json.loads(self.out)


@dataclass(frozen=True)
class Shell:
    """A folder to run commands in."""

    folder: Path
    capture: pytest.CaptureFixture[str]

    def __call__(self, *words: str) -> Said:
        self.capture.readouterr()
        code = main(list(words))
        captured = self.capture.readouterr()
        assert "Traceback" not in captured.out + captured.err
        return Said(code, captured.out, captured.err)

    def reported(self) -> set[str]:
        """Headings of a report on everything that is there; all of it must be readable."""
        headings = self("report", "--no-package", "--json").document["sections"]
        assert not [heading for heading in headings if "not readable" in heading]
        return set(headings)

    def write(self, text: str | bytes, name: str = "fiddlehead.toml") -> Path:
        """Write a file of the project."""
        path = self.folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return path

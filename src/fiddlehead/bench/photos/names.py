"""Pressure, finger, repeat and branch told by the name of a photo, or by a table."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from fiddlehead.errors import CurveError
from fiddlehead.material.delimited import read_table
from fiddlehead.units import convert

_PRESSURE = re.compile(r"(?<![\d.])(\d+(?:[.,p]\d+)?)[ _-]?(kpa|mbar|bar|psi|mpa)(?![a-z])", re.I)
_FINGER = re.compile(r"(?:^|[_\-. ])(?:finger|f)[_-]?([a-z0-9]+?)(?=[_\-. ]|$)", re.I)
_REPEAT = re.compile(r"(?:^|[_\-. ])(?:repeat|run|r)[_-]?(\d+)(?=[_\-. ]|$)", re.I)
_BRANCH = re.compile(r"(?:^|[_\-. ])(up|down)(?=[_\-. ]|$)", re.I)
_UNITS = {"kpa": "kPa", "mbar": "mbar", "bar": "bar", "psi": "psi", "mpa": "MPa"}


@dataclass(frozen=True, kw_only=True)
class Label:
    """What a photo belongs to; the pressure is NaN where nothing tells it."""

    pressure_kpa: float = np.nan
    finger: str = ""
    repeat: int = 1
    branch: str = "up"


def label_of_name(name: str) -> Label:
    """Read a name such as ``fA_r2_down_1p5bar.jpg`` (``finger``, ``run``, unit after number)."""
    stem = Path(name).stem
    pressure = _PRESSURE.search(stem)
    finger, repeat, branch = (p.search(stem) for p in (_FINGER, _REPEAT, _BRANCH))
    value = np.nan
    if pressure:
        number = float(pressure[1].replace("p", ".").replace(",", "."))
        value = float(convert(number, _UNITS[pressure[2].lower()], "kPa"))
    return Label(
        pressure_kpa=value,
        finger=finger[1] if finger else "",
        repeat=int(repeat[1]) if repeat else 1,
        branch=branch[1].lower() if branch else "up",
    )


def labels_of_table(path: Path) -> dict[str, Label]:
    """Labels by photo name from a table with ``file`` and ``pressure_kpa`` and, where it has them,
    ``finger``, ``repeat`` and ``branch``.

    Raises
    ------
    CurveError : the table cannot be read, or names a photo twice
    """
    table = read_table(path, ["file", "pressure_kpa"])
    pressures = table.numbers("pressure_kpa")
    names = table.text("file")
    columns = {
        name: table.text(name) if name in table.header else [""] * len(names)
        for name in ("finger", "repeat", "branch")
    }
    labels: dict[str, Label] = {}
    for row, name in enumerate(names):
        if name in labels:
            raise CurveError("a photo is named twice", where=path.name, found=name)
        repeat = columns["repeat"][row]
        labels[name] = Label(
            pressure_kpa=float(pressures[row]),
            finger=columns["finger"][row],
            repeat=int(repeat) if repeat.isdigit() else 1,
            branch=columns["branch"][row] or "up",
        )
    return labels

"""Which settings to key into a slicing program: start, range, reason, and what that rests on.

Neutral to programs and machines: names are the trade's, values carry their unit. Settings that
depend on the design come from the project; the others from ``slicing_settings.toml``.
"""

from __future__ import annotations

import dataclasses
import math
import tomllib
from functools import lru_cache
from importlib.resources import files

from fiddlehead.fabricate.process import Process
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.finger.print_settings import PrintSettings
from fiddlehead.finger.walls import printed_walls

Value = float | int | str


@dataclasses.dataclass(frozen=True)
class Setting:
    """One line of the sheet; ``low`` and ``high`` are empty where there is nothing to search."""

    key: str
    name: str
    group: str
    unit: str
    start: Value
    low: Value
    high: Value
    reason: str
    standing: str
    from_project: bool = False

    @property
    def searchable(self) -> bool:
        """Whether it has a numeric range."""
        return not isinstance(self.low, str) and self.low != self.high

    @property
    def outside(self) -> bool:
        """Whether the project's own value lies outside the usual range."""
        numbers = (self.start, self.low, self.high)
        if any(isinstance(n, str) for n in numbers):
            return False
        start, low, high = (float(n) for n in numbers)
        return not low - 1e-9 <= start <= high + 1e-9


@lru_cache(maxsize=1)
def usual_settings() -> tuple[Setting, ...]:
    """The sheet for no design in particular."""
    text = files("fiddlehead.fabricate").joinpath("slicing_settings.toml").read_text("utf-8")
    return tuple(Setting(**entry) for entry in tomllib.loads(text)["setting"])


def slicing_settings(
    finger: FingerParameters, printing: PrintSettings, process: Process
) -> tuple[Setting, ...]:
    """The sheet for a design: what the project decides is filled in and marked."""
    w = process.line_width_mm
    own: dict[str, Value] = {
        "line_width_mm": w,
        "layer_height_mm": process.layer_height_mm,
        "flow_percent": round(100.0 * process.flow, 3),
        "wall_speed_mm_per_s": process.wall_speed_mm_per_s,
        "acceleration_mm_per_s2": process.acceleration_mm_per_s2,
        "wall_loops": wall_loops(finger, printing),
        "top_bottom_layers": flat_layers(finger, printing, process),
    }
    sheet = []
    for setting in usual_settings():
        if setting.key not in own:
            sheet.append(setting)
            continue
        filled = dataclasses.replace(setting, start=own[setting.key], from_project=True)
        if setting.key == "line_width_mm":
            nozzle = printing.nozzle_diameter_mm
            filled = dataclasses.replace(filled, low=round(nozzle, 3), high=round(1.3 * nozzle, 3))
        if setting.key == "wall_speed_mm_per_s":
            rate = w * process.layer_height_mm * process.wall_speed_mm_per_s
            filled = dataclasses.replace(
                filled, reason=f"{setting.reason} This draws {rate:.3g} mm³/s."
            )
        sheet.append(filled)
    return tuple(sheet)


def wall_loops(finger: FingerParameters, printing: PrintSettings) -> int:
    """Loops from either side that make the thickest pressure wall of lines solid.

    Four at most: a thicker base is filled with lines along it.
    """
    lines = [w.printed_mm / w.unit_mm for w in printed_walls(finger, printing) if w.unit == "line"]
    return min(4, max(2, math.ceil(max(lines, default=4.0) / 2.0 - 0.05)))


def flat_layers(finger: FingerParameters, printing: PrintSettings, process: Process) -> int:
    """Solid layers that make every flat pressure wall solid, at least the required ones."""
    flat = [w.printed_mm / w.unit_mm for w in printed_walls(finger, printing) if w.unit == "layer"]
    return max(process.least_pressure_layers, math.ceil(max(flat, default=6.0) - 0.05))

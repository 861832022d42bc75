"""How a part will be printed: lines, layers, limits, the machine's room and motion, filament."""

from __future__ import annotations

import dataclasses
import math

from fiddlehead.errors import ParameterError
from fiddlehead.finger.print_settings import PrintSettings


@dataclasses.dataclass(frozen=True, kw_only=True)
class Process:
    """Everything the layer check and the estimate need. Defaults are common practice for soft
    filament on a direct-drive printer with a 0.4 mm nozzle, without a source, or chosen by us."""

    line_width_mm: float = 0.4
    """Distance between the middles of neighbouring lines."""
    layer_height_mm: float = 0.2
    longest_bridge_mm: float = 8.0
    steepest_overhang_deg: float = 45.0
    longest_ledge_mm: float = 1.0
    """How far steep layers may step out in all before it counts as a fault; 0.5 to 1.5 mm is
    common practice."""
    least_pressure_lines: int = 3
    """Lines a wall that holds air needs; common practice, no source."""
    least_pressure_layers: int = 4
    """Layers a roof or floor that holds air needs; 4 to 6 is common practice, no source."""
    most_loops: int = 3
    """Wall loops along every edge; what they leave over is filled with straight lines."""
    plate_width_mm: float = 220.0
    plate_depth_mm: float = 220.0
    print_height_mm: float = 250.0
    wall_speed_mm_per_s: float = 20.0
    travel_speed_mm_per_s: float = 120.0
    acceleration_mm_per_s2: float = 500.0
    corner_speed_mm_per_s: float = 5.0
    """Speed kept through a square corner, the usual idea of a jerk limit."""
    layer_change_s: float = 0.5
    restart_s: float = 0.15
    """Time a line's start costs: pull back, move on, push again."""
    filament_diameter_mm: float = 1.75
    flow: float = 1.05
    """Extruded over nominal volume; above 1 seals better (Leeder, Rankin and Nightingale 2025,
    doi:10.1021/acsapm.5c02274, abstract), the value is common practice."""
    density_g_per_cm3: float = 1.2
    price_per_kg: float = 40.0
    """Price of the filament in any currency."""

    def __post_init__(self) -> None:
        for field in dataclasses.fields(self):
            value = getattr(self, field.name)
            low = 0.0 if field.name in MAY_BE_ZERO else None
            good = (
                isinstance(value, (int, float))
                and math.isfinite(value)
                and (value > 0 or value == low)
            )
            if not good or (field.name == "steepest_overhang_deg" and value >= 90):
                limit = "0 to 90" if field.name.endswith("_deg") else "a number above 0"
                raise ParameterError(
                    "no such print setting",
                    where=f"print.{field.name}",
                    found=repr(value),
                    allowed=limit,
                )

    @property
    def tread_mm(self) -> float:
        """How far a layer may step out over the one below and still support itself."""
        return self.layer_height_mm * math.tan(math.radians(self.steepest_overhang_deg))


MAY_BE_ZERO = {"layer_change_s", "restart_s", "price_per_kg"}


def process(settings: PrintSettings, **more: float) -> Process:
    """The process of a project's print settings; ``more`` fills in the other fields."""
    return Process(
        line_width_mm=settings.line_width_mm,
        layer_height_mm=settings.layer_height_mm,
        longest_bridge_mm=settings.longest_bridge_mm,
        steepest_overhang_deg=settings.steepest_overhang_deg,
        **more,  # type: ignore[arg-type]
    )

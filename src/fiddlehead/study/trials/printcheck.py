"""The layer check and the print estimate."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from fiddlehead.errors import FiddleheadError
from fiddlehead.fabricate.printcheck import print_check, walls_hold_a_line
from fiddlehead.fabricate.solid import finger_solid
from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.study.catalogue import Found
from fiddlehead.study.pattern import Design


def measure(designs: Sequence[Design], mesh: MeshSettings) -> Iterator[tuple[int, Found]]:
    """Print time, filament and faults of every design in the pattern's orientation."""
    for place, design in enumerate(designs):
        try:
            yield place, Found(_checked(design))
        except FiddleheadError as error:
            yield place, Found({}, f"printcheck: {error}")


def _checked(design: Design) -> dict[str, float]:
    walls_hold_a_line(design.finger, design.process)
    solid = finger_solid(design.finger, design.pattern.fittings)
    part = solid.part(design.pattern.build_orientation)  # type: ignore[arg-type]
    check = print_check(part, design.process, solid.plug())
    found = {
        "print_time_min": check.estimate.time_s / 60.0,
        "filament_g": check.estimate.mass_g,
        "print_faults": float(len(check.faults)),
        "fewest_lines": check.fewest_lines,
    }
    return {name: float(value) for name, value in found.items() if value < float("inf")}

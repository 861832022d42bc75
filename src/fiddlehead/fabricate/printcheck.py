"""Will it be tight, and will it print: a part checked on its own layers."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping

import numpy as np
from jaxtyping import Float

from fiddlehead.errors import ParameterError
from fiddlehead.fabricate.chambers import Air, air_of
from fiddlehead.fabricate.estimate import Estimate, estimate
from fiddlehead.fabricate.findings import Finding, Kind, Spot, gathered
from fiddlehead.fabricate.layers import Layers, each_once, opened, polygons, sliced
from fiddlehead.fabricate.lines import Lines, lines_of, narrow_gaps
from fiddlehead.fabricate.pressure_walls import (
    WallSamples,
    judged_voids,
    mean_width,
    wall_samples,
    wall_spots,
)
from fiddlehead.fabricate.process import Process
from fiddlehead.fabricate.records import Part
from fiddlehead.fabricate.seams import Seam, seam_spots, seams_of
from fiddlehead.fabricate.solid import TO_PLATE
from fiddlehead.fabricate.support import Hanging, hanging_places, unsupported
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.finger.print_settings import BuildOrientation

MEASURE: dict[Kind, str] = {
    "partial line": "open strip {} mm wide",
    "uncovered": "{} mm² without a line",
    "long bridge": "span {} mm",
    "overhang": "{}° from the vertical",
    "island": "{} mm²",
    "sealed pocket": "{} mm³",
    "welded gap": "gap {} mm",
    "thin pressure wall": "{} lines",
    "thin pressure roof": "{} layers",
    "weak layer bond": "{} lines overlap",
    "seam on pressure wall": "no free place",
}
SMALLEST_IS_WORST: set[Kind] = {
    "thin pressure wall",
    "thin pressure roof",
    "weak layer bond",
    "welded gap",
}


@dataclasses.dataclass(frozen=True, eq=False)
class PrintCheck:
    """One part in one orientation.

    to_plate : rotation from the part's axes to the plate's
    findings : faults first
    samples : points on the chambers' surface with what holds the air back there
    """

    to_plate: Float[np.ndarray, "3 3"]
    layers: Layers
    air: Air
    drawn: tuple[Lines, ...]
    hanging: tuple[Hanging, ...]
    seams: tuple[Seam, ...]
    samples: WallSamples
    findings: tuple[Finding, ...]
    estimate: Estimate

    @property
    def faults(self) -> tuple[Finding, ...]:
        """Findings that keep the part from being tight or printable."""
        return tuple(f for f in self.findings if f.severity == "fault")

    @property
    def kinds(self) -> set[Kind]:
        """Every kind of trouble found."""
        return {f.kind for f in self.findings}

    @property
    def verdict(self) -> str:
        """In a few words."""
        if self.faults:
            kinds = list(dict.fromkeys(f.kind for f in self.faults))
            return f"not yet: {len(self.faults)} faults ({', '.join(kinds)})"
        tight = "its pressure walls look tight" if self.air.chambers else "it has no chamber"
        cautions = len(self.findings)
        return f"printable, {tight}" + (f"; {cautions} cautions" if cautions else "")

    @property
    def longest_bridge_mm(self) -> float:
        """Longest unsupported span, mm; 0 for none."""
        return max((h.span for h in self.hanging if h.span is not None), default=0.0)

    @property
    def steepest_ledge_mm(self) -> float:
        """Largest step of a ledge without hold on its far side, mm; 0 for none."""
        return max((h.reach for h in self.hanging if h.span is None), default=0.0)

    @property
    def fewest_lines(self) -> float:
        """Fewest lines between a chamber and the outside."""
        return float(self.samples.lines.min()) if len(self.samples.lines) else float("inf")

    @property
    def fewest_layers(self) -> float:
        """Fewest solid layers over or under a chamber."""
        return float(self.samples.stack.min()) if len(self.samples.stack) else float("inf")

    @property
    def forced_seams(self) -> int:
        """Loops whose seam cannot avoid a pressure wall."""
        return sum(seam.on_pressure_wall for seam in self.seams)

    def tightness(self) -> Float[np.ndarray, " sample"]:
        """Share of what a tight wall needs at every sample, 0 to 1."""
        p = self.layers.process
        return self.samples.tightness(p.least_pressure_lines, p.least_pressure_layers)


def print_check(part: Part, process: Process, stopper: Part | None = None) -> PrintCheck:
    """Check a part in its printing orientation.

    Parameters
    ----------
    part : ``part.to_plate`` says how it lies on the plate
    stopper : closes the inlet's mouth (``FingerSolid.plug``); without one an open cavity counts as
        outside

    Raises
    ------
    ParameterError : larger than the printer, lower than a layer, thinner than a line everywhere
    InputError : the surface bounds no solid
    """
    layers = sliced(part, process, stopper)
    _must_hold_a_line(layers)
    air = air_of(layers)
    drawn = each_once(layers, lambda section: lines_of(section, process))
    gaps = each_once(layers, lambda section: narrow_gaps(section, process))
    hanging, spots = hanging_places(layers, air)
    spots += unsupported(layers, hanging)
    for number, lines in enumerate(drawn):
        spots += _line_spots(layers, air, lines, number)
        spots += [
            Spot("welded gap", number, gap, mean_width(gap), False)
            for gap in polygons(gaps[number])
        ]
    spots += _pockets(air)
    samples = wall_samples(layers, air, drawn)
    spots += wall_spots(samples, layers)
    seams = seams_of(layers, air)
    spots += seam_spots(seams, process.line_width_mm)
    return PrintCheck(
        to_plate=part.to_plate,
        layers=layers,
        air=air,
        drawn=tuple(drawn),
        hanging=tuple(hanging),
        seams=tuple(seams),
        samples=samples,
        findings=tuple(
            gathered(spots, MEASURE, process.layer_height_mm, smallest_is_worst=SMALLEST_IS_WORST)
        ),
        estimate=estimate(layers, drawn),
    )


def walls_hold_a_line(finger: FingerParameters, process: Process) -> None:
    """Every wall that holds air must be at least one line wide.

    Raises
    ------
    ParameterError : a line is wider than a wall
    """
    names = (
        "wall_thickness_mm",
        "roof_thickness_mm",
        "base_thickness_mm",
        "side_wall_thickness_mm",
    )
    walls = {name: float(getattr(finger, name)) for name in names}
    thinnest = min(walls, key=lambda name: walls[name])
    if process.line_width_mm > walls[thinnest]:
        raise ParameterError(
            f"a line is wider than the thinnest wall (finger.{thinnest})",
            where="print.line_width_mm",
            found=f"{process.line_width_mm:g} mm",
            allowed=f"{walls[thinnest]:g} mm or less; a third of it to be tight",
            remedy="Use a finer nozzle or thicker walls.",
        )


def compare_orientations(
    part: Part, process: Process, stopper: Part | None = None
) -> Mapping[BuildOrientation, PrintCheck]:
    """The same part on its side, upright, and with the gripping face down.

    Orientations that do not fit the printer are left out.

    Raises
    ------
    ParameterError : it fits in none
    """
    found: dict[BuildOrientation, PrintCheck] = {}
    refused: ParameterError | None = None
    for name, rotation in TO_PLATE.items():
        try:
            found[name] = print_check(part.in_orientation(rotation), process, stopper)
        except ParameterError as error:
            refused = error
    if not found and refused is not None:
        raise refused
    return found


def _must_hold_a_line(layers: Layers) -> None:
    """Somewhere in the part a line must fit."""
    w = layers.process.line_width_mm
    middle = layers.sections[len(layers.sections) // 2]
    if opened(middle, 0.47 * w).is_empty and all(
        opened(s, 0.47 * w).is_empty for s in layers.sections
    ):
        raise ParameterError(
            "a line is wider than every wall of this part",
            where="print.line_width_mm",
            found=f"{w:g} mm",
            allowed="the thinnest wall or less",
            remedy="Use a finer nozzle or thicker walls.",
        )


def _line_spots(layers: Layers, air: Air, lines: Lines, number: int) -> list[Spot]:
    spots = [Spot("uncovered", number, p, p.area, False) for p in polygons(lines.uncovered)]
    return spots + [
        Spot("partial line", number, void, mean_width(void), on_wall)
        for void, on_wall in judged_voids(layers, air, lines, number)
    ]


def _pockets(air: Air) -> list[Spot]:
    spots = []
    for chamber in air.chambers:
        if chamber.sealed:
            middle = (chamber.first_layer + chamber.last_layer) // 2
            layers = sorted(
                range(chamber.first_layer, chamber.last_layer + 1), key=lambda k: abs(k - middle)
            )
            layer = next(k for k in layers if not air.inside[k].is_empty)
            place = max(polygons(air.inside[layer]), key=lambda p: p.area)
            spots.append(Spot("sealed pocket", layer, place, chamber.volume_mm3, True))
    return spots

"""What the layer check finds: one kind of trouble at one place, told with its measure."""

from __future__ import annotations

import dataclasses
from typing import Literal

import numpy as np
from shapely.geometry.base import BaseGeometry

Kind = Literal[
    "partial line",
    "uncovered",
    "long bridge",
    "overhang",
    "island",
    "sealed pocket",
    "welded gap",
    "thin pressure wall",
    "thin pressure roof",
    "weak layer bond",
    "seam on pressure wall",
]
Severity = Literal["fault", "caution"]

MEANING: dict[Kind, str] = {
    "partial line": "the wall is not a whole number of lines: gap fill leaves pinholes",
    "uncovered": "thinner than one line: nothing is printed here",
    "long bridge": "lines hang freely over a span longer than they can bridge tight",
    "overhang": "steeper than the layers can carry themselves",
    "island": "starts in the air, on no layer below",
    "sealed pocket": "a closed space without inlet: support and test air cannot get in or out",
    "welded gap": "narrower than two lines: both sides get welded together",
    "thin pressure wall": "fewer lines than a wall that holds air needs",
    "thin pressure roof": "fewer solid layers than a roof or floor that holds air needs",
    "weak layer bond": "successive layers of a pressure wall overlap by too little",
    "seam on pressure wall": "every place where a loop can start lies on a wall that holds air",
}
"""Each kind in plain words."""

SEVERITY: dict[Kind, Severity] = {
    "uncovered": "fault",
    "long bridge": "fault",
    "overhang": "fault",
    "island": "fault",
    "sealed pocket": "fault",
    "welded gap": "fault",
    "thin pressure wall": "fault",
    "thin pressure roof": "fault",
    "partial line": "fault",
    "weak layer bond": "fault",
    "seam on pressure wall": "caution",
}
"""A fault keeps the part from being tight or printable; a caution wants attention in slicing. A
partial line is a caution away from pressure walls, and where the rest of the wall is whole."""

NEAR_MM = 1.0
"""Finds of one kind in neighbouring layers closer than this are one finding."""


LEAST_LAYERS: dict[Kind, int] = {"uncovered": 3, "welded gap": 3, "partial line": 2}
"""Over fewer layers these are tips that close and ridges that end, no trouble; chosen by us."""
EVERYWHERE: set[Kind] = {"seam on pressure wall"}
"""Kinds that are one finding however far apart in neighbouring layers."""


@dataclasses.dataclass(frozen=True, eq=False)
class Spot:
    """One find in one layer; ``value`` in mm, lines or layers as its kind is measured."""

    kind: Kind
    layer: int
    area: BaseGeometry
    value: float
    inside: bool = False
    """In or on the wall of a closed chamber, where no support can be taken out and leaks count."""


@dataclasses.dataclass(frozen=True, eq=False)
class Finding:
    """Spots of one kind that hang together over layers.

    first_layer, last_layer : from 1 at the plate
    place_mm : x and y on the plate (part centred on 0, 0) and height, at the worst layer
    worst : the measure there, and what it is compared with, in words
    """

    kind: Kind
    severity: Severity
    first_layer: int
    last_layer: int
    worst_layer: int
    place_mm: tuple[float, float, float]
    worst: str
    inside: bool
    area: BaseGeometry

    @property
    def text(self) -> str:
        """One sentence with the place."""
        x, y, z = self.place_mm
        layers = (
            f"layer {self.first_layer}"
            if self.first_layer == self.last_layer
            else f"layers {self.first_layer} to {self.last_layer}"
        )
        inside = " at a closed chamber" if self.inside else ""
        return (
            f"{self.kind}{inside} ({self.worst}): {MEANING[self.kind]}; {layers}, worst in layer"
            f" {self.worst_layer} at x {x:.1f}, y {y:.1f}, height {z:.2f} mm"
        )


def gathered(
    spots: list[Spot],
    measure: dict[Kind, str],
    layer_height: float,
    *,
    smallest_is_worst: set[Kind],
) -> list[Finding]:
    """Join spots of neighbouring layers to findings, most layers first within each kind.

    Parameters
    ----------
    measure : text with ``{}`` for the value, per kind
    smallest_is_worst : kinds where a smaller value is worse
    """
    groups: list[list[Spot]] = []
    for spot in sorted(spots, key=lambda s: s.layer):
        home = next((g for g in groups if _hangs_together(g, spot)), None)
        if home is None:
            groups.append([spot])
        else:
            home.append(spot)
    found = []
    for group in groups:
        kind = group[0].kind
        if len({s.layer for s in group}) < LEAST_LAYERS.get(kind, 1):
            continue
        sign = -1.0 if kind in smallest_is_worst else 1.0
        worst = max(group, key=lambda s: (sign * s.value, s.area.area))
        point = worst.area.representative_point()
        z = (worst.layer + 0.5) * layer_height
        found.append(
            Finding(
                kind=kind,
                severity="caution"
                if kind == "partial line" and not worst.inside
                else SEVERITY[kind],
                first_layer=group[0].layer + 1,
                last_layer=max(s.layer for s in group) + 1,
                worst_layer=worst.layer + 1,
                place_mm=(float(point.x), float(point.y), float(z)),
                worst=measure[kind].format(_number(worst.value)),
                inside=worst.inside,
                area=worst.area,
            )
        )
    order = {kind: n for n, kind in enumerate(MEANING)}
    found.sort(
        key=lambda f: (
            f.severity != "fault",
            order[f.kind],
            f.first_layer - f.last_layer,
            f.place_mm,
        )
    )
    return found


def _hangs_together(group: list[Spot], spot: Spot) -> bool:
    last = group[-1]
    if last.kind != spot.kind or last.inside != spot.inside or spot.layer - last.layer > 2:
        return False
    if spot.kind in EVERYWHERE:
        return True
    near = [s for s in group if spot.layer - s.layer <= 2]
    return any(s.area.distance(spot.area) < NEAR_MM for s in near)


def _number(value: float) -> str:
    return "none" if not np.isfinite(value) else f"{value:.2f}".rstrip("0").rstrip(".")

"""The finger's section at the mid-plane as polygons, for drawings."""

from __future__ import annotations

import dataclasses

import numpy as np
from jaxtyping import Float

from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.finger.profile import (
    Line,
    ProfileLayout,
    inner_stations,
    outer_stations,
    profile_layout,
)


@dataclasses.dataclass(frozen=True, eq=False)
class Outline:
    """Section at z = 0: polygons counter-clockwise, x and y in mm, first point not repeated."""

    outer: Float[np.ndarray, "corner 2"]
    """The outer surface, pad included."""
    cavity: Float[np.ndarray, "cavity_corner 2"]
    """The cavity: chambers and channel."""
    inlet: Float[np.ndarray, "inlet_corner 2"] | None
    """The bore through the root block; None when there is none."""
    regions: tuple[tuple[str, Float[np.ndarray, "4 2"]], ...]
    """Every region of the profile with its place in words, solid and void."""


def outline(parameters: FingerParameters) -> Outline:
    """Draw a finger's section.

    Raises
    ------
    ParameterError : the parameters contradict each other
    """
    parameters.validate()
    layout = profile_layout(parameters)
    vertices = layout.vertices(parameters)

    def polygon(corners: list[tuple[Line, int]]) -> Float[np.ndarray, "corner 2"]:
        return vertices[[layout.vertex(line, station) for line, station in corners]]

    return Outline(
        outer=polygon(_outer(layout)),
        cavity=polygon(_cavity(layout)),
        inlet=_inlet(parameters),
        regions=tuple((r.name, vertices[list(r.corners)]) for r in layout.regions),
    )


def _outer(layout: ProfileLayout) -> list[tuple[Line, int]]:
    """Along the gripping face to the tip, then back over the bellows."""
    last = layout.last_station
    corners: list[tuple[Line, int]] = [("base", 0)]
    corners += [("base", 1), ("pad", 1), ("pad", last)] if layout.has_pad else []
    corners += [("base", last), ("outer valley", last)]
    for i in reversed(range(layout.bellows_count)):
        proximal, distal = outer_stations(i)
        corners += [("outer valley", distal), ("outer peak", distal), ("outer peak", proximal)]
        corners += [("outer valley", proximal)] if i else []
    return corners


def _cavity(layout: ProfileLayout) -> list[tuple[Line, int]]:
    """Along the floor to the last bellows, then back under the roof."""
    _, last = inner_stations(layout.bellows_count - 1)
    corners: list[tuple[Line, int]] = [("floor", 1), ("floor", last)]
    for i in reversed(range(layout.bellows_count)):
        proximal, distal = inner_stations(i)
        corners += [("inner valley", distal), ("inner peak", distal), ("inner peak", proximal)]
        corners += [("inner valley", proximal)] if i else []
    return corners


def _inlet(p: FingerParameters) -> Float[np.ndarray, "corner 2"] | None:
    if p.inlet_bore_mm == 0:
        return None
    low, high = p.inlet_height_mm - p.inlet_bore_mm / 2, p.inlet_height_mm + p.inlet_bore_mm / 2
    root = p.root_length_mm
    return np.array([(0.0, low), (root, low), (root, high), (0.0, high)])

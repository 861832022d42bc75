"""The finger's section at the mid-plane as polygons, for drawings."""

from __future__ import annotations

import dataclasses

import numpy as np
from jaxtyping import Float

from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.finger.profile import ProfileLayout, profile_layout
from fiddlehead.finger.stations import Line, inner_stations, outer_stations


@dataclasses.dataclass(frozen=True, eq=False)
class Outline:
    """Section at z = 0: polygons counter-clockwise, x and y in mm, first point not repeated."""

    outer: Float[np.ndarray, "corner 2"]
    """The outer surface, pad included."""
    voids: tuple[Float[np.ndarray, "_corner 2"], ...]
    """Openings of the pad, across the whole width; none in a plain pad."""
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

    return Outline(
        outer=vertices[_outer(layout)],
        voids=tuple(vertices[list(reversed(loop))] for loop in layout.void_loops),
        cavity=vertices[[layout.vertex(line, station) for line, station in _cavity(layout)]],
        inlet=_inlet(parameters),
        regions=tuple((r.name, vertices[list(r.corners)]) for r in layout.regions),
    )


def _outer(layout: ProfileLayout) -> list[int]:
    """Along the gripping face to the tip, then back over the bellows."""
    last = layout.last_station
    corners: list[tuple[Line, int]] = [("base", last), ("outer valley", last)]
    for i in reversed(range(layout.bellows_count)):
        proximal, distal = outer_stations(i)
        corners += [("outer valley", distal), ("outer peak", distal), ("outer peak", proximal)]
        corners += [("outer valley", proximal)] if i else []
    grip = [layout.vertex("base", 0)]
    if layout.pad is not None:
        grip += [layout.vertex("base", 1), *layout.gripping_ends]
    return grip + [layout.vertex(line, station) for line, station in corners]


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

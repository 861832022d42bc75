"""The finger's section at the mid-plane as polygons, for drawings."""

from __future__ import annotations

import dataclasses

import numpy as np
from jaxtyping import Float

from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.finger.profile import Line, ProfileLayout, profile_layout


@dataclasses.dataclass(frozen=True, eq=False)
class Outline:
    """Section at z = 0: polygons counter-clockwise, x and y in mm, first point not repeated."""

    outer: Float[np.ndarray, "corner 2"]
    """The outer surface, pad included."""
    cavity: Float[np.ndarray, "corner 2"]
    """The cavity: chambers and channel."""
    inlet: Float[np.ndarray, "corner 2"] | None
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
    last = 2 * layout.bellows_count + 1
    corners: list[tuple[Line, int]] = [("base", 0)]
    corners += [("base", 1), ("pad", 1), ("pad", last)] if layout.has_pad else []
    corners += [("base", last), ("outer foot", last)]
    for i in reversed(range(layout.bellows_count)):
        proximal, distal = 1 + 2 * i, 2 + 2 * i
        corners += [("outer foot", distal), ("outer peak", distal)]
        corners += [("outer peak", proximal), ("outer foot", proximal)] if i else []
    return [*corners, ("outer peak", 0)]


def _cavity(layout: ProfileLayout) -> list[tuple[Line, int]]:
    """Along the floor to the last bellows, then back under the roof."""
    corners: list[tuple[Line, int]] = [("floor", 1), ("floor", 2 * layout.bellows_count)]
    for i in reversed(range(layout.bellows_count)):
        proximal, distal = 1 + 2 * i, 2 + 2 * i
        corners += [("foot", distal), ("inner peak", distal), ("inner peak", proximal)]
        corners += [("foot", proximal)] if i else []
    return corners


def _inlet(p: FingerParameters) -> Float[np.ndarray, "corner 2"] | None:
    if p.inlet_bore_mm == 0:
        return None
    low, high = p.inlet_height_mm - p.inlet_bore_mm / 2, p.inlet_height_mm + p.inlet_bore_mm / 2
    root = p.root_length_mm
    return np.array([(0.0, low), (root, low), (root, high), (0.0, high)])

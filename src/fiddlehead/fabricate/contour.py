"""Closed outlines of straight lines and arcs: polygons whose inner corners are filleted.

A fillet of radius r at a corner where the outline turns by the angle f takes the length
``r tan(f/2)`` off both neighbours and covers the area ``r² (tan(f/2) - f/2)`` (plane geometry).
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable

import numpy as np
from jaxtyping import Float
from shapely.geometry import Polygon

LARGEST_SHARE = 0.45
"""A fillet takes at most this share of an edge, so that two fillets never meet."""
CHORDS = 24
"""Chords for an arc where areas are compared."""
STRAIGHT = 1e-6
"""Corners that turn by less (rad) are no corners."""


@dataclasses.dataclass(frozen=True, eq=False)
class Piece:
    """A line from ``start`` to ``end``, or an arc that passes ``middle``; mm."""

    start: Float[np.ndarray, " 2"]
    end: Float[np.ndarray, " 2"]
    middle: Float[np.ndarray, " 2"] | None = None


@dataclasses.dataclass(frozen=True, eq=False)
class Contour:
    """A closed outline; ``fillet_area`` is what its fillets cover, mm²."""

    pieces: tuple[Piece, ...]
    fillet_area: float = 0.0

    def polygon(self) -> Polygon:
        """The enclosed area with every arc as a chain of chords."""
        chains = [
            piece.start[None]
            if piece.middle is None
            else _chords(piece.start, piece.middle, piece.end)
            for piece in self.pieces
        ]
        return Polygon(np.concatenate(chains))


def _chords(
    start: Float[np.ndarray, " 2"], middle: Float[np.ndarray, " 2"], end: Float[np.ndarray, " 2"]
) -> Float[np.ndarray, "point 2"]:
    """Points along the arc from ``start`` through its middle to just before ``end``."""
    chord, rise = end - start, middle - (start + end) / 2.0
    half = 2.0 * math.atan2(2.0 * float(np.hypot(*rise)), float(np.hypot(*chord)))
    radius = float(np.hypot(*chord)) / (2.0 * math.sin(half))
    up = rise / np.hypot(*rise)
    centre = middle - radius * up
    angle = np.linspace(-half, half, CHORDS + 1)[:-1, None]
    return centre + radius * (np.cos(angle) * up + np.sin(angle) * chord / np.hypot(*chord))


def corners_only(ring: Float[np.ndarray, "point 2"]) -> Float[np.ndarray, "corner 2"]:
    """The ring without repeated and collinear points (the last point does not repeat the first)."""
    points = ring[:-1] if np.allclose(ring[0], ring[-1], atol=1e-9) else ring
    apart = np.linalg.norm(points - np.roll(points, 1, axis=0), axis=1) > 1e-7
    points = points[apart]
    arriving, leaving = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
    turn = np.arctan2(_cross(arriving, leaving), np.sum(arriving * leaving, axis=1))
    return points[np.abs(turn) > STRAIGHT]


def filleted(ring: Float[np.ndarray, "point 2"], radius: float, *, solid_outside: bool) -> Contour:
    """Round the corners in which solid surrounds air, so that fillets only add material.

    Parameters
    ----------
    ring : counter-clockwise around what it encloses
    radius : mm; taken smaller where edges are short; 0 for sharp corners
    solid_outside : whether the ring encloses air (a cavity) or solid
    """
    points = corners_only(ring)
    before, after = np.roll(points, 1, axis=0), np.roll(points, -1, axis=0)
    arriving, leaving = points - before, after - points
    lengths_in = np.linalg.norm(arriving, axis=1)
    lengths_out = np.linalg.norm(leaving, axis=1)
    turn = np.arctan2(_cross(arriving, leaving), np.sum(arriving * leaving, axis=1))
    hollow = turn > 0 if solid_outside else turn < 0
    room = LARGEST_SHARE * np.minimum(lengths_in, lengths_out)
    half = np.tan(np.abs(turn) / 2.0)
    trim = np.where(hollow, np.minimum(radius * half, room), 0.0)
    trim[trim < 1e-4] = 0.0
    start = points - arriving / lengths_in[:, None] * trim[:, None]
    end = points + leaving / lengths_out[:, None] * trim[:, None]
    pieces: list[Piece] = []
    area = 0.0
    for i in range(len(points)):
        following = (i + 1) % len(points)
        if trim[i] > 0.0:
            true_radius = trim[i] / half[i]
            inward = (start[i] + end[i]) / 2.0 - points[i]
            reach = true_radius * (1.0 / math.cos(abs(turn[i]) / 2.0) - 1.0)
            middle = points[i] + inward / np.linalg.norm(inward) * reach
            pieces.append(Piece(start[i], end[i], middle))
            area += true_radius**2 * (half[i] - abs(turn[i]) / 2.0)
        pieces.append(Piece(end[i], start[following]))
    return Contour(tuple(pieces), float(area))


def straight(ring: Iterable[tuple[float, float]] | Float[np.ndarray, "point 2"]) -> Contour:
    """A ring of straight lines, all corners sharp."""
    points = corners_only(np.asarray(list(ring), dtype=float))
    ends = np.roll(points, -1, axis=0)
    return Contour(tuple(Piece(a, b) for a, b in zip(points, ends, strict=True)))


def _cross(
    a: Float[np.ndarray, "point 2"], b: Float[np.ndarray, "point 2"]
) -> Float[np.ndarray, " point"]:
    return a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]

"""Matched marks to angles: the turn of the tip block against the root block, and the chord."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from jaxtyping import Float

from fiddlehead.bench.photos.layout import angle_of, rigid
from fiddlehead.bench.photos.records import Setup


class MarkAngles(NamedTuple):
    """Angles positive towards the gripping side, degrees, with standard uncertainties."""

    tip_deg: float
    chord_deg: float
    tip_u_deg: float
    chord_u_deg: float
    tip_mm: Float[np.ndarray, "2"]
    """Tip point in the root's frame."""
    marks_mm: Float[np.ndarray, "mark 2"]
    """All marks in the root's frame; NaN where not found."""
    misfit_mm: float
    """Root mean square of root and tip marks about rigid blocks."""
    scale: float
    """Measured over drawn distances of the root and tip marks."""


def mark_angles(
    setup: Setup, marks: Float[np.ndarray, "mark 2"], located_mm: float
) -> MarkAngles | None:
    """Angles from marks in mm (y up); None unless two marks of root and of tip are there.

    The tip angle is the turn of the tip marks against the root marks by least squares, so it is
    that of the tip-tangent definition whatever pattern the marks form. The chord angle runs from
    the root's axis to the tip point, which is carried along by the tip marks. Beyond half a turn
    the chain of path marks tells how far round the finger went. Lengths are those of the drawn
    distances within the root and tip groups, whatever the scale of ``marks``.

    Parameters
    ----------
    located_mm : standard uncertainty of one mark's place in the photo
    """
    roots, paths = len(setup.root), len(setup.path)
    seen = np.isfinite(marks).all(1)
    root, tip = seen[:roots], seen[roots + paths :]
    if root.sum() < 2 or tip.sum() < 2:
        return None
    drawn_root, drawn_tip = setup.root[root], setup.tip[tip]
    scale = _scale(drawn_root, marks[:roots][root], drawn_tip, marks[roots + paths :][tip])
    marks = marks / scale
    turn_root, shift_root = rigid(drawn_root, marks[:roots][root])
    inside = (marks - shift_root) @ turn_root
    turn_tip, shift_tip = rigid(drawn_tip, inside[roots + paths :][tip])
    side = 1.0 if setup.tip_point[0] >= 0 else -1.0
    tip_angle = -side * angle_of(turn_tip)
    tip_angle += 360.0 * round((_along(setup, inside, side) - tip_angle) / 360.0)
    point = turn_tip @ setup.tip_point + shift_tip
    chord = float(np.degrees(np.arctan2(-point[1], side * point[0])))
    chord += 360.0 * round((0.5 * tip_angle - chord) / 360.0)
    off_root = inside[:roots][root] - drawn_root
    off_root -= off_root.mean(0)
    off_tip = inside[roots + paths :][tip] - (drawn_tip @ turn_tip.T + shift_tip)
    misfit = float(np.sqrt((np.concatenate([off_root, off_tip]) ** 2).sum(1).mean()))
    sigma = float(np.hypot(located_mm, setup.placement_mm))
    arms = [1.0 / _inertia(drawn_root), 1.0 / _inertia(drawn_tip)]
    chord_length = float(np.linalg.norm(point)) or 1.0
    lever = np.linalg.norm(setup.tip_point - drawn_tip.mean(0)) / chord_length
    chord_u = np.sqrt(arms[0] + lever**2 * arms[1] + 2.0 / (len(drawn_tip) * chord_length**2))
    return MarkAngles(
        tip_deg=tip_angle,
        chord_deg=chord,
        tip_u_deg=float(np.degrees(sigma * np.sqrt(sum(arms)))),
        chord_u_deg=float(np.degrees(sigma * chord_u)),
        tip_mm=point * np.array([side, 1.0]),
        marks_mm=inside,
        misfit_mm=misfit,
        scale=scale,
    )


def _inertia(points: Float[np.ndarray, "mark 2"]) -> float:
    """Sum of squared distances from the middle: the variance of a turn is sigma² over it."""
    return float(((points - points.mean(0)) ** 2).sum())


def _scale(
    root: Float[np.ndarray, "root 2"],
    found_root: Float[np.ndarray, "root 2"],
    tip: Float[np.ndarray, "tip 2"],
    found_tip: Float[np.ndarray, "tip 2"],
) -> float:
    drawn = _inertia(root) + _inertia(tip)
    return float(np.sqrt((_inertia(found_root) + _inertia(found_tip)) / drawn))


def _along(setup: Setup, inside: Float[np.ndarray, "mark 2"], side: float) -> float:
    """Tip angle as the chain of marks tells it, roughly but without losing whole turns."""
    roots = len(setup.root)
    last = int(np.argmax(side * setup.root[:, 0]))
    chain = np.concatenate([[last], np.arange(roots, roots + len(setup.path) + 1)])
    chain = chain[np.isfinite(inside[chain]).all(1)]
    if len(chain) < 3:
        return 0.0
    pieces, drawn = np.diff(inside[chain], axis=0), np.diff(setup.marks[chain], axis=0)
    turn = np.arctan2(pieces[:, 1], pieces[:, 0]) - np.arctan2(drawn[:, 1], drawn[:, 0])
    turn = np.unwrap(turn)
    first = round(float(turn[0]) / (2.0 * np.pi)) * 2.0 * np.pi
    turn = turn - first
    return float(np.degrees(-side * (turn[-1] + 0.5 * (turn[-1] - turn[-2]))))

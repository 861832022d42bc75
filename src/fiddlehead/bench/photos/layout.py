"""Where to put marks on a finger so that a photo gives its angles."""

from __future__ import annotations

import dataclasses

import numpy as np
from jaxtyping import Float

from fiddlehead.bench.photos.board import CORNERS
from fiddlehead.bench.photos.records import PhotoReading, Setup
from fiddlehead.errors import ParameterError


def dot_layout(
    *,
    length_mm: float,
    root_length_mm: float,
    tip_length_mm: float,
    height_mm: float,
    valley_height_mm: float,
    pitch_mm: float,
    diameter_mm: float = 2.0,
    flag: bool = True,
) -> Setup:
    """Dots on the side of a finger: three on the root block, one a bellows, two at the tip.

    Parameters
    ----------
    valley_height_mm : height of the solid strip that carries the path dots and of the tip block
    flag : the tip dots stand on a card glued to the tip face, which turns just as the tip angle
        is defined; otherwise on the side of the tip block

    Raises
    ------
    ParameterError : blocks too small for their dots
    """
    d = diameter_mm
    small = not flag and min(tip_length_mm, 0.5 * valley_height_mm) < 1.5 * d
    if root_length_mm < 2.2 * d or height_mm < 4.5 * d or small:
        raise ParameterError(
            "the root or tip block is too small for these dots",
            found=f"root {root_length_mm:g} mm, tip {tip_length_mm:g} mm, dots {d:g} mm",
            remedy="Use smaller dots, or put them on cards glued to root and tip.",
        )
    low, high = min(0.4 * valley_height_mm, 1.5 * d), height_mm - 1.5 * d
    near, far = 0.6 * d, root_length_mm - 0.6 * d
    end = length_mm + (1.2 * d if flag else -0.5 * tip_length_mm)
    last = length_mm - tip_length_mm
    middle = np.arange(root_length_mm + 0.5 * pitch_mm, last, pitch_mm)
    return Setup(
        root=np.array([[near, high], [near, low], [far, low]]),
        path=np.column_stack([middle, np.full(len(middle), low)]),
        tip=np.array([[end, low], [end, high if flag else valley_height_mm - 0.8 * d]]),
        tip_point=np.array([length_mm, 0.0]),
        diameter_mm=d,
    )


def fiducial_layout(
    root_centre_mm: tuple[float, float],
    tip_centre_mm: tuple[float, float],
    *,
    length_mm: float,
    side_mm: float,
) -> Setup:
    """One fiducial on the root and one at the tip, upright along the finger; no path."""
    corners = 0.5 * side_mm * CORNERS
    return Setup(
        root=np.array(root_centre_mm) + corners,
        path=np.zeros((0, 2)),
        tip=np.array(tip_centre_mm) + corners,
        tip_point=np.array([length_mm, 0.0]),
        diameter_mm=side_mm,
    )


def from_the_other_side(setup: Setup) -> Setup:
    """The same marks seen from the other side of the finger: left and right exchanged.

    The finger then points to the left in its own frame; angles keep their sign.
    """
    turn = np.array([-1.0, 1.0])
    return dataclasses.replace(
        setup,
        root=setup.root * turn,
        path=setup.path * turn,
        tip=setup.tip * turn,
        tip_point=setup.tip_point * turn,
    )


def learned(setup: Setup, at_rest: PhotoReading) -> Setup:
    """The marks where a photo of the finger at rest shows them, instead of where they were meant.

    Takes the uncertainty of placing marks out of every later angle, which then counts from rest.
    Marks the photo does not show stay as drawn.
    """
    seen = np.isfinite(at_rest.marks_mm).all(1, keepdims=True)
    marks = np.where(seen, at_rest.marks_mm, setup.marks)
    roots, paths = len(setup.root), len(setup.path)
    tip = marks[roots + paths :]
    turn, shift = rigid(setup.tip, tip)
    return dataclasses.replace(
        setup,
        root=marks[:roots],
        path=marks[roots : roots + paths],
        tip=tip,
        tip_point=turn @ setup.tip_point + shift,
        placement_mm=0.0,
    )


def rigid(
    drawn: Float[np.ndarray, "mark 2"], found: Float[np.ndarray, "mark 2"]
) -> tuple[Float[np.ndarray, "2 2"], Float[np.ndarray, "2"]]:
    """Turn and shift that carry drawn marks to found ones best (least squares, no mirror).

    Source: closed form of the plane Procrustes problem, Kabsch (1976), Acta Cryst. A32, 922-923.
    """
    a, b = drawn - drawn.mean(0), found - found.mean(0)
    sine = (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum()
    cosine = (a * b).sum()
    size = float(np.hypot(sine, cosine)) or 1.0
    c, s = cosine / size, sine / size
    turn = np.array([[c, -s], [s, c]])
    return turn, found.mean(0) - turn @ drawn.mean(0)


def angle_of(turn: Float[np.ndarray, "2 2"]) -> float:
    """Angle of a turn, degrees, anticlockwise positive."""
    return float(np.degrees(np.arctan2(turn[1, 0], turn[0, 0])))

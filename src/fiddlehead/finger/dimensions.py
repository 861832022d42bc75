"""Lengths of the finger that follow from its parameters: one place for these formulas.

The formulas work on plain numbers and on JAX values alike, so the drawing, the printable solid,
the mesh and the derivatives by the design cannot disagree.
"""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np


@dataclasses.dataclass(frozen=True)
class Dimensions:
    """Lengths in mm, derived from the parameters (see the sketch in ``profile``)."""

    flank_run: Any
    """Length along x that one flank covers, ``(H - H_valley) / tan a``."""
    miter_shift: Any
    """Shift along x between the outer and the inner corner of a flank,
    ``(t_wall - t_roof cos a) / sin a``."""
    inner_land: Any
    """Flat length of the cavity at the peak of every bellows."""
    inner_valley: Any
    """Flat length of the cavity's roof in every valley, ``gap + 2 miter_shift``."""
    foot_span: Any
    """Length of the cavity of one bellows at the foot of its flanks (not the first bellows)."""
    first_foot: Any
    """x of the first bellows' distal flank, inner foot."""
    last_foot: Any
    """x where the cavity ends: the last bellows' distal flank, inner foot."""
    length: Any
    """Length of the finger along x."""
    inner_height: Any
    """y of the cavity's roof at the peaks."""
    inner_valley_height: Any
    """y of the cavity's roof in the valleys."""
    chamber_width: Any
    """Width of the cavity in the bellows, between the side walls."""


def dimensions(parameters: Any, xp: Any = np) -> Dimensions:
    """Derive the lengths of a finger.

    Parameters
    ----------
    parameters : anything with the attributes of ``FingerParameters``
    xp : ``numpy`` or ``jax.numpy``
    """
    p = parameters
    angle = xp.deg2rad(p.flank_angle_deg)
    sine, cosine = xp.sin(angle), xp.cos(angle)
    run = (p.height_mm - p.valley_height_mm) * cosine / sine
    shift = (p.wall_thickness_mm - p.roof_thickness_mm * cosine) / sine
    land = p.pitch_mm - p.valley_gap_mm - 2 * run - 2 * shift
    first_foot = p.root_length_mm + land + run
    last_foot = first_foot + (p.bellows_count - 1) * p.pitch_mm
    return Dimensions(
        flank_run=run,
        miter_shift=shift,
        inner_land=land,
        inner_valley=p.valley_gap_mm + 2 * shift,
        foot_span=land + 2 * run,
        first_foot=first_foot,
        last_foot=last_foot,
        length=last_foot + shift + p.tip_length_mm,
        inner_height=p.height_mm - p.roof_thickness_mm,
        inner_valley_height=p.valley_height_mm - p.roof_thickness_mm,
        chamber_width=p.width_mm - 2 * p.side_wall_thickness_mm,
    )

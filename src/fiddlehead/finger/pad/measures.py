"""The named lengths that the pad's vertices are sums of.

Struts are strips of constant thickness ``t`` around the lines of the ideal cell, so where three
of them meet, their sides meet in three points. With ``a`` the signed angle of the slanted strut
(outwards positive) and ``s`` measured along it from the ideal node: the sides towards the upright
strut meet it at ``s = t/2 (1 - sin a)/cos a``, as far above the node; the other two meet each
other ``t/(2 cos a)`` on the far side.
"""

from __future__ import annotations

from typing import Any

from fiddlehead.finger.pad.parameters import LATTICES, pad_depth

LEAST_CUT = 0.6
"""Length of a joint's block along its strut where three struts meet at 120 degrees, in strut
thicknesses; chosen by us so that its quadrilaterals are well shaped."""


def pad_measures(pad: Any, kind: Any, root: Any, length: Any, xp: Any) -> dict[str, Any]:
    """All lengths the pad's vertices are made of, mm.

    Parameters
    ----------
    pad : anything with the sizes of ``PadParameters``; numbers or JAX values
    kind : anything with the counts and the kind of ``PadParameters``
    root, length : x where the pad starts and ends, mm
    xp : ``numpy`` or ``jax.numpy``
    """
    ribs, skin = kind.rib_count > 0, pad.skin_thickness_mm
    bottom = -pad_depth(pad, ribs, kind.cells)
    found = {"start": root, "end": length, "contact": bottom}
    lattice = kind.cells in LATTICES
    if ribs or lattice:
        found["end wall"] = pad.end_wall_thickness_mm
    if ribs:
        found["ribs bottom"] = -pad.rib_depth_mm
        found |= _ribs(pad, kind.rib_count, length - root, xp)
    if lattice:
        top = -pad.rib_depth_mm - skin if ribs else 0.0
        found["cells top"], found["cells bottom"] = top, top - pad.cell_depth_mm
        make = _squares if kind.cells == "rotating squares" else honeycomb_measures
        found |= make(pad, kind, length - root, xp)
    return found


def _ribs(pad: Any, count: int, span: Any, xp: Any) -> dict[str, Any]:
    """Feet stand at equal gaps on both skins; the first and last gap include the lean."""
    angle = xp.deg2rad(pad.rib_angle_deg)
    foot = pad.rib_thickness_mm / xp.sin(angle)
    lean = pad.rib_depth_mm * xp.cos(angle) / xp.sin(angle)
    room = span - 2 * pad.end_wall_thickness_mm - xp.abs(lean) - count * foot
    gap = room / (count + 1)
    return {
        "rib foot": foot,
        "rib lean": lean,
        "rib gap": gap,
        "rib first": pad.end_wall_thickness_mm + xp.maximum(-lean, 0.0) + gap,
    }


def honeycomb_measures(pad: Any, kind: Any, span: Any, xp: Any) -> dict[str, Any]:
    """Lengths of re-entrant and hexagonal cells, mm.

    ``cell half``: half a cell's width; ``cell row``: height of a row; ``cell rise``: how far a
    node lies towards its upright strut from the middle of its chain of slanted struts.
    """
    angle = xp.deg2rad(pad.cell_angle_deg) * (-1.0 if kind.cells == "re-entrant" else 1.0)
    sine, cosine, t, wall = (
        xp.sin(angle),
        xp.cos(angle),
        pad.strut_thickness_mm,
        pad.end_wall_thickness_mm,
    )
    half = (span - wall) / (2 * kind.cell_count)
    straight = (1 - 2 * sine) / (2 * cosine)  # cut square to the strut, in thicknesses
    cut = (straight + xp.sqrt(straight**2 + 4 * LEAST_CUT**2)) / 2
    along = t * (cut + sine / (2 * cosine))
    return {
        "cell half": half,
        "cell row": pad.cell_depth_mm / kind.cell_rows,
        "cell rise": half * sine / cosine / 2,
        "strut": t,
        "joint near": t / 2 * (1 - sine) / cosine,
        "joint far": t / (2 * cosine),
        "cut along": along * cosine - t / 2 * sine,
        "cut across": -along * sine - t / 2 * cosine,
        "wall rise": wall / 2 * sine / cosine,
    }


def _squares(pad: Any, kind: Any, span: Any, xp: Any) -> dict[str, Any]:
    """Lengths of rotating squares, mm (Grima and Evans, 2000, J. Mater. Sci. Lett. 19, 1563).

    Squares of side ``s`` with opening angle ``o`` repeat every ``s (cos o/2 + sin o/2)``; a
    corner lies ``tan(45 deg - o/2)`` times half of that beside the line between two middles.
    Where the pad's length and depth do not agree, the squares are stretched to fit.
    """
    aside = xp.tan(xp.deg2rad(45.0 - pad.cell_angle_deg / 2))
    width = (span - 2 * pad.end_wall_thickness_mm) / kind.cell_count
    row = pad.cell_depth_mm / kind.cell_rows
    return {
        "square": width,
        "cell row": row,
        "hinge along": width / 2 * aside,
        "hinge across": row / 2 * aside,
        "strut": pad.strut_thickness_mm,
    }

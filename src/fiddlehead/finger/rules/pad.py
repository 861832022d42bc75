"""Rules of the pad: lines across ribs and struts, slots that close up, overhangs."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from fiddlehead.finger.pad.measures import pad_measures
from fiddlehead.finger.pad.parameters import PadParameters
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.finger.print_settings import PrintSettings
from fiddlehead.finger.rules.base import (
    COMMON_PRACTICE,
    GEOMETRY,
    OWN_JUDGEMENT,
    ROUNDING,
    DesignWarning,
    Rule,
)
from fiddlehead.finger.rules.printing import LINE_TOLERANCE

THIN_STRUT = 2
"""Lines that a strut which carries load should have."""
SQUARE_WITHIN = 0.1
"""Cells of rotating squares stretched by more than this are no squares any more."""


def _warn(
    field: str, message: str, found: str, advice: str, standing: str = COMMON_PRACTICE
) -> DesignWarning:
    return DesignWarning(f"pad.{field}", message, found, advice, standing)


def _measures(p: FingerParameters, pad: PadParameters) -> dict[str, float]:
    span = p.length_mm - p.root_length_mm
    return {k: float(v) for k, v in pad_measures(pad, pad, 0.0, span, np).items()}


def pad_lines(p: FingerParameters, s: PrintSettings) -> Iterator[DesignWarning]:
    """Ribs, struts and skins printed on their side are whole lines, best two or more."""
    pad = p.pad
    if pad is None or s.build_orientation != "side":
        return
    members = [("skin_thickness_mm", "the contact skin")]
    members += [("rib_thickness_mm", "a rib")] if pad.has_ribs else []
    members += [("strut_thickness_mm", "a strut")] if pad.has_lattice else []
    if pad.has_ribs or pad.has_lattice:
        members.append(("end_wall_thickness_mm", "the pad's end wall"))
    for field, label in members:
        thickness = getattr(pad, field)
        share = thickness / s.line_width_mm
        choices = " or ".join(
            f"{n * s.line_width_mm:.4g}" for n in (int(share), int(share) + 1) if n > 0
        )
        if abs(share - max(round(share), 1)) > LINE_TOLERANCE + ROUNDING:
            yield _warn(
                field,
                f"{label} is not a whole number of lines: the gap fill makes it uneven and stiff",
                f"{thickness:.4g} mm, {share:.2f} lines",
                f"Use {choices} mm.",
            )
        elif round(share) < THIN_STRUT:
            yield _warn(
                field,
                f"{label} of a single line tears where it carries load",
                f"{thickness:.4g} mm, {share:.2f} lines",
                f"Use {THIN_STRUT * s.line_width_mm:.4g} mm (two lines) or more.",
            )


def pad_slots(p: FingerParameters, s: PrintSettings) -> Iterator[DesignWarning]:
    """Openings of the pad narrower than two lines are welded in printing."""
    pad = p.pad
    if pad is None:
        return
    m, least = _measures(p, pad), 2 * s.line_width_mm
    if pad.has_ribs and m["rib gap"] < least - ROUNDING:
        yield _warn(
            "rib_count",
            "the printer will weld neighbouring ribs together at their feet",
            f"{m['rib gap']:.3g} mm between feet",
            f"Leave {least:.4g} mm (two lines) or more: take fewer or thinner ribs.",
        )
    if not pad.has_lattice:
        return
    if pad.cells == "rotating squares":
        gap = 2 * min(m["square"] / 2 - m["hinge along"], m["cell row"] / 2 - m["hinge across"])
        gap -= m["strut"]
        field, remedy = "cell_angle_deg", "open the squares more or narrow the necks"
    elif pad.cells == "re-entrant":
        gap = m["cell row"] / 2 + m["cell rise"] - m["joint far"]
        field, remedy = "cell_depth_mm", "deepen the layer or lower the re-entrant angle"
    else:
        gap = m["cell row"] / 2 - m["cell rise"] - m["joint near"]
        field, remedy = "cell_depth_mm", "deepen the layer or lower the angle"
    if gap < least - ROUNDING:
        what = "re-entrant gap" if pad.cells == "re-entrant" else "opening between struts"
        yield _warn(
            field,
            f"the {what} may close up in printing",
            f"{gap:.3g} mm",
            f"Leave {least:.4g} mm (two lines) or more: {remedy}.",
        )


def pad_support(p: FingerParameters, s: PrintSettings) -> Iterator[DesignWarning]:
    """The pad is a prism across the width: only on its side does every wall stand upright."""
    pad = p.pad
    if pad is None or s.build_orientation == "side" or not (pad.has_ribs or pad.has_lattice):
        return
    steepest = 0.0  # from the vertical
    if pad.has_ribs:
        lean = abs(90.0 - pad.rib_angle_deg)
        steepest = lean if s.build_orientation == "base_down" else 90.0 - lean
    if pad.has_lattice:
        steepest = 90.0  # skins over cells lie flat base down; uprights lie flat standing up
    if steepest > s.steepest_overhang_deg + ROUNDING:
        yield _warn(
            "cells" if pad.has_lattice else "rib_angle_deg",
            "parts of the pad hang over without support",
            f"{steepest:.3g} degrees from the vertical, printed {s.build_orientation}",
            "Print the finger on its side, where ribs and cells are upright walls.",
            GEOMETRY,
        )


def pad_proportions(p: FingerParameters, s: PrintSettings) -> Iterator[DesignWarning]:
    """What makes cells something else than their name says."""
    pad = p.pad
    if pad is None or not pad.has_lattice:
        return
    m = _measures(p, pad)
    if pad.cells == "rotating squares":
        stretch = m["square"] / m["cell row"]
        if abs(stretch - 1) > SQUARE_WITHIN:
            fitting = max(round(pad.cell_count * stretch), 1)
            yield _warn(
                "cell_count",
                "the squares are stretched, so they turn less freely",
                f"each {m['square']:.3g} mm long and {m['cell row']:.3g} mm deep",
                f"{fitting} of them would be nearly square.",
                OWN_JUDGEMENT,
            )
    elif pad.cells == "re-entrant":
        angle = np.radians(pad.cell_angle_deg)
        strut = m["cell half"] / np.cos(angle)
        if m["strut"] > 0.35 * strut:
            yield _warn(
                "strut_thickness_mm",
                "struts this stout hardly bend, so the cells hardly draw in sideways",
                f"{m['strut']:.3g} mm thick, {strut:.3g} mm long",
                "Take thinner struts or fewer cells; a third or less works.",
                OWN_JUDGEMENT,
            )


PAD_RULES: tuple[Rule, ...] = (pad_lines, pad_slots, pad_support, pad_proportions)

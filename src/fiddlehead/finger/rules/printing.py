"""Rules of printing: lines, layers, gaps, overhangs and bridges."""

from __future__ import annotations

from collections.abc import Iterator

from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.finger.print_settings import PrintSettings
from fiddlehead.finger.rules.base import (
    COMMON_PRACTICE,
    GEOMETRY,
    ROUNDING,
    DesignWarning,
    Rule,
    warn,
)
from fiddlehead.finger.walls import printed_walls

LINE_TOLERANCE = 0.05
"""A wall is a whole number of lines within this share of a line."""


def whole_lines(p: FingerParameters, s: PrintSettings) -> Iterator[DesignWarning]:
    """A wall that is not a whole number of lines is closed by gap fill, which leaks."""
    for wall in printed_walls(p, s):
        share = wall.printed_mm / wall.unit_mm
        nearest = max(round(share), 1)
        if abs(share - nearest) <= LINE_TOLERANCE + ROUNDING:
            continue
        counts = [n for n in (int(share), int(share) + 1) if n > 0]
        choices = " or ".join(f"{n * wall.scale:.4g}" for n in counts)
        unit = wall.unit
        yield warn(
            wall.field,
            f"{wall.label} is not a whole number of {unit}s: "
            + ("the gap fill leaves pinholes" if unit == "line" else "its height gets rounded"),
            f"{wall.thickness_mm:.4g} mm, {share:.2f} {unit}s",
            f"Use {choices} mm.",
        )


def tight_walls(p: FingerParameters, s: PrintSettings) -> Iterator[DesignWarning]:
    """Walls that hold air need three lines, or four layers where they lie flat."""
    for wall in printed_walls(p, s):
        least = 3 if wall.unit == "line" else 4
        share = wall.printed_mm / wall.unit_mm
        if share < least - LINE_TOLERANCE - ROUNDING:
            yield warn(
                wall.field,
                f"{wall.label} holds pressure with fewer than {least} {wall.unit}s and is likely to"
                " leak",
                f"{wall.thickness_mm:.4g} mm, {share:.2f} {wall.unit}s",
                f"Use {least * wall.scale:.4g} mm or more.",
            )


def welded_gap(p: FingerParameters, s: PrintSettings) -> Iterator[DesignWarning]:
    """Bellows that touch or nearly touch are printed as one."""
    d = p.dimensions
    if p.valley_gap_mm <= 0 or p.pitch_mm - p.valley_gap_mm < 2 * d.flank_run:
        yield warn(
            "pitch_mm",
            "neighbouring bellows interpenetrate",
            f"pitch {p.pitch_mm:.4g} mm, gap {p.valley_gap_mm:.4g} mm",
            f"Two flanks need {2 * d.flank_run:.4g} mm and the gap its own room: raise the pitch.",
            GEOMETRY,
        )
    elif p.valley_gap_mm < 2 * s.line_width_mm - ROUNDING:
        yield warn(
            "valley_gap_mm",
            "the printer will weld neighbouring bellows together",
            f"{p.valley_gap_mm:.4g} mm",
            f"Leave {2 * s.line_width_mm:.4g} mm (two lines) or more; 1 to 3 mm is usual.",
        )


def narrow_openings(p: FingerParameters, s: PrintSettings) -> Iterator[DesignWarning]:
    """Slots close up in printing; air needs a hole."""
    d = p.dimensions
    chamber = (d.inner_land + d.foot_span) / 2
    if chamber < 2 * s.line_width_mm - ROUNDING:
        yield warn(
            "pitch_mm",
            "the chambers are slots that may close up in printing",
            f"{chamber:.3g} mm long on average",
            f"Give them {2 * s.line_width_mm:.4g} mm or more: raise the pitch or thin the walls.",
        )
    opening = min(p.channel_height_mm, p.channel_width_mm)
    if opening < 2.0 - ROUNDING:
        field = "channel_width_mm" if opening == p.channel_width_mm else "valley_height_mm"
        yield warn(
            field,
            "the channel between the chambers may close up in printing",
            f"{opening:.3g} mm",
            "Give it 2 mm or more each way.",
        )
    if 0 < p.inlet_bore_mm < 2.0 - ROUNDING:
        yield warn(
            "inlet_bore_mm",
            "the inlet may close up in printing",
            f"{p.inlet_bore_mm:.3g} mm",
            "Give it 2 mm or more.",
        )


def self_support(p: FingerParameters, s: PrintSettings) -> Iterator[DesignWarning]:
    """Flanks that lean too far sag; support inside a closed cavity can never be taken out."""
    from_vertical = {
        "side": 0.0,
        "base_down": 90.0 - p.flank_angle_deg,
        "upright": p.flank_angle_deg,
    }[s.build_orientation]
    if from_vertical > s.steepest_overhang_deg + ROUNDING:
        wanted = (
            f"{90 - s.steepest_overhang_deg:.3g} or more"
            if s.build_orientation == "base_down"
            else f"{s.steepest_overhang_deg:.3g} or less"
        )
        yield warn(
            "flank_angle_deg",
            f"the flanks overhang {from_vertical:.3g} degrees from the vertical and do not support"
            " themselves",
            f"{p.flank_angle_deg:.4g} degrees, printed {s.build_orientation}",
            f"Use a flank angle of {wanted}, or print the finger on its side.",
        )


def bridges(p: FingerParameters, s: PrintSettings) -> Iterator[DesignWarning]:
    """Flat ceilings over the cavity longer than a soft line can span."""
    d = p.dimensions
    rise = d.inner_height - p.base_thickness_mm
    spans: list[tuple[str, str, float]]
    if s.build_orientation == "side" and p.narrow_channel:
        spans = [
            ("pitch_mm", "the upper side wall over each chamber", min(d.foot_span, rise)),
            ("valley_height_mm", "the webs over the channel", p.channel_height_mm),
        ]
    elif s.build_orientation == "side":
        spans = [("channel_width_mm", "the upper side wall from base to roof", rise)]
    elif s.build_orientation == "base_down":
        spans = [
            ("channel_width_mm", "the valleys across the channel", p.channel_width_mm),
            ("pitch_mm", "the roofs of the bellows", min(d.inner_land, d.chamber_width)),
        ]
    else:
        end = p.channel_height_mm if p.flank_angle_deg <= s.steepest_overhang_deg else rise
        spans = [("valley_height_mm", "the end of the cavity", min(end, d.chamber_width))]
    for field, place, span in spans:
        if span > s.longest_bridge_mm + ROUNDING:
            yield warn(
                field,
                f"{place} must bridge {span:.3g} mm without support and is likely to sag and leak",
                f"{span:.3g} mm, printed {s.build_orientation}",
                f"Keep bridges to {s.longest_bridge_mm:.3g} mm: shorten this span, make the channel"
                " narrower than the chambers, or choose another build orientation.",
            )


def lines_and_layers(p: FingerParameters, s: PrintSettings) -> Iterator[DesignWarning]:
    """Lines must fit the nozzle, layers the line."""
    ratio = s.line_width_mm / s.nozzle_diameter_mm
    if not 1.0 - ROUNDING <= ratio <= 1.5 + ROUNDING:
        yield DesignWarning(
            "print.line_width_mm",
            "lines this wide do not suit the nozzle",
            f"{s.line_width_mm:.3g} mm from a {s.nozzle_diameter_mm:.3g} mm nozzle",
            "Usual is 1 to 1.5 times the nozzle.",
            COMMON_PRACTICE,
        )
    if s.layer_height_mm > 0.75 * s.nozzle_diameter_mm + ROUNDING:
        yield DesignWarning(
            "print.layer_height_mm",
            "layers this high bond poorly and leak",
            f"{s.layer_height_mm:.3g} mm",
            f"Use {0.75 * s.nozzle_diameter_mm:.3g} mm (3/4 of the nozzle) or less.",
            COMMON_PRACTICE,
        )


PRINTING_RULES: tuple[Rule, ...] = (
    whole_lines,
    tight_walls,
    welded_gap,
    narrow_openings,
    self_support,
    bridges,
    lines_and_layers,
)

"""Rules of proportion: base, side walls, root and overall size."""

from __future__ import annotations

from collections.abc import Iterator

from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.finger.print_settings import PrintSettings
from fiddlehead.finger.rules.base import OWN_JUDGEMENT, ROUNDING, DesignWarning, Rule, warn

USUAL_LENGTH_MM = (60.0, 120.0)
MOST_SLENDER = 6.0


def base_layer(p: FingerParameters, s: PrintSettings) -> Iterator[DesignWarning]:
    """The base must not stretch but must bend."""
    ratio = p.base_thickness_mm / p.wall_thickness_mm
    if not 1.5 - ROUNDING <= ratio <= 2.5 + ROUNDING:
        fault = "bows and stretches with the chambers" if ratio < 1.5 else "hardly bends"
        yield warn(
            "base_thickness_mm",
            f"a base {ratio:.2g} times as thick as the wall {fault}",
            f"{p.base_thickness_mm:.4g} mm",
            f"Usual is 1.5 to 2.5 times the wall: {1.5 * p.wall_thickness_mm:.4g} to"
            f" {2.5 * p.wall_thickness_mm:.4g} mm.",
        )


def ballooning(p: FingerParameters, s: PrintSettings) -> Iterator[DesignWarning]:
    """Side walls thinner than the flanks bulge before the bellows unfold."""
    if p.side_wall_thickness_mm < p.wall_thickness_mm - ROUNDING:
        yield warn(
            "side_wall_thickness_mm",
            "side walls thinner than the flanks bulge instead of bending the finger",
            f"{p.side_wall_thickness_mm:.4g} mm",
            f"Use {p.wall_thickness_mm:.4g} mm or more.",
            OWN_JUDGEMENT,
        )


def inlet_wall(p: FingerParameters, s: PrintSettings) -> Iterator[DesignWarning]:
    """The root around the inlet carries the fitting and its seal."""
    if p.inlet_bore_mm == 0:
        return
    radius, axis = p.inlet_bore_mm / 2, p.inlet_height_mm
    wall = min(axis - radius, p.height_mm - axis - radius, p.width_mm / 2 - radius)
    if wall < 2 * p.wall_thickness_mm - ROUNDING:
        yield warn(
            "inlet_bore_mm",
            "the wall around the inlet is thin where the fitting presses and seals",
            f"{wall:.3g} mm left around the bore",
            f"Leave twice the wall thickness, {2 * p.wall_thickness_mm:.4g} mm.",
        )


def overall_length(p: FingerParameters, s: PrintSettings) -> Iterator[DesignWarning]:
    """Length follows from pitch, bellows, root and tip, so it is told here."""
    low, high = USUAL_LENGTH_MM
    if not low - ROUNDING <= p.length_mm <= high + ROUNDING:
        yield warn(
            "pitch_mm",
            "an unusual length for a printed bellows finger",
            f"{p.length_mm:.4g} mm",
            f"Usual is {low:.4g} to {high:.4g} mm: change the pitch or the number of bellows.",
        )
    slender = p.length_mm / min(p.width_mm, p.height_mm)
    if slender > MOST_SLENDER + ROUNDING:
        fault = (
            "so tall and thin that it sways while it is printed"
            if s.build_orientation == "upright"
            else "so slender that it sags and twists sideways"
        )
        narrowest = "width_mm" if p.width_mm <= p.height_mm else "height_mm"
        yield warn(
            narrowest,
            f"the finger is {fault}",
            f"{slender:.2g} times as long as it is wide or high",
            f"Keep the length under {MOST_SLENDER:.4g} times the smaller of width and height.",
            OWN_JUDGEMENT,
        )


PROPORTION_RULES: tuple[Rule, ...] = (base_layer, ballooning, inlet_wall, overall_length)

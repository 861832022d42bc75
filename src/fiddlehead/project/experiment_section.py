"""The ``[experiment]`` section: what to vary to find tight print settings."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from fiddlehead.fabricate.experiment_analysis import SMALLEST_LEAK
from fiddlehead.project.fields import COMMON, Section, entry

Names = Annotated[tuple[str, ...], Field(strict=False, min_length=1)]
Range = Annotated[tuple[float, float], Field(strict=False)]


class ExperimentSection(Section):
    """Print settings to vary on leak coupons, and how the runs are laid out."""

    design: Literal["full factorial", "fractional factorial", "Box-Behnken"] = entry(
        "fractional factorial",
        says="Screen many settings with a fraction, then map the two or three that matter.",
        standing=COMMON,
    )
    factors: Names | None = entry(
        None,
        words="a list of names of print settings",
        says="Print settings to vary; left out = the six that move the wall most.",
        example='# ["flow_percent", "layer_height_mm", "nozzle_temperature_deg_c"]',
    )
    ranges: dict[str, Range] = entry(
        {},
        says="Low and high of a setting, where the usual range does not suit your printer.",
        example="# flow_percent = [100.0, 110.0]",
    )
    resolution: int = entry(
        4,
        says="Of a fraction: 3 mixes main effects with pairs, 4 keeps them clear, 5 pairs too.",
        standing=COMMON,
        ge=3,
        le=8,
    )
    centre_points: int = entry(
        4,
        says="Coupons in the middle of all ranges.",
        standing=COMMON,
        usual=(3, 8),
        ge=0,
        le=50,
    )
    replicates: int = entry(
        2, says="Coupons of each kind; leaks scatter.", standing=COMMON, usual=(1, 5), ge=1, le=20
    )
    blocks: int = entry(
        2, says="Spools or days to spread the coupons over.", standing=COMMON, ge=1, le=20
    )
    seed: int = entry(1, says="Draws the random order; the same seed, the same order.", ge=0)
    smallest_leak_cm3_per_min: float = entry(
        SMALLEST_LEAK,
        says="Smallest leak your gauge can tell from none.",
        standing=COMMON,
        usual=(0.001, 1.0),
        gt=0,
        le=100,
    )

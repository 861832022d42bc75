"""Print settings that are worth varying when a wall leaks: those of the slicing sheet."""

from __future__ import annotations

import dataclasses
import math

from fiddlehead.errors import ParameterError
from fiddlehead.fabricate.slicing_sheet import Setting, usual_settings

WORDS = ("off", "on")
"""Levels of a setting with nothing in between."""


@dataclasses.dataclass(frozen=True)
class Factor:
    """One setting that an experiment varies between two levels.

    Raises
    ------
    ParameterError : levels that are not two different numbers, low first
    """

    name: str
    """As in the result sheet; carries the unit."""
    title: str
    unit: str
    """As written; empty for counts and words."""
    low: float
    high: float
    standing: str
    """Where the range comes from."""
    words: tuple[str, str] | None = None
    """What the levels 0 and 1 are called where there is nothing in between."""
    whole: bool = False
    """Only whole numbers exist."""

    def __post_init__(self) -> None:
        if not (math.isfinite(self.low) and math.isfinite(self.high) and self.low < self.high):
            raise ParameterError(
                "an experiment needs a low and a higher level",
                where=f"experiment.{self.name}",
                found=f"{self.low:g} to {self.high:g}",
                remedy="Write the low level first; make the step large enough to show.",
            )

    def actual(self, coded: float) -> float:
        """The setting at a coded level: -1 is low, 0 the middle, +1 high."""
        value = (self.low + self.high) / 2.0 + coded * (self.high - self.low) / 2.0
        return float(round(value)) if self.whole else value

    def coded(self, actual: float) -> float:
        """The coded level of a setting."""
        return (2.0 * actual - self.low - self.high) / (self.high - self.low)

    def written(self, coded: float) -> str:
        """The setting at a coded level, as it goes into the result sheet."""
        if self.words is not None:
            return self.words[1 if coded > 0 else 0]
        return f"{self.actual(coded):.6g}"

    def read(self, text: str) -> float:
        """The coded level a cell of the result sheet stands for.

        Raises
        ------
        ParameterError : neither a number nor one of the words
        """
        cell = text.strip()
        if self.words is not None:
            for level, word in zip((-1.0, 1.0), self.words, strict=True):
                if cell.lower() == word:
                    return level
        else:
            try:
                value = float(cell)
            except ValueError:
                value = math.nan
            if math.isfinite(value):
                return self.coded(value)
        raise ParameterError(
            "this setting cannot be read",
            where=f"result sheet, column {self.name}",
            found=repr(text),
            allowed=" or ".join(self.words) if self.words else "a number with a decimal point",
        )


def _factor(setting: Setting) -> Factor | None:
    """A setting of the slicing sheet as a factor; ``None`` where there is nothing to vary."""
    title = setting.name.partition(" (")[0]
    title = title[0].lower() + title[1:]
    if (setting.low, setting.high) == WORDS:
        return Factor(setting.key, title, "", 0.0, 1.0, setting.standing, words=WORDS)
    if not setting.searchable:
        return None
    return Factor(
        setting.key,
        title,
        setting.unit,
        float(setting.low),
        float(setting.high),
        setting.standing,
        whole=isinstance(setting.low, int),
    )


FACTORS: dict[str, Factor] = {
    factor.name: factor for setting in usual_settings() if (factor := _factor(setting))
}
"""Everything on the slicing sheet that has a range to search, by its name there."""
FIRST_SIX = (
    "flow_percent",
    "layer_height_mm",
    "nozzle_temperature_deg_c",
    "wall_speed_mm_per_s",
    "overlap_percent",
    "retraction_mm",
)
"""A sensible first six: those that move the wall itself."""


def chosen_factors(
    names: tuple[str, ...], ranges: dict[str, tuple[float, float]]
) -> tuple[Factor, ...]:
    """Factors by name, with ranges of one's own where given.

    Raises
    ------
    ParameterError : an unknown or repeated name, a range for a factor that is not varied or has
        words for levels
    """
    for name in (*names, *ranges):
        if name not in FACTORS:
            raise ParameterError(
                "there is no such print setting to vary",
                where="experiment.factors",
                found=repr(name),
                allowed=", ".join(FACTORS),
            )
    if len(set(names)) < len(names):
        raise ParameterError(
            "a setting is named twice", where="experiment.factors", found=", ".join(names)
        )
    for name in ranges:
        if name not in names or FACTORS[name].words:
            raise ParameterError(
                "a range for a setting that is not varied in steps of its own",
                where="experiment.ranges",
                found=name,
                allowed=", ".join(n for n in names if not FACTORS[n].words),
            )
    return tuple(
        dataclasses.replace(
            FACTORS[name],
            low=ranges[name][0],
            high=ranges[name][1],
            standing="your range",
        )
        if name in ranges
        else FACTORS[name]
        for name in names
    )

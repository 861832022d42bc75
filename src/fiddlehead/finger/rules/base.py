"""What a design rule is: a function from a finger and its print to warnings."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator

from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.finger.print_settings import PrintSettings

COMMON_PRACTICE = "common practice, no source"
OWN_JUDGEMENT = "chosen by us, no source"
GEOMETRY = "geometry"
ROUNDING = 1e-9
"""Sizes closer to a limit than this are on it."""


@dataclasses.dataclass(frozen=True)
class DesignWarning:
    """One unwise choice."""

    field: str
    """Parameter to look at first, ``finger.wall_thickness_mm``."""
    message: str
    """What is likely to go wrong."""
    found: str
    advice: str
    standing: str
    """What the rule rests on."""

    def __str__(self) -> str:
        return f"{self.field}: {self.message} (found {self.found}). {self.advice} [{self.standing}]"


Rule = Callable[[FingerParameters, PrintSettings], Iterator[DesignWarning]]


def warn(
    field: str, message: str, found: str, advice: str, standing: str = COMMON_PRACTICE
) -> DesignWarning:
    """A warning about a parameter of the finger."""
    return DesignWarning(f"finger.{field}", message, found, advice, standing)

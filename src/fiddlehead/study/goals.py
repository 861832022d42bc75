"""What is wanted of a design: objectives to push, limits to keep."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
from jaxtyping import Bool, Float

from fiddlehead.errors import ParameterError

Columns = Mapping[str, Float[np.ndarray, " design"]]
"""One array per quantity; NaN where a design has no such number."""
Direction = Literal["smallest", "largest"]


@dataclass(frozen=True)
class Objective:
    """A quantity to make as small or as large as possible."""

    quantity: str
    direction: Direction

    @property
    def sign(self) -> float:
        """Factor that turns the quantity into a cost."""
        return 1.0 if self.direction == "smallest" else -1.0


@dataclass(frozen=True)
class Limit:
    """A bound a design must keep, from one side or both."""

    quantity: str
    at_least: float | None = None
    at_most: float | None = None

    def __post_init__(self) -> None:
        low, high = self.at_least, self.at_most
        if (low is None and high is None) or (low is not None and high is not None and low > high):
            raise ParameterError(
                "a limit needs at_least, at_most, or both in order",
                where=f"study.at_least.{self.quantity}",
                found=f"at_least {low}, at_most {high}",
            )

    def excess(self, values: Float[np.ndarray, " design"]) -> Float[np.ndarray, " design"]:
        """By how much of the bound's own size the limit is missed; 0 or below where it is met,
        infinite where there is no number."""
        found = np.full(len(values), -np.inf)
        if self.at_least is not None:
            found = np.maximum(found, (self.at_least - values) / (abs(self.at_least) or 1.0))
        if self.at_most is not None:
            found = np.maximum(found, (values - self.at_most) / (abs(self.at_most) or 1.0))
        return np.where(np.isfinite(values), found, np.inf)

    @property
    def says(self) -> str:
        """In signs: ``tip_angle_deg >= 60``."""
        low = "" if self.at_least is None else f"{self.quantity} ≥ {self.at_least:g}"
        high = "" if self.at_most is None else f"{self.quantity} ≤ {self.at_most:g}"
        return " and ".join(part for part in (low, high) if part)


@dataclass(frozen=True)
class Goals:
    """Objectives and limits together."""

    objectives: tuple[Objective, ...]
    limits: tuple[Limit, ...] = ()

    def __post_init__(self) -> None:
        if not self.objectives:
            raise ParameterError(
                "nothing is wanted of the designs",
                where="study.largest",
                remedy="Name one objective or more.",
            )

    @property
    def quantities(self) -> tuple[str, ...]:
        """Every quantity a goal speaks of, each once."""
        named = [one.quantity for one in self.objectives] + [one.quantity for one in self.limits]
        return tuple(dict.fromkeys(named))

    def costs(self, columns: Columns) -> Float[np.ndarray, "design objective"]:
        """Objectives as costs: smaller is better; infinite where there is no number."""
        found = np.stack([o.sign * np.asarray(columns[o.quantity]) for o in self.objectives], 1)
        return np.where(np.isfinite(found), found, np.inf)

    def excess(self, columns: Columns) -> Float[np.ndarray, "design limit"]:
        """Miss of every limit, see :meth:`Limit.excess`."""
        count = len(columns[self.objectives[0].quantity])
        found = [limit.excess(np.asarray(columns[limit.quantity])) for limit in self.limits]
        return np.stack(found, 1) if found else np.zeros((count, 0))

    def met(self, columns: Columns) -> Bool[np.ndarray, " design"]:
        """Whether a design keeps all limits and has a number for every objective."""
        kept = (self.excess(columns) <= 0.0).all(1)
        return kept & np.isfinite(self.costs(columns)).all(1)

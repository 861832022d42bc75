"""What varies in a study: ranges and choices, and their place in the unit cube."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from jaxtyping import Float

from fiddlehead.errors import ParameterError

Value = float | int | str
Row = Mapping[str, Value]
"""One design: a value for every variable by name."""

DEFAULT_LEVELS = 3
"""Levels of a range without steps on a full grid."""


@dataclass(frozen=True)
class Range:
    """A number between two bounds; with ``steps`` only so many equally spaced values, ends
    included (walls of whole lines, for one)."""

    name: str
    low: float
    high: float
    steps: int | None = None

    def __post_init__(self) -> None:
        if not (math.isfinite(self.low) and math.isfinite(self.high) and self.low < self.high):
            raise ParameterError(
                "the bounds must rise",
                where=f"study.ranges.{self.name}",
                found=f"[{self.low:g}, {self.high:g}]",
                allowed="low below high",
            )
        if self.steps is not None and self.steps < 2:
            raise ParameterError(
                "too few steps",
                where=f"study.ranges.{self.name}",
                found=str(self.steps),
                allowed="2 or more",
                remedy="Leave the variable out to keep it as it is.",
            )

    @property
    def levels(self) -> tuple[float, ...]:
        """The values of a full grid."""
        count = self.steps or DEFAULT_LEVELS
        return tuple(self.at((k + 0.5) / count if self.steps else k / (count - 1))
                     for k in range(count))  # fmt: skip

    def at(self, share: float) -> float:
        """The value at a share of the range, 0 to 1; every step owns an equal part of it."""
        if self.steps is not None:
            share = min(int(share * self.steps), self.steps - 1) / (self.steps - 1)
        return float(self.low + share * (self.high - self.low))

    def share(self, value: Value) -> float:
        """Where a value lies: 0 at ``low``, 1 at ``high``, outside for values outside."""
        return (float(value) - self.low) / (self.high - self.low)

    @property
    def is_number(self) -> bool:
        """Whether values can be put in order."""
        return True


@dataclass(frozen=True)
class Choice:
    """One of several values: counts or kinds."""

    name: str
    values: tuple[Value, ...]

    def __post_init__(self) -> None:
        if len(set(self.values)) < 2 or len(set(self.values)) != len(self.values):
            raise ParameterError(
                "a choice needs two or more different values",
                where=f"study.choices.{self.name}",
                found=str(list(self.values)),
                remedy="Leave the variable out to keep it as it is.",
            )

    @property
    def levels(self) -> tuple[Value, ...]:
        """The values of a full grid."""
        return self.values

    def at(self, share: float) -> Value:
        """The value whose equal part of 0 to 1 holds ``share``."""
        return self.values[min(int(share * len(self.values)), len(self.values) - 1)]

    def share(self, value: Value) -> float:
        """The middle of the value's part.

        Raises
        ------
        ParameterError : no such choice
        """
        if value not in self.values:
            raise ParameterError(
                "not one of the choices",
                where=f"study.choices.{self.name}",
                found=str(value),
                allowed=", ".join(map(str, self.values)),
            )
        return (self.values.index(value) + 0.5) / len(self.values)

    @property
    def is_number(self) -> bool:
        """Whether values can be put in order."""
        return all(isinstance(v, (int, float)) for v in self.values)


Variable = Range | Choice


@dataclass(frozen=True)
class Space:
    """All variables of a study, and the way from the unit cube to designs and back."""

    variables: tuple[Variable, ...]

    def __post_init__(self) -> None:
        names = self.names
        twice = sorted({name for name in names if names.count(name) > 1})
        if not names or twice:
            raise ParameterError(
                "a variable is named twice" if twice else "nothing varies in this study",
                where="study.ranges",
                found=", ".join(twice),
                remedy="Name every variable once." if twice else "Name one variable or more.",
            )

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the variables in order."""
        return tuple(variable.name for variable in self.variables)

    def rows(self, unit: Float[np.ndarray, "design variable"]) -> list[dict[str, Value]]:
        """Designs at points of the unit cube."""
        return [
            {
                v.name: v.at(float(min(max(u, 0.0), 1.0)))
                for v, u in zip(self.variables, at, strict=True)
            }
            for at in np.asarray(unit, float)
        ]

    def unit(self, rows: Sequence[Row]) -> Float[np.ndarray, "design variable"]:
        """Points of the unit cube at designs."""
        points = [[v.share(row[v.name]) for v in self.variables] for row in rows]
        return np.array(points, float).reshape(len(rows), len(self.variables))

    def __getitem__(self, name: str) -> Variable:
        return self.variables[self.names.index(name)]


def plain(row: Mapping[str, Any]) -> dict[str, Value]:
    """A row with Python's own numbers, as JSON and SQLite take them."""
    return {
        name: value.item() if isinstance(value, np.generic) else value
        for name, value in row.items()
    }

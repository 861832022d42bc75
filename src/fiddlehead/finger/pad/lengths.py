"""Sums of named lengths: a vertex of the pad before its sizes are known.

``ROOT + 2.5 * PITCH`` is written once per layout; all vertices of all sizes then follow from one
matrix product, for plain numbers and JAX values alike.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
from jaxtyping import Float


@dataclasses.dataclass(frozen=True)
class Length:
    """A sum of named lengths with constant factors."""

    terms: tuple[tuple[str, float], ...] = ()

    def __add__(self, other: Length) -> Length:
        total = dict(self.terms)
        for name, factor in other.terms:
            total[name] = total.get(name, 0.0) + factor
        return Length(tuple(total.items()))

    def __mul__(self, factor: float) -> Length:
        return Length(tuple((name, factor * own) for name, own in self.terms))

    __rmul__ = __mul__

    def __neg__(self) -> Length:
        return self * -1.0

    def __sub__(self, other: Length) -> Length:
        return self + -other


ZERO = Length()


def named(name: str) -> Length:
    """The length of this name."""
    return Length(((name, 1.0),))


def between(start: Length, end: Length, share: float) -> Length:
    """The place at a share of the way from one to the other."""
    return (1 - share) * start + share * end


def matrix(lengths: Sequence[Length], names: Iterable[str]) -> Float[np.ndarray, "length name"]:
    """Factors of each length, one column per name."""
    column = {name: k for k, name in enumerate(names)}
    found = np.zeros((len(lengths), len(column)))
    for row, length in enumerate(lengths):
        for name, factor in length.terms:
            found[row, column[name]] += factor
    return found


def evaluate(factors: Float[np.ndarray, "length name"], values: Sequence[Any], xp: Any) -> Any:
    """Numbers of all lengths, mm."""
    return factors @ xp.stack([xp.asarray(value, dtype=float) for value in values])

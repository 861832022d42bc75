"""How much air passes a valve, a tube, or a row of them.

Source: ISO 6358-1:2013 (formula read in several public programs; the standard itself not at
hand) and ISO 6358-3 (components in series: the flow through all is one and the same, each takes
its share of the pressure).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from fiddlehead.air.reference import ANR, ROOM_K
from fiddlehead.errors import ParameterError

CM3_PER_KPA = 10.0
"""1 dm³/(s bar) in cm³/(s kPa)."""


@dataclass(frozen=True)
class Restriction:
    """One component after ISO 6358: a valve, a fitting, a tube.

    ``q = C p1 sqrt(T0/T1)`` while ``p2/p1 <= b`` (choked), beyond that times
    ``(1 - ((p2/p1 - b)/(1 - b))^2)^m``; pressures absolute, q at ANR.

    Raises
    ------
    ParameterError : a conductance that is not positive, a ratio outside 0 to 1
    """

    name: str
    conductance_dm3_per_s_bar: float
    """Sonic conductance C."""
    critical_ratio: float
    """b: 0.1 to 0.5 for real valves, 0.528 for the ideal nozzle."""
    subsonic_index: float = 0.5
    """m; 0.5 is the ellipse, tubes and filters go up to 0.6."""
    standing: str = ""
    """Where the numbers come from."""

    def __post_init__(self) -> None:
        _positive(self.name, "sonic conductance", self.conductance_dm3_per_s_bar, "dm³/(s bar)")
        _positive(self.name, "subsonic index", self.subsonic_index, "")
        if not 0 <= self.critical_ratio < 1:
            raise ParameterError(
                "no such critical pressure ratio",
                where=self.name,
                found=f"{self.critical_ratio}",
                allowed="0 to below 1",
                remedy="Take b from the data sheet; 0.3 is usual for small valves.",
            )

    def flow_cm3_per_s(
        self, inlet_absolute_kpa: Any, outlet_absolute_kpa: Any, inlet_temperature_k: float = ROOM_K
    ) -> Any:
        """Flow at ANR, cm³/s; 0 where the outlet pressure is the higher one."""
        b = self.critical_ratio
        ratio = np.clip(outlet_absolute_kpa / np.asarray(inlet_absolute_kpa, dtype=float), b, 1.0)
        share = (1.0 - ((ratio - b) / (1.0 - b)) ** 2) ** self.subsonic_index
        warm = math.sqrt(ANR.temperature_k / inlet_temperature_k)
        most = CM3_PER_KPA * self.conductance_dm3_per_s_bar * inlet_absolute_kpa * warm
        return most * share

    def ratio_left(self, load: Any) -> Any:
        """``p2/p1`` when the flow is ``load`` (0 to 1) times the choked one."""
        bend = np.sqrt(1.0 - np.asarray(load, dtype=float) ** (1.0 / self.subsonic_index))
        return self.critical_ratio + (1.0 - self.critical_ratio) * bend


@dataclass(frozen=True)
class Chain:
    """Components one after the other, in the direction of the flow.

    Exact for components that each follow ISO 6358: no averaged formula. As every component is
    homogeneous in pressure, the chain has a sonic conductance and a critical ratio of its own.

    Raises
    ------
    ParameterError : an empty chain
    """

    parts: tuple[Restriction, ...]

    def __post_init__(self) -> None:
        if not self.parts:
            raise ParameterError(
                "there is nothing to flow through",
                where="chain of valves and tubes",
                remedy="Name at least one valve or tube.",
            )

    @property
    def conductance_dm3_per_s_bar(self) -> float:
        """Sonic conductance of the whole."""
        return self._choked[0]

    @property
    def critical_ratio(self) -> float:
        """Pressure ratio below which the whole chokes."""
        return self._choked[1]

    @property
    def narrowest(self) -> Restriction:
        """The component to widen first: the one with the smallest sonic conductance."""
        return min(self.parts, key=lambda part: part.conductance_dm3_per_s_bar)

    def flow_cm3_per_s(
        self, inlet_absolute_kpa: Any, outlet_absolute_kpa: Any, inlet_temperature_k: float = ROOM_K
    ) -> Any:
        """Flow at ANR, cm³/s; 0 where the outlet pressure is the higher one.

        Takes numbers or arrays.
        """
        inlet = np.asarray(inlet_absolute_kpa, dtype=float)
        ratio = np.clip(outlet_absolute_kpa / inlet, 0.0, 1.0)
        most = self.conductance_dm3_per_s_bar
        low, high = np.zeros_like(ratio), np.full_like(ratio, most)
        for _ in range(60):  # halvings: to the last digit
            middle = (low + high) / 2.0
            too_little = self._left(middle) > ratio
            low, high = np.where(too_little, middle, low), np.where(too_little, high, middle)
        conductance = np.where(ratio <= self.critical_ratio, most, high)
        conductance = np.where(ratio >= 1.0, 0.0, conductance)
        return (
            CM3_PER_KPA * conductance * inlet * math.sqrt(ANR.temperature_k / inlet_temperature_k)
        )

    def _left(self, conductance: Any) -> Any:
        """Share of the inlet pressure left at the end for a flow per inlet pressure; 0 if none."""
        left = np.ones_like(conductance)
        for part in self.parts:
            most = part.conductance_dm3_per_s_bar * left
            load = np.divide(conductance, most, where=most > conductance, out=np.ones_like(left))
            left = np.where(conductance <= most, left * part.ratio_left(load), 0.0)
        return left

    @cached_property
    def _choked(self) -> tuple[float, float]:
        """Largest flow per inlet pressure that every component passes, and what is left then."""
        low, high = 0.0, self.narrowest.conductance_dm3_per_s_bar
        if self._left(np.array([high]))[0] > 0:
            return high, float(self._left(np.array([high]))[0])
        for _ in range(60):
            middle = (low + high) / 2.0
            passes = self._left(np.array([middle]))[0] > 0
            low, high = (middle, high) if passes else (low, middle)
        return low, float(self._left(np.array([low]))[0])


def side_by_side(name: str, parts: Sequence[Restriction]) -> Restriction:
    """Components fed and emptied together, as one.

    ``C = sum C_i`` and ``C/sqrt(1 - b) = sum C_i/sqrt(1 - b_i)``: equal choked flow and equal
    slope at small pressure drop. Source: ISO 6358-3:2014 (value from memory).

    Raises
    ------
    ParameterError : no parts
    """
    Chain(tuple(parts))
    total = sum(part.conductance_dm3_per_s_bar for part in parts)
    slope = sum(p.conductance_dm3_per_s_bar / math.sqrt(1 - p.critical_ratio) for p in parts)
    ratio = max(0.0, 1.0 - (total / slope) ** 2)
    return Restriction(name, total, ratio, standing="ISO 6358-3:2014, value from memory")


def _positive(where: str, what: str, value: float, unit: str) -> None:
    if not (math.isfinite(value) and value > 0):
        raise ParameterError(
            f"no such {what}",
            where=where,
            found=f"{value} {unit}".strip(),
            allowed="a number above 0",
            remedy="Take it from the data sheet.",
        )

"""The volume a finger offers to air, which grows with the pressure in it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float

from fiddlehead.errors import ParameterError


@dataclass(frozen=True, eq=False)
class Cavity:
    """Volume over gauge pressure, from a bend result or from a syringe on the bench.

    Between the points a monotone cubic runs (Fritsch and Carlson 1980, SIAM J. Numer. Anal. 17,
    238), which adds no waves of its own. One point alone is a rigid vessel at every pressure.

    Raises
    ------
    ParameterError : no points, pressures that do not rise from 0, volumes that are not positive
    """

    pressure_kpa: Float[np.ndarray, " point"]
    """Gauge, rising, the first 0."""
    volume_cm3: Float[np.ndarray, " point"]

    def __post_init__(self) -> None:
        pressure, volume = self.pressure_kpa, self.volume_cm3
        if not len(volume) or len(volume) != len(pressure):
            raise ParameterError(
                "pressures and volumes come in pairs",
                where="V(p)",
                found=f"{len(pressure)} pressures, {len(volume)} volumes",
                remedy="Give one volume for each pressure.",
            )
        if not (np.isfinite(pressure).all() and pressure[0] == 0 and (np.diff(pressure) > 0).all()):
            raise ParameterError(
                "the pressures must rise from 0 kPa gauge",
                where="V(p)",
                found=np.array2string(pressure, threshold=8, precision=4),
                remedy="Sort the points and begin with the volume at rest.",
            )
        if not (np.isfinite(volume).all() and (volume > 0).all()):
            raise ParameterError(
                "no such volume",
                where="V(p)",
                found=np.array2string(volume, threshold=8, precision=4),
                allowed="more than 0 cm³",
                remedy="Mind the unit: a finger holds a few cm³ to some tens of cm³.",
            )

    @classmethod
    def rigid(cls, volume_cm3: float) -> Cavity:
        """A vessel whose walls do not give."""
        return cls(np.zeros(1), np.array([float(volume_cm3)]))

    def together(self, count: int = 1, dead_volume_cm3: float = 0.0) -> Cavity:
        """``count`` of these fed at once, with tubes and manifold of ``dead_volume_cm3``."""
        return Cavity(self.pressure_kpa, count * self.volume_cm3 + dead_volume_cm3)

    @property
    def highest_kpa(self) -> float:
        """Gauge pressure up to which the volume is known."""
        return float("inf") if len(self.volume_cm3) == 1 else float(self.pressure_kpa[-1])

    def volume_at(self, gauge_kpa: Float[np.ndarray, " time"]) -> Float[np.ndarray, " time"]:
        """Volume at gauge pressures, cm³; below 0 the volume at rest.

        Raises
        ------
        ParameterError : a pressure above those the curve knows
        """
        return self._curve(gauge_kpa, 0)

    def compliance_at(self, gauge_kpa: Float[np.ndarray, " time"]) -> Float[np.ndarray, " time"]:
        """Volume compliance dV/dp at gauge pressures, cm³/kPa.

        Raises
        ------
        ParameterError : a pressure above those the curve knows
        """
        return self._curve(gauge_kpa, 1)

    def _curve(self, gauge_kpa: np.ndarray, derivative: int) -> np.ndarray:
        if len(self.volume_cm3) == 1:
            return np.full_like(gauge_kpa, 0.0 if derivative else self.volume_cm3[0], dtype=float)
        top = float(np.max(gauge_kpa))
        if top > self.highest_kpa * (1 + 1e-9):
            raise ParameterError(
                "the finger's volume is not known at this pressure",
                where="V(p)",
                found=f"{top:.4g} kPa",
                allowed=f"up to {self.highest_kpa:.4g} kPa",
                remedy="Bend the finger to a higher pressure first, or lower this one.",
            )
        from scipy.interpolate import PchipInterpolator

        curve = PchipInterpolator(self.pressure_kpa, self.volume_cm3)
        inside = np.clip(gauge_kpa, 0.0, self.highest_kpa)
        return np.asarray(curve(inside, derivative))

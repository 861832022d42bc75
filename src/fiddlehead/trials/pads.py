"""Pads compared on one object: at equal air pressure and at equal grip force.

At equal air pressure a soft pad also weakens the grip, which flatters it; at equal grip force only
the contact differs. Values at a force lie between two pressure steps in proportion.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping

import numpy as np
from jaxtyping import Float

from fiddlehead.trials.records import PressResult

MESH_TOLERANCE = 0.10
"""Change of the 95th percentile between two meshes up to which it is trusted: our choice."""
BINS = 24


@dataclasses.dataclass(frozen=True, kw_only=True)
class PadFigures:
    """One pad under one condition. Pressures of the contact in kPa."""

    name: str
    air_kpa: float
    grip_force_n: float
    peak_kpa: float
    p95_kpa: float
    mean_kpa: float
    contact_area_mm2: float
    peak_factor: float
    """How many times lower the peak is than on the bare finger; NaN without one."""
    p95_factor: float
    p95_mesh_change: float
    """Relative change of the 95th percentile on the second mesh; NaN without one."""

    @property
    def mesh_holds(self) -> bool:
        """Whether a second mesh agrees on the 95th percentile."""
        return self.p95_mesh_change <= MESH_TOLERANCE


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class PadComparison:
    """All pads on one object."""

    object_name: str
    grip_force_n: float
    """The equal grip force: what the weakest of them reaches."""
    air_kpa: float
    """The equal air pressure."""
    at_force: tuple[PadFigures, ...]
    at_air: tuple[PadFigures, ...]
    histogram_edges_kpa: Float[np.ndarray, " edge"]
    histogram_mm2: Float[np.ndarray, "pad bin"]
    """Contact area (whole finger) by contact pressure at the equal grip force."""
    step_at_force: tuple[float, ...]
    """Pressure step of each at the equal grip force; a fraction lies between two steps."""


def step_at_force(result: PressResult, force_n: float) -> float:
    """Where the grip force is first reached, in steps; NaN when it never is."""
    force = result.grip_force_n
    above = np.flatnonzero(force >= force_n * (1 - 1e-12))
    if not len(above):
        return float("nan")
    high = int(above[0])
    if high == 0:
        return 0.0
    share = (force_n - force[high - 1]) / (force[high] - force[high - 1])
    return float(high - 1 + min(share, 1.0))


def compare_pads(
    found: Mapping[str, PressResult], again: Mapping[str, PressResult] | None = None
) -> PadComparison:
    """Compare pads on one object.

    Parameters
    ----------
    found : results by the name of the pad; ``none`` is the bare finger the factors refer to
    again : the same on another mesh, to judge whether the figures hold
    """
    again = again or {}
    names = [name for name, result in found.items() if result.grip_force_n.max() > 0]
    both = [found[n] for n in names] + [again[n] for n in names if n in again]
    force = min(float(result.grip_force_n.max()) for result in both)
    air = min(float(result.pressure_mpa[-1]) for result in both)

    def figures(at: Mapping[str, float], at_again: Mapping[str, float]) -> tuple[PadFigures, ...]:
        bare = _read(found["none"], at["none"]) if "none" in at else None
        rows = []
        for name in names:
            own = _read(found[name], at[name])
            other = _read(again[name], at_again[name])["p95"] if name in at_again else np.nan
            rows.append(
                PadFigures(
                    name=name,
                    air_kpa=1e3 * own["air"],
                    grip_force_n=own["force"],
                    peak_kpa=1e3 * own["peak"],
                    p95_kpa=1e3 * own["p95"],
                    mean_kpa=1e3 * own["mean"],
                    contact_area_mm2=own["area"],
                    peak_factor=_factor(bare, own, "peak"),
                    p95_factor=_factor(bare, own, "p95"),
                    p95_mesh_change=abs(other / own["p95"] - 1) if own["p95"] > 0 else np.nan,
                )
            )
        return tuple(rows)

    by_force = {n: step_at_force(found[n], force) for n in names}
    again_by_force = {n: step_at_force(again[n], force) for n in names if n in again}
    by_air = {n: _step_at_air(found[n], air) for n in names}
    again_by_air = {n: _step_at_air(again[n], air) for n in names if n in again}
    edges, histogram = _histogram([found[n] for n in names], [by_force[n] for n in names])
    return PadComparison(
        object_name=next(iter(found.values())).object_name,
        grip_force_n=force,
        air_kpa=1e3 * air,
        at_force=figures(by_force, again_by_force),
        at_air=figures(by_air, again_by_air),
        histogram_edges_kpa=edges,
        histogram_mm2=histogram,
        step_at_force=tuple(by_force[n] for n in names),
    )


def _step_at_air(result: PressResult, air_mpa: float) -> float:
    return float(np.interp(air_mpa, result.pressure_mpa, np.arange(len(result.pressure_mpa))))


def _read(result: PressResult, step: float) -> dict[str, float]:
    steps = np.arange(len(result.pressure_mpa))
    curves = {
        "air": result.pressure_mpa, "force": result.grip_force_n, "peak": result.peak_mpa,
        "p95": result.p95_mpa, "mean": result.mean_mpa, "area": result.contact_area_mm2,
    }  # fmt: skip
    return {name: float(np.interp(step, steps, curve)) for name, curve in curves.items()}


def _factor(bare: dict[str, float] | None, own: dict[str, float], name: str) -> float:
    return bare[name] / own[name] if bare and own[name] > 0 else float("nan")


def _histogram(
    results: list[PressResult], steps: list[float]
) -> tuple[Float[np.ndarray, " edge"], Float[np.ndarray, "pad bin"]]:
    fields = []
    for result, step in zip(results, steps, strict=True):
        low, share = int(step), step - int(step)
        high = min(low + 1, len(result.pressure_mpa) - 1)
        fields.append(
            [
                (1 - share) * field[low] + share * field[high]
                for field in (result.point_pressure_mpa, result.point_area_mm2)
            ]
        )
    threshold = results[0].threshold_mpa
    most = max(float(pressure.max()) for pressure, _ in fields)
    edges = np.linspace(0.0, 1e3 * max(most, threshold), BINS + 1)
    rows = []
    for pressure, area in fields:
        touching = pressure >= threshold
        weights = 2.0 * area[touching]
        rows.append(np.histogram(1e3 * pressure[touching], edges, weights=weights)[0])
    return edges, np.array(rows)

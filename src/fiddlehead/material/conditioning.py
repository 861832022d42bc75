"""Reduction: from raw cycles of several specimens to one loading branch per test mode.

Zero, choose the cycle, take out the set, average over specimens, cut to the range of use. Fitting
over a far larger range than the finger uses spoils the range that matters.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, Int

from fiddlehead.errors import CurveError
from fiddlehead.material.cycles import first_pull, hysteresis_loss, split_cycles, toe_strain
from fiddlehead.material.records import MODES, Cycle, ReducedCurve, TensileCurve

CUT_FACTOR = 1.3
"""Data are kept up to this multiple of the largest strain in use (common practice: 1.2 to 1.5)."""

GRID_POINTS = 30
"""Strains at which the mean curve is given."""

FEWEST_SPECIMENS = 3
"""ISO 37 asks for three or more."""


@dataclass(frozen=True)
class _Branch:
    """One specimen reduced: its loading branch with zero and set taken out."""

    stretch: Float[np.ndarray, " sample"]
    stress: Float[np.ndarray, " sample"]
    cycle: Cycle
    cycles: int
    residual_strain: float
    loss: float
    softening: float


def reduce_curves(
    curves: Sequence[TensileCurve],
    *,
    cycle: Cycle = "conditioned",
    use_strain: float = 0.6,
    points: int = GRID_POINTS,
) -> tuple[ReducedCurve, ...]:
    """Reduce all specimens to one curve per test mode.

    Parameters
    ----------
    curves : specimens as tested, modes mixed as they come
    cycle : ``"first pull"``, or ``"conditioned"`` for the loading branch of the last cycle
    use_strain : largest nominal strain expected in use, fraction; data are kept up to 1.3 times it
        in tension, and in compression to the same factor of length
    points : strains on the common grid

    Raises
    ------
    CurveError : no curves, or too little left within the range of use
    """
    if not curves:
        raise CurveError("no test curves", remedy="Declare at least one test file.")
    if use_strain <= 0.0:
        raise CurveError(
            "the largest strain in use must be positive",
            where="use_strain",
            found=f"{use_strain:g}",
            allowed="above 0, as a fraction",
        )
    present = [mode for mode in MODES if any(curve.mode == mode for curve in curves)]
    return tuple(
        _reduce_mode([c for c in curves if c.mode == mode], cycle, use_strain, points)
        for mode in present
    )


def _reduce_mode(
    curves: Sequence[TensileCurve], cycle: Cycle, use_strain: float, points: int
) -> ReducedCurve:
    branches = [_loading_branch(curve, cycle) for curve in curves]
    furthest = 1.0 + CUT_FACTOR * use_strain
    cut = [_cut(curve, branch, furthest) for curve, branch in zip(curves, branches, strict=True)]
    stretch, stress, scatter = _average(curves, cut, points)
    taken: Cycle = (
        "conditioned" if all(b.cycle == "conditioned" for b in branches) else "first pull"
    )
    warnings = []
    if taken != cycle:
        warnings.append(
            f"{curves[0].mode}: the conditioned curve was asked for, but a specimen was pulled "
            "only once; it is a first pull, stiffer than in service."
        )
    if len(curves) < FEWEST_SPECIMENS:
        warnings.append(
            f"{curves[0].mode}: {len(curves)} specimen(s); ISO 37 asks for three or more, "
            "so the scatter is not known."
        )
    return ReducedCurve(
        mode=curves[0].mode,
        cycle=taken,
        stretch=stretch,
        nominal_stress_mpa=stress,
        scatter_mpa=scatter,
        specimens=len(curves),
        cycles=min(branch.cycles for branch in branches),
        residual_strain=float(np.mean([branch.residual_strain for branch in branches])),
        hysteresis_loss=float(np.mean([branch.loss for branch in branches])),
        softening=float(np.mean([branch.softening for branch in branches])),
        files=tuple(dict.fromkeys((curve.file, curve.sha256) for curve in curves)),
        warnings=tuple(warnings),
    )


def _loading_branch(curve: TensileCurve, wanted: Cycle) -> _Branch:
    """Zero one specimen and take the wanted branch, measured from its own unloaded length.

    After a set ``s`` the specimen is longer by ``1 + s`` and thinner in section by the same
    factor (its volume kept), so stretch is divided by it and nominal stress multiplied.
    """
    sign = -1.0 if curve.stretch.max() - 1.0 < 1.0 - curve.stretch.min() else 1.0
    strain = sign * (curve.stretch - 1.0)
    stress = sign * curve.nominal_stress_mpa
    cycles = split_cycles(strain)
    virgin = first_pull(strain, cycles)
    last = np.arange(cycles[-1].start, cycles[-1].peak + 1)
    if not curve.zeroed:
        stress = stress - _resting_stress(strain, stress)
        strain = strain - toe_strain(strain[virgin], stress[virgin])
    conditioned = wanted == "conditioned" and (len(cycles) > 1 or curve.conditioned)
    rows = last if conditioned else virgin
    residual = 0.0
    if conditioned and len(cycles) > 1:
        residual = max(toe_strain(strain[last], stress[last]), 0.0)
    unloaded = 1.0 + sign * residual
    if not curve.zeroed or residual > 0.0:
        rows = rows[strain[rows] > residual]  # slack carries no stress
    return _Branch(
        stretch=(1.0 + sign * strain[rows]) / unloaded,
        stress=sign * stress[rows] * unloaded,
        cycle="conditioned" if conditioned else "first pull",
        cycles=len(cycles),
        residual_strain=sign * residual,
        loss=hysteresis_loss(strain, stress, cycles[-1] if conditioned else cycles[0]),
        softening=_softening(strain, stress, virgin, last),
    )


def _resting_stress(
    strain: Float[np.ndarray, " sample"], stress: Float[np.ndarray, " sample"]
) -> float:
    """Mean reading before the specimen moves (0.2 % of the strain span)."""
    moving = np.abs(strain - strain[0]) > 0.002 * np.ptp(strain)
    return float(stress[: max(int(np.argmax(moving)), 1)].mean())


def _softening(
    strain: Float[np.ndarray, " sample"],
    stress: Float[np.ndarray, " sample"],
    virgin: Int[np.ndarray, " chosen"],
    last: Int[np.ndarray, " chosen"],
) -> float:
    at = 0.8 * min(float(strain[virgin].max()), float(strain[last].max()))
    first, again = (
        float(np.interp(at, *_sorted(strain[rows], stress[rows]))) for rows in (virgin, last)
    )
    return 1.0 - again / first if first > 0.0 else float("nan")


def _sorted(
    x: Float[np.ndarray, " n"], y: Float[np.ndarray, " n"]
) -> tuple[Float[np.ndarray, " n"], Float[np.ndarray, " n"]]:
    order = np.argsort(x, kind="stable")
    return x[order], y[order]


def _cut(
    curve: TensileCurve, branch: _Branch, furthest: float
) -> tuple[Float[np.ndarray, " n"], Float[np.ndarray, " n"]]:
    """The branch sorted by stretch, within the factor ``furthest`` of length either way."""
    stretch, stress = _sorted(branch.stretch, branch.stress)
    keep = (stretch <= furthest) & (stretch >= 1.0 / furthest)
    if np.count_nonzero(keep) < 3:
        raise CurveError(
            "fewer than three samples lie within the range of use",
            where=f"{curve.file}, specimen {curve.specimen}",
            found=f"stretch {stretch.min():.3g} to {stretch.max():.3g}" if len(stretch) else "none",
            allowed=f"stretch {1.0 / furthest:.3g} to {furthest:.3g}",
            remedy="Give a larger use strain, or a curve with more samples at small strain.",
        )
    return stretch[keep], stress[keep]


def _average(
    curves: Sequence[TensileCurve],
    branches: Sequence[tuple[Float[np.ndarray, " _"], Float[np.ndarray, " _"]]],
    points: int,
) -> tuple[Float[np.ndarray, " p"], Float[np.ndarray, " p"], Float[np.ndarray, " p"]]:
    """Mean and sample standard deviation on a common grid; each specimen averaged in bins first.

    A single specimen with no more samples than grid points is kept as it is.
    """
    if len(branches) == 1 and len(branches[0][0]) <= points:
        stretch, stress = branches[0]
        return stretch, stress, np.zeros_like(stress)
    low = max(float(stretch[0]) for stretch, _ in branches)
    high = min(float(stretch[-1]) for stretch, _ in branches)
    if high <= low:
        raise CurveError(
            "the specimens share no range of strain",
            where=", ".join(curve.specimen for curve in curves),
            remedy="Check the sizes and units of each, or leave one out.",
        )
    edges = np.linspace(low, high, points + 1)
    binned = [_bin_means(stretch, stress, edges) for stretch, stress in branches]
    grid = np.linspace(
        max(float(b[0][0]) for b in binned), min(float(b[0][-1]) for b in binned), points
    )
    table = np.array([np.interp(grid, *means) for means in binned])
    scatter = table.std(axis=0, ddof=1) if len(table) > 1 else np.zeros(points)
    return grid, table.mean(axis=0), scatter


def _bin_means(
    stretch: Float[np.ndarray, " n"],
    stress: Float[np.ndarray, " n"],
    edges: Float[np.ndarray, " e"],
) -> tuple[Float[np.ndarray, " b"], Float[np.ndarray, " b"]]:
    inside = (stretch >= edges[0]) & (stretch <= edges[-1])
    bins = np.clip(np.digitize(stretch[inside], edges) - 1, 0, len(edges) - 2)
    count = np.bincount(bins, minlength=len(edges) - 1)
    filled = count > 0
    means = [
        np.bincount(bins, weights=values[inside], minlength=len(edges) - 1)[filled] / count[filled]
        for values in (stretch, stress)
    ]
    return means[0], means[1]

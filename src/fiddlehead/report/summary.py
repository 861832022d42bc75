"""What a result says in a few sentences, and what its reader must be warned of."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from jaxtyping import Float

from fiddlehead.material.card import MaterialCard
from fiddlehead.project.run_sections import LoadsSection
from fiddlehead.trials.buckling import FAR
from fiddlehead.trials.records import (
    BendResult,
    BlockResult,
    LateralResult,
    RunHistory,
    StrainPeaks,
)
from fiddlehead.units import say


@dataclass(frozen=True)
class Summary:
    """Sentences, the most wanted first; warnings apart."""

    sentences: tuple[str, ...]
    warnings: tuple[str, ...]

    def warned(self, more: Iterable[str]) -> Summary:
        """The same with further warnings in front."""
        return Summary(self.sentences, (*more, *self.warnings))


def summarise_bend(
    result: BendResult, loads: LoadsSection, card: MaterialCard, *, first: str = "tip tangent"
) -> Summary:
    """Angle, tip, strain and volume at the highest pressure that was met.

    Parameters
    ----------
    first : which bending angle is told first: ``tip tangent`` or ``chord``
    """
    pressure = say(1e3 * result.pressure_mpa[-1], "kPa")
    angles = [
        f"{say(result.tip_angle_deg[-1], 'deg')} tip tangent",
        f"{say(result.chord_angle_deg[-1], 'deg')} chord",
    ]
    one, other = angles if first == "tip tangent" else angles[::-1]
    x, y = result.tip_path_mm[-1]
    volumes = result.cavity_volume_mm3[[0, -1]] / 1e3
    return Summary(
        sentences=(
            f"Bending angle {one} ({other}) at {pressure}.",
            f"Tip at x {say(x, 'mm')}, y {say(y, 'mm')}.",
            _strain_sentence(result.strain),
            f"Cavity {say(volumes[0], 'cm3')} at rest, {say(volumes[1], 'cm3')} at {pressure}.",
            *_touch_sentence(result),
        ),
        warnings=(
            *run_warnings(result.history, result.pressure_mpa, result.strain, loads, card),
            *card.warnings,
        ),
    )


def _touch_sentence(result: BendResult) -> tuple[str, ...]:
    """When neighbouring bellows meet; nothing when they stay apart."""
    if result.touch_pressure_mpa is None:
        return ()
    touch = say(1e3 * result.touch_pressure_mpa, "kPa")
    return (f"Neighbouring bellows first touch at {touch} and push on each other from there.",)


def summarise_block(
    results: Sequence[BlockResult], loads: LoadsSection, card: MaterialCard
) -> Summary:
    """Force at the highest pressure that was met, at each preset angle."""
    sentences, warnings = [], []
    for result in results:
        sentences.append(
            f"Blocked force {say(result.force_n[-1], 'N')} at "
            f"{say(1e3 * result.pressure_mpa[-1], 'kPa')}, plate met at "
            f"{say(result.touch_angle_deg, 'deg')}, contact "
            f"{say(result.contact_distance_mm[-1], 'mm')} from the root; hand bound "
            f"{say(result.hand_bound_n[-1], 'N')}."
        )
        place = f"At {result.preset_angle_deg:g}°: " if len(results) > 1 else ""
        told = run_warnings(result.history, result.pressure_mpa, result.strain, loads, card)
        warnings += [place + text for text in told]
        if result.explanation:
            warnings.append(place + result.explanation)
    return Summary(tuple(sentences), (*warnings, *card.warnings))


def summarise_lateral(result: LateralResult, card: MaterialCard) -> Summary:
    """Lateral stiffness at rest and at the highest pressure, and where lateral buckling lies."""
    stiffness, buckling = result.stiffness_n_per_mm, result.buckling_pressure_mpa
    highest = say(1e3 * result.pressure_mpa[-1], "kPa")
    sentences = [
        f"Lateral stiffness at the tip {say(stiffness[0], 'N/mm')} at rest, "
        f"{say(stiffness[-1], 'N/mm')} at {highest}; a push of 1 N there moves the tip face by "
        f"{say(1.0 / stiffness[-1], 'mm')} and twists it by "
        f"{say(abs(result.twist_deg_per_n[-1]), 'deg')}."
        if not result.unstable_shapes[-1]
        else f"Lateral stiffness at the tip {say(stiffness[0], 'N/mm')} at rest, none at {highest}."
    ]
    if not result.warning:
        sentences.append(
            f"No lateral buckling in sight up to {FAR:g} times that pressure."
            if buckling is None
            else "Carried on from the last pressures, lateral buckling lies at about "
            f"{buckling / result.pressure_mpa[-1]:.2g} times that pressure."
        )
    history = result.history
    return Summary(
        sentences=tuple(sentences),
        warnings=(
            *([result.warning] if result.warning else []),
            *_ended_early(history),
            *card.warnings,
        ),
    )


def _strain_sentence(strain: StrainPeaks) -> str:
    return (
        f"Largest log strain {100 * strain.peak[-1]:.1f} % at the {strain.region[-1]}; 95 % of the "
        f"volume stays below {100 * strain.p95[-1]:.1f} %; across layers up to "
        f"{100 * strain.across_layers[-1]:.1f} % at the {strain.across_layers_region[-1]}."
    )


def run_warnings(
    history: RunHistory,
    pressure_mpa: Float[np.ndarray, " step"],
    strain: StrainPeaks,
    loads: LoadsSection,
    card: MaterialCard,
) -> tuple[str, ...]:
    """An early end, strains beyond the user's limits, and a law used beyond its data."""
    found = list(_ended_early(history))
    limits = (
        ("in the layer plane", strain.in_plane, loads.strain_limit_percent),
        ("across layers", strain.across_layers, loads.strain_limit_across_layers_percent),
    )
    for name, values, limit in limits:
        over = np.flatnonzero(100.0 * values > limit)
        if len(over):
            found.append(
                f"Strain {name} passes your limit of {limit:g} % at "
                f"{say(1e3 * pressure_mpa[over[0]], 'kPa')} (point value; depends on the mesh)."
            )
    nominal = math.expm1(float(strain.peak[-1])) if len(strain.peak) else 0.0
    beyond = card.beyond_data(nominal)
    if beyond:
        found.append(beyond)
    elif card.use_strain and nominal > card.use_strain:
        found.append(
            f"Nominal strain reaches {100 * nominal:.0f} %, the law was checked to "
            f"{100 * card.use_strain:.0f} %: raise use_strain_percent and fit again."
        )
    return tuple(found)


def _ended_early(history: RunHistory) -> tuple[str, ...]:
    if history.complete:
        return ()
    reached = say(1e3 * history.pressure_reached_mpa, "kPa")
    return (f"The curve ends at {reached}: {history.reason}",)

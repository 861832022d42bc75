"""Free bending, many designs at once through the lanes of the engine."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import jax
import numpy as np

from fiddlehead.mechanics.path import PathSettings
from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.study.catalogue import Found
from fiddlehead.study.pattern import Design
from fiddlehead.trials.bend_many import bend_many
from fiddlehead.trials.records import BendResult

SETTINGS = PathSettings(first_step=0.25, tolerance=1e-5)
"""Longer first steps and a looser balance than a single curve: a quarter fewer solves on designs
around the demo, results equal to 1e-4 (benchmarks.study)."""


def measure(designs: Sequence[Design], mesh: MeshSettings) -> Iterator[tuple[int, Found]]:
    """Bending of every design at its working pressure."""
    pattern = designs[0].pattern
    top = max(design.working_pressure_mpa for design in designs)
    steps = np.linspace(0.0, top, pattern.pressure_steps + 1)[1:]
    for place, result in bend_many(
        [design.finger for design in designs],
        [design.law for design in designs],
        [design.bulk_modulus_mpa for design in designs],
        steps,
        pressure_factors=[design.working_pressure_mpa / top for design in designs],
        mesh_settings=mesh,
        build_orientation=pattern.build_orientation,
        lanes=1 if jax.default_backend() == "cpu" else None,  # lanes in step wait for each other
        settings=SETTINGS,
    ):
        yield place, found(result)


def found(result: BendResult) -> Found:
    """The numbers at the last pressure, none where the path ended before it."""
    if not result.history.complete:
        return Found({}, f"bend: {result.history.reason}")
    strain = result.strain
    values = {
        "tip_angle_deg": result.tip_angle_deg[-1],
        "chord_angle_deg": result.chord_angle_deg[-1],
        "strain_peak_percent": 100.0 * strain.peak[-1],
        "strain_p95_percent": 100.0 * strain.p95[-1],
        "strain_across_layers_percent": 100.0 * strain.across_layers[-1],
        "inflated_volume_cm3": 1e-3 * result.cavity_volume_mm3[-1],
    }
    if np.isfinite(result.smallest_gap_mm[-1]):
        values["smallest_gap_mm"] = max(0.0, result.smallest_gap_mm[-1])
    return Found({name: float(value) for name, value in values.items()})

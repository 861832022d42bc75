"""Lateral stiffness, one design after the other."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.study.catalogue import Found
from fiddlehead.study.pattern import Design
from fiddlehead.trials.lateral import lateral


def measure(designs: Sequence[Design], mesh: MeshSettings) -> Iterator[tuple[int, Found]]:
    """Lateral stiffness of every design at its working pressure."""
    for place, design in enumerate(designs):
        result = lateral(
            design.finger,
            design.law,
            design.bulk_modulus_mpa,
            np.linspace(0.0, design.working_pressure_mpa, design.pattern.pressure_steps + 1)[1:],
            mesh_settings=mesh,
        )
        if not result.history.complete:
            yield place, Found({}, f"lateral: {result.history.reason}")
            continue
        values = {"lateral_stability": float(result.stability[-1])}
        if result.unstable_shapes[-1]:
            yield place, Found(values, "lateral: the finger would fall sideways at this pressure")
            continue
        values["lateral_stiffness_n_per_mm"] = float(result.stiffness_n_per_mm[-1])
        yield place, Found(values)

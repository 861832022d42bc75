"""Blocked force, one design after the other."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from fiddlehead.errors import ParameterError
from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.study.catalogue import Found
from fiddlehead.study.pattern import Design
from fiddlehead.trials.block import block


def measure(designs: Sequence[Design], mesh: MeshSettings) -> Iterator[tuple[int, Found]]:
    """Blocked force of every design at its working pressure and the pattern's preset angle."""
    for place, design in enumerate(designs):
        yield place, _one(design, mesh)


def _one(design: Design, mesh: MeshSettings) -> Found:
    pattern = design.pattern
    steps = max(pattern.pressure_steps, 2)
    try:
        result = block(
            design.finger,
            design.law,
            design.bulk_modulus_mpa,
            np.linspace(0.0, design.working_pressure_mpa, steps + 1)[1:],
            preset_angle_deg=pattern.preset_angle_deg,
            tip_hold=pattern.tip_hold,
            contact_length_mm=pattern.contact_length_mm,
            mesh_settings=mesh,
            build_orientation=pattern.build_orientation,
        )
    except ParameterError as error:
        return Found({}, f"block: {error}")
    if not result.history.complete:
        return Found({}, f"block: {result.history.reason}")
    return Found({"blocked_force_n": float(result.force_n[-1])})

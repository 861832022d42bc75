"""Pressing on the project's objects, one design and one object after the other."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from fiddlehead.errors import ParameterError
from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.objects.making import shape_of
from fiddlehead.objects.records import ObjectRecord
from fiddlehead.study.catalogue import Found
from fiddlehead.study.pattern import Design, Pressing
from fiddlehead.trials.press import press
from fiddlehead.trials.records import PressResult


def measure(designs: Sequence[Design], mesh: MeshSettings) -> Iterator[tuple[int, Found]]:
    """Contact of every design at its working pressure, the worst of the pattern's objects."""
    for place, design in enumerate(designs):
        yield place, _one(design, mesh)


def _one(design: Design, mesh: MeshSettings) -> Found:
    pressing = design.pattern.pressing
    if pressing is None:
        return Found({}, "press: the pattern names no objects")
    met = []
    for record in pressing.objects:
        try:
            result = _pressed(design, pressing, record, mesh)
        except ParameterError as error:
            return Found({}, f"press on {record.name}: {error}")
        if not result.history.complete:
            return Found({}, f"press on {record.name}: {result.history.reason}")
        met.append((record, 1e3 * float(result.p95_mpa[-1]), float(result.grip_force_n[-1])))
    values = {
        "grip_force_n": min(force for _, _, force in met),
        "contact_p95_kpa": max(p95 for _, p95, _ in met),
    }
    limits = [
        record.contact_pressure_limit_kpa / p95
        for record, p95, _ in met
        if record.contact_pressure_limit_kpa is not None and p95 > 0
    ]
    if limits:
        values["contact_margin"] = min(limits)
    return Found(values)


def _pressed(
    design: Design, pressing: Pressing, record: ObjectRecord, mesh: MeshSettings
) -> PressResult:
    steps = max(design.pattern.pressure_steps, 2)
    return press(
        design.finger,
        design.law,
        design.bulk_modulus_mpa,
        np.linspace(0.0, design.working_pressure_mpa, steps + 1)[1:],
        shape_of(record, pressing.folder),
        object_name=record.name,
        friction_coefficient=record.friction_coefficient,
        orientation=pressing.orientation,
        touch_at_mm=1e-2 * pressing.touch_at_percent * design.finger.length_mm,
        clearance_mm=pressing.clearance_mm,
        threshold_kpa=pressing.threshold_kpa,
        mesh_settings=mesh,
        build_orientation=design.pattern.build_orientation,
    )

"""The finger that is measured: the demo project's, its own card, ten pressures to 150 kPa."""

from __future__ import annotations

import dataclasses
from functools import cache

import numpy as np
from jaxtyping import Float

from benchmarks.record import ROOT
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.material.card import MaterialCard
from fiddlehead.project.load import load_project
from fiddlehead.project.material import make_material

WORKING_PRESSURE_MPA = 0.150
PRESSURES_MPA = np.linspace(0.0, WORKING_PRESSURE_MPA, 11)[1:]


@cache
def demo_finger() -> tuple[FingerParameters, MaterialCard]:
    """The demo finger and the card fitted to the demo's invented tests."""
    project = load_project(ROOT / "examples" / "greenware")
    return project.finger, make_material(project, "2026-01-01").card


def with_bellows(count: int) -> FingerParameters:
    """The demo finger with another number of bellows."""
    return dataclasses.replace(demo_finger()[0], bellows_count=count)


def first(count: int) -> Float[np.ndarray, " step"]:
    """The first ``count`` of the ten pressures."""
    return PRESSURES_MPA[:count]

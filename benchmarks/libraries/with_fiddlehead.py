"""The finger by fiddlehead itself: the call its users make, meshing and all results included."""

from __future__ import annotations

import numpy as np

from benchmarks.libraries.problem import Problem, Step, Steps
from fiddlehead.trials.bend import bend

NAME = "fiddlehead"
PACKAGES = ("jax", "jaxlib")
METHOD = "20-node bricks, linear pressure and inner function eliminated; own front"


def solve(problem: Problem) -> Steps:
    """Bend the finger through all pressures at once."""
    result = bend(
        problem.finger,
        problem.card.law(),
        problem.card.bulk_modulus_mpa,
        problem.pressures_mpa,
        mesh_settings=problem.settings,
    )
    assert result.history.complete, result.history.reason
    for solves, displacement in zip(
        np.diff(result.history.solves_at_step), result.displacement_mm[1:], strict=True
    ):
        yield Step(int(solves), result.history.unknowns, displacement[problem.tip])

"""The task that every library gets: a mesh, a law, pressures, and when a state counts as found."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from jaxtyping import Float, Int

from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.material.card import MaterialCard
from fiddlehead.mesh.build import build_mesh
from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.trials.angles import tip_angle_deg

TOLERANCE = 1e-8
"""Out-of-balance force on the free nodes relative to all internal forces (Euclidean norms)."""
MOST_ITERATIONS = 30


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class Problem:
    """The half finger ``z >= 0``, clamped at the root, closed by symmetry, with live pressure."""

    finger: FingerParameters
    card: MaterialCard
    settings: MeshSettings
    pressures_mpa: Float[np.ndarray, " step"]
    points: Float[np.ndarray, "node 3"]
    elements: Int[np.ndarray, "element 20"]
    """20-node bricks with straight edges, node order of the open VTK format."""
    faces: dict[str, Int[np.ndarray, "face 8"]]

    @property
    def yeoh(self) -> tuple[float, float, float]:
        """``c10, c20, c30`` in MPa of ``c10 (I1 - 3) + c20 (I1 - 3)² + c30 (I1 - 3)³``."""
        return tuple(self.card.constants[name] for name in ("c10_mpa", "c20_mpa", "c30_mpa"))

    @property
    def corners(self) -> tuple[Int[np.ndarray, " corner"], Int[np.ndarray, "element 8"]]:
        """Nodes at the bricks' corners, and the bricks in numbers of those."""
        used, compact = np.unique(self.elements[:, :8], return_inverse=True)
        return used, compact.reshape(-1, 8)

    @property
    def tip(self) -> Int[np.ndarray, " tip"]:
        """Nodes of the tip face."""
        return np.unique(self.faces["tip"])


def make_problem(
    finger: FingerParameters,
    card: MaterialCard,
    settings: MeshSettings,
    pressures_mpa: Float[np.ndarray, " step"],
) -> Problem:
    """Mesh the finger once for all libraries."""
    mesh = build_mesh(finger, settings)
    return Problem(
        finger=finger, card=card, settings=settings, pressures_mpa=pressures_mpa,
        points=mesh.points, elements=mesh.elements, faces=mesh.faces,
    )  # fmt: skip


class Step(NamedTuple):
    """What a library found at one pressure."""

    solves: int
    """Linear systems solved for it."""
    unknowns: int
    """Unknowns of its linear system."""
    tip_displacement: Float[np.ndarray, "tip 3"]
    """mm, at ``Problem.tip``."""


Steps = Iterator[Step]


def angle_deg(problem: Problem, displacement: Float[np.ndarray, "tip 3"]) -> float:
    """Tip angle by one definition for all libraries, degrees."""
    whole = np.zeros((1, *problem.points.shape))
    whole[0, problem.tip] = displacement
    return float(tip_angle_deg(build_mesh(problem.finger, problem.settings), whole)[0])


def require_patience(solves: int, pressure_mpa: float) -> None:
    """Give up on a Newton's method that has had its iterations.

    Raises
    ------
    ArithmeticError : no balance was found
    """
    if solves >= MOST_ITERATIONS:
        raise ArithmeticError(f"no balance at {1000 * pressure_mpa:g} kPa")

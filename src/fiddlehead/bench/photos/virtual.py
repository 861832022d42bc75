"""What the camera would see of a predicted finger: the same marks, the same reduction.

Marks on the side of a soft block turn a little differently from the tip face; measured and
predicted angles are only comparable when both are read off the same marks.
"""

from __future__ import annotations

import numpy as np
from jaxtyping import Float

from fiddlehead.bench.photos.angles import MarkAngles, mark_angles
from fiddlehead.bench.photos.records import Setup
from fiddlehead.trials.records import BendResult


def carried_marks(
    result: BendResult, step: int, points: Float[np.ndarray, "mark 2"]
) -> Float[np.ndarray, "mark 2"]:
    """Where marks drawn on the straight finger are at one pressure step, mm.

    Marks beyond the tip sit on a card that turns with the tip face; others on the side face,
    between whose nodes the displacement is interpolated (thin-plate splines of the 24 nearest).
    """
    from scipy.interpolate import RBFInterpolator

    mesh = result.mesh
    length = float(mesh.points[:, 0].max())
    side = np.flatnonzero(mesh.points[:, 2] > mesh.points[:, 2].max() - 1e-6)
    net = RBFInterpolator(
        mesh.points[side, :2], result.displacement_mm[step][side, :2], neighbors=24
    )
    a = np.radians(-result.tip_angle_deg[step])
    turn = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])
    on_card = result.tip_path_mm[step] + (points - np.array([length, 0.0])) @ turn.T
    return np.where(points[:, :1] > length, on_card, points + net(points))


def seen_curve(result: BendResult, setup: Setup) -> list[MarkAngles]:
    """Angles a camera would read off the marks at each pressure step."""
    found = []
    for step in range(len(result.pressure_mpa)):
        angles = mark_angles(setup, carried_marks(result, step, setup.marks), 0.0)
        assert angles is not None  # no mark is ever hidden here
        found.append(angles)
    return found

"""Bending angles and tip path from displacements; every definition in one place."""

from __future__ import annotations

from typing import Any

import numpy as np
from jaxtyping import Float

from fiddlehead.mechanics.element import face_functions
from fiddlehead.mechanics.quadrature import FACE_RULE
from fiddlehead.mesh.records import Mesh


def tip_angle_deg(
    mesh: Mesh, displacement: Float[np.ndarray, "step node 3"]
) -> Float[np.ndarray, " step"]:
    """Rotation of the tip face against its undeformed state, degrees, positive towards -y.

    The face's fibre along y is fitted by least squares over the undeformed face area:
    ``angle = atan2(du_x/dy, 1 + du_y/dy)``. Continuous over the steps, so it may pass 180°.
    """
    slopes = tip_slopes(mesh.points, displacement, mesh.faces["tip"])
    return np.degrees(np.unwrap(np.arctan2(slopes[:, 0], 1.0 + slopes[:, 1])))


def tip_twist_deg(
    mesh: Mesh,
    displacement: Float[np.ndarray, "step node 3"],
    sideways: Float[np.ndarray, "step node 3"],
) -> Float[np.ndarray, " step"]:
    """Small rotation of the tip face about the finger's axis there, degrees.

    ``displacement`` bends the finger, ``sideways`` is small and moves it out of its plane;
    positive where the bellows' side (+y) leans further to +z than the gripping side.
    """
    bent = tip_slopes(mesh.points, displacement, mesh.faces["tip"])
    stretch = np.hypot(bent[:, 0], 1.0 + bent[:, 1])
    leaning = tip_slopes(mesh.points, sideways, mesh.faces["tip"])[:, 2]
    return np.degrees(leaning / stretch)


def tip_slopes(points: Any, displacement: Any, faces: Any, xp: Any = np) -> Float[Any, "step 3"]:
    """``du/dy`` of the tip face, by least squares over its undeformed area.

    Parameters
    ----------
    points : undeformed, mm, (node, 3); ``displacement`` : mm, (step, node, 3)
    faces : 8-node faces of the tip, (face, 8)
    xp : ``numpy`` or ``jax.numpy``
    """
    shape, slope = face_functions(FACE_RULE.points)
    x = points[faces]
    normal = xp.cross(
        xp.einsum("qa,fai->fqi", slope[..., 0], x), xp.einsum("qa,fai->fqi", slope[..., 1], x)
    )
    area = FACE_RULE.weights * xp.linalg.norm(normal, axis=-1)
    y = xp.einsum("qa,fa->fq", shape, x[..., 1])
    lever = area * (y - (area * y).sum() / area.sum())
    moved = xp.einsum("qa,sfai->sfqi", shape, displacement[:, faces])
    return xp.einsum("fq,sfqi->si", lever, moved) / (lever * y).sum()


def tip_point(mesh: Mesh) -> int:
    """Node at the end of the base's inner face at mid-width, ``(L, 0, 0)``."""
    return _node_at(mesh, (float(mesh.points[:, 0].max()), 0.0, 0.0))


def tip_path_mm(
    mesh: Mesh, displacement: Float[np.ndarray, "step node 3"]
) -> Float[np.ndarray, "step 2"]:
    """x and y of the tip point at each step, mm."""
    tip = tip_point(mesh)
    return (mesh.points[tip] + displacement[:, tip])[:, :2]


def chord_angle_deg(path: Float[np.ndarray, "step 2"]) -> Float[np.ndarray, " step"]:
    """Angle from the root's axis (+x from the origin) to the line to the tip point, degrees."""
    return np.degrees(np.unwrap(np.arctan2(-path[:, 1], path[:, 0])))


def _node_at(mesh: Mesh, place: tuple[float, float, float]) -> int:
    return int(np.argmin(((mesh.points - np.array(place)) ** 2).sum(1)))

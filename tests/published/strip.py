"""A slender solid strip in plane strain: what a beam theory can be held against."""

from __future__ import annotations

import numpy as np

from fiddlehead.material.laws import NeoHookean
from fiddlehead.testing.bodies import Body, box

LENGTH, HEIGHT, WIDTH, MU, BULK = 100.0, 1.0, 1.0, 1.0, 1e3
STIFFNESS = 4 * MU * WIDTH * HEIGHT**3 / 12
"""Bending stiffness, N mm²: in plane strain an incompressible solid has E/(1 - nu²) = 4 mu."""


def strip() -> tuple[Body, np.ndarray]:
    """The strip and its supports: the root section stays plane but may thin as a beam's does."""
    mesh = box((LENGTH, HEIGHT, WIDTH), (25, 1, 1))
    fixed = np.zeros((len(mesh.points), 3), dtype=bool)
    fixed[:, 2] = True
    root = mesh.points[:, 0] == 0.0
    fixed[root, 0] = True
    fixed[root & np.isclose(mesh.points[:, 1], HEIGHT / 2), 1] = True
    return mesh, fixed


def tip_motion(mesh: Body, u: np.ndarray) -> tuple[float, float]:
    """Sideways and shortening motion of the middle of the end face, over the length."""
    tip = np.isclose(mesh.points[:, 0], LENGTH) & np.isclose(mesh.points[:, 1], HEIGHT / 2)
    x, y, _ = u[tip].mean(axis=0) / LENGTH
    return float(y), float(-x)


def strip_law() -> NeoHookean:
    return NeoHookean(MU)

"""Integration rules on the reference cube and square, and where they come from."""

from __future__ import annotations

import dataclasses
import itertools

import numpy as np
from jaxtyping import Float


@dataclasses.dataclass(frozen=True)
class Quadrature:
    """Points and weights on ``[-1, 1]^d``, exact for polynomials of total ``degree``."""

    name: str
    points: Float[np.ndarray, "point axis"]
    weights: Float[np.ndarray, " point"]
    degree: int


def gauss(points_per_axis: int, axes: int) -> Quadrature:
    """Tensor product of Gauss-Legendre rules, exact to degree ``2 n - 1`` along each axis.

    Source: Hughes (2000), The Finite Element Method, sec. 3.8.
    """
    x, w = np.polynomial.legendre.leggauss(points_per_axis)
    points = np.array(list(itertools.product(x, repeat=axes)))
    weights = np.array([np.prod(c) for c in itertools.product(w, repeat=axes)])
    return Quadrature(f"gauss{points_per_axis}", points, weights, 2 * points_per_axis - 1)


def irons14() -> Quadrature:
    """Fourteen points on the cube, exact for total degree 5 at half the cost of 3 x 3 x 3.

    Source: Irons (1971), Quadrature rules for brick based finite elements, IJNME 3, 293-294.
    """
    a, c = np.sqrt(19 / 30), np.sqrt(19 / 33)
    axis = [s * a * e for e in np.eye(3) for s in (-1.0, 1.0)]
    corner = [c * np.array(s) for s in itertools.product((-1.0, 1.0), repeat=3)]
    weights = np.array([320 / 361] * 6 + [121 / 361] * 8)
    return Quadrature("irons14", np.array(axis + corner), weights, 5)


BRICK_RULES = {"gauss2": gauss(2, 3), "irons14": irons14(), "gauss3": gauss(3, 3)}
FACE_RULE = gauss(3, 2)

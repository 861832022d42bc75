"""Stability: how far a law can be trusted not to soften under more load.

Drucker's postulate for an incompressible body under plane stress: the tangent of true stress by
logarithmic strain (2 x 2, symmetric) must be positive definite. It is followed along the test
modes from rest; the first loss in each is reported. A law may be safe in the tensile test and fail
in a ballooning wall, so equibiaxial and planar are asked for whatever was tested.
"""

from __future__ import annotations

import numpy as np
from jaxtyping import Float

from fiddlehead.material.laws.base import Energy
from fiddlehead.material.records import MODES, Mode, Stability
from fiddlehead.material.response import SECOND_LOG_STRETCH, log_stretch_pairs, plane_tangent

SEARCH = (0.12, 8.0)
"""Stretches between which a loss of stability is sought."""

_STEPS = 400


def stability(law: Energy, *, use_strain: float) -> Stability:
    """Check a law for a positive initial modulus and stable tangent in the four test modes.

    Parameters
    ----------
    use_strain : largest nominal strain in use; in compression the reciprocal stretch is asked for

    Returns
    -------
    Stability with the stretch at which each mode is lost (None: not within 0.12 to 8)
    """
    return Stability(
        positive_modulus=bool(np.asarray(law.shear_modulus_mpa) > 0.0),
        limits={mode: stability_limit(law, mode) for mode in MODES},
        use_limits={mode: use_limit(mode, use_strain) for mode in MODES},
        search=SEARCH,
    )


def use_limit(mode: Mode, use_strain: float) -> float:
    """Furthest stretch of a mode in use: ``1 + strain``, or its reciprocal in compression."""
    return 1.0 / (1.0 + use_strain) if mode == "compression" else 1.0 + use_strain


def stability_limit(law: Energy, mode: Mode) -> float | None:
    """Stretch at which the tangent stops being positive definite, to 1e-6; None if not found.

    An energy that is not a number (a limit of extensibility passed) counts as lost.
    """
    end = float(np.log(SEARCH[0] if mode == "compression" else SEARCH[1]))
    low, high = 0.0, end
    for _ in range(2):  # the second pass looks closer at the interval found by the first
        steps = np.linspace(low, high, _STEPS)
        lost = np.flatnonzero(~(_smallest_tangent(law, mode, steps) > 0.0))
        if not len(lost):
            return None
        if lost[0] == 0:
            return float(np.exp(steps[0]))
        low, high = steps[lost[0] - 1], steps[lost[0]]
    return float(np.exp(0.5 * (low + high)))


def _smallest_tangent(
    law: Energy, mode: Mode, log_stretch: Float[np.ndarray, " step"]
) -> Float[np.ndarray, " step"]:
    """Smaller eigenvalue of the plane-stress tangent along a mode, MPa."""
    pairs = log_stretch_pairs(np.exp(log_stretch), SECOND_LOG_STRETCH[mode])
    tangent = np.asarray(plane_tangent(law, pairs))
    mean = 0.5 * (tangent[:, 0, 0] + tangent[:, 1, 1])
    half = 0.5 * (tangent[:, 0, 0] - tangent[:, 1, 1])
    return mean - np.hypot(half, tangent[:, 0, 1])

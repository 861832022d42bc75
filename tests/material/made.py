"""Tests that a known law would give, several specimens with a little scatter."""

from __future__ import annotations

import numpy as np

from fiddlehead.material.records import TensileCurve
from fiddlehead.material.response import nominal_stress_mpa

ALL_MODES = ("uniaxial", "planar", "equibiaxial", "compression")


def specimens_of(
    law, modes=ALL_MODES, top=2.0, specimens=3, noise=0.01, conditioned=True, samples=200
):
    rng = np.random.default_rng(4)
    curves = []
    for mode in modes:
        for k in range(specimens):
            stretch = np.linspace(1.0, 0.5 if mode == "compression" else top, samples)
            stress = np.asarray(nominal_stress_mpa(law, mode, stretch))
            curves.append(
                TensileCurve(
                    mode=mode,
                    specimen=str(k),
                    stretch=stretch,
                    nominal_stress_mpa=stress * (1 + noise * rng.standard_normal()),
                    zeroed=True,
                    conditioned=conditioned,
                    file=f"{mode}_{k}.csv",
                    sha256="0" * 64,
                )
            )
    return curves

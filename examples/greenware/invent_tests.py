"""Invents the test files in ``tensile/``: no machine was used and no material is described.

A soft printed elastomer of about 85 Shore A is imagined: a three-constant law in the first
invariant, stiffer on the first pull, softening over four cycles to 100 % strain, with set,
hysteresis, specimen scatter, load cell offset and noise. Same seed, same bytes.

    python examples/greenware/invent_tests.py
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

from fiddlehead.files import write_text

FIRST_PULL_MPA = (2.75, -0.26, 0.026)
CONDITIONED_MPA = (1.95, -0.12, 0.012)
"""c10, c20, c30 of ``W = Σ c (I1-3)^i``; conditioned: initial Young's modulus 11.7 MPa."""

LARGEST_STRAIN = 1.0
SETS = (0.0, 0.026, 0.033, 0.036)
"""Set at the start of each cycle, fraction of the original length."""

EXCESS = (0.0, 0.10, 0.04, 0.0)
"""How much stiffer each reloading is than the conditioned curve."""

SAMPLES = 110
"""Per way up or down."""

WIDTH_MM, THICKNESS_MM, GAUGE_LENGTH_MM = 4.02, 2.05, 20.0
SEED = 20261125


def nominal_stress(constants: tuple[float, ...], stretch: np.ndarray, planar: bool) -> np.ndarray:
    """Incompressible nominal stress, MPa (Treloar 1975, ch. 4): uniaxial or planar tension."""
    i1 = stretch**2 + (1 + stretch**-2 if planar else 2 / stretch)
    slope = sum(k * c * (i1 - 3) ** (k - 1) for k, c in enumerate(constants, start=1))
    return 2 * (stretch - stretch ** (-3.0 if planar else -2.0)) * slope


def cycles(planar: bool) -> tuple[np.ndarray, np.ndarray]:
    """Strain and nominal stress of four cycles between zero and the largest strain."""
    up = np.linspace(0.0, LARGEST_STRAIN, SAMPLES)
    strains, stresses = [], []
    for k in range(len(SETS)):
        loading = _loading(k, up, planar)
        later = min(k + 1, len(SETS) - 1)
        relaxed = _loading(later, up, planar, set_strain=SETS[later])
        way = np.clip((up - SETS[later]) / (LARGEST_STRAIN - SETS[later]), 0.0, 1.0)
        fade = np.exp(-(1.0 - way) / 0.08)
        unloading = relaxed * (1.0 - 0.28 * (1.0 - way) * (1.0 - fade))
        unloading *= 1.0 + (loading[-1] / relaxed[-1] - 1.0) * fade
        strains += [up, up[-2:0:-1]]
        stresses += [loading, unloading[-2:0:-1]]
    return np.concatenate(strains), np.concatenate(stresses)


def _loading(k: int, strain: np.ndarray, planar: bool, set_strain: float | None = None):
    """One reloading: slack until the set is taken up, then the softened curve."""
    if k == 0:
        return nominal_stress(FIRST_PULL_MPA, 1.0 + strain, planar)
    unloaded = 1.0 + (SETS[k] if set_strain is None else set_strain)
    stretch = np.maximum((1.0 + strain) / unloaded, 1.0)
    return (1.0 + EXCESS[k]) * nominal_stress(CONDITIONED_MPA, stretch, planar) / unloaded


def pull_text(number: int, rng: np.random.Generator) -> str:
    """One uniaxial specimen, force against extension."""
    strain, stress = cycles(planar=False)
    stiffness = 1.0 + 0.025 * rng.standard_normal()
    offset = 0.15 * rng.standard_normal()
    force = stress * stiffness * WIDTH_MM * THICKNESS_MM + offset
    force = force + 0.04 * rng.standard_normal(len(force))
    rows = zip(strain * GAUGE_LENGTH_MM, force, strict=True)
    lines = [
        "# INVENTED DATA. No test was made; these numbers describe no real material.",
        f"# Imagined: uniaxial tension, ISO 37 type 2, specimen {number} of 5, printed to shape;",
        f"# measured {WIDTH_MM} mm x {THICKNESS_MM} mm, gauge length {GAUGE_LENGTH_MM:g} mm, 23 C,",
        "# four cycles to 100 % strain at 0.01 1/s, one sample a second or so.",
        "time_s,extension_mm,force_N",
    ]
    step = LARGEST_STRAIN / 0.01 / (SAMPLES - 1)
    lines += [f"{i * step:.2f},{x:.4f},{f:.3f}" for i, (x, f) in enumerate(rows)]
    return "\n".join(lines) + "\n"


def planar_text(rng: np.random.Generator) -> str:
    """Three planar specimens in one file, as some machines export: semicolons, decimal commas."""
    lines = [
        "# INVENTED DATA. No test was made; these numbers describe no real material.",
        "# Imagined: planar tension of printed sheet strips, zeroed, four cycles to 100 % strain.",
        "specimen;strain;nominal stress",
        ";%;MPa",
    ]
    for name in ("A", "B", "C"):
        strain, stress = cycles(planar=True)
        stress = stress * (1.0 + 0.025 * rng.standard_normal())
        stress = stress + 0.006 * rng.standard_normal(len(stress))
        stress[0] = 0.0
        lines += [
            f"{name};{100 * e:.2f};{p:.4f}".replace(".", ",")
            for e, p in zip(strain, stress, strict=True)
        ]
    return "\n".join(lines) + "\n"


def invent(folder: Path) -> list[Path]:
    """Write all test files into ``folder``."""
    rng = np.random.default_rng(SEED)
    written = [write_text(folder / f"pull_{n}.csv", pull_text(n, rng)) for n in range(1, 6)]
    return [*written, write_text(folder / "planar.csv", planar_text(rng))]


if __name__ == "__main__":
    invent(Path(__file__).parent / "tensile")

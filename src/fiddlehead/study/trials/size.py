"""Mass, length and cavity: closed forms, nothing to simulate."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from fiddlehead.finger.volumes import cavity_volume_mm3, mass_g
from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.study.catalogue import Found
from fiddlehead.study.pattern import Design


def measure(designs: Sequence[Design], mesh: MeshSettings) -> Iterator[tuple[int, Found]]:
    """Sizes of every design; the mesh plays no part."""
    for place, design in enumerate(designs):
        yield place, Found(sizes(design))


def sizes(design: Design) -> dict[str, float]:
    """Mass (g), length (mm) and cavity (cm³) of one design."""
    return {
        "mass_g": mass_g(design.finger, design.pattern.density_g_per_cm3),
        "length_mm": design.finger.length_mm,
        "cavity_volume_cm3": 1e-3 * cavity_volume_mm3(design.finger),
    }

"""The material of a project: from its section to a card, with what was learnt on the way."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from typing import Any

from fiddlehead.material.card import COMMON_PRACTICE, FROM_MEMORY, MaterialCard
from fiddlehead.material.catalogue import law_entry
from fiddlehead.material.curves import read_curves
from fiddlehead.material.making import card_from_constants, card_from_hardness, card_from_tests
from fiddlehead.material.records import Characterisation, Mode, ResponseCurve
from fiddlehead.project.cross import RECOMMENDED
from fiddlehead.project.load import Project

BY_USER = "given by the user"


@dataclass(frozen=True)
class ProjectMaterial:
    """A card, the fits it was chosen from (``None`` without tests), and curves for pictures."""

    card: MaterialCard
    found: Characterisation | None
    responses: tuple[ResponseCurve, ...]


def material_hash(project: Project) -> str:
    """SHA-256 of everything the card depends on: the material section and the test files."""
    content = [project.material.model_dump(mode="json"), sorted(project.data_hashes)]
    return hashlib.sha256(json.dumps(content, sort_keys=True).encode()).hexdigest()


def make_material(project: Project, date: str) -> ProjectMaterial:
    """Read, fit and choose as the project says.

    Parameters
    ----------
    date : day to put on the card, ISO 8601

    Raises
    ------
    CurveError, ParameterError : data that cannot be reduced, or no law that can be used
    """
    section = project.material
    shared = {"name": section.name, "date": date, **_sources(project)}
    found = None
    if section.law_from == "tests":
        found = _characterise(project)
        law_name = None if section.law == RECOMMENDED else section.law
        card = card_from_tests(found, law_name=law_name, **shared)
    elif section.law_from == "constants":
        card = card_from_constants(
            section.law,
            section.constants,
            ogden_convention=section.ogden_convention,
            use_strain=section.use_strain_percent / 100.0,
            unusual_modulus_confirmed=section.unusual_modulus_confirmed,
            **shared,
        )
    else:
        card = card_from_hardness(float(section.shore_a_hardness or 0.0), **shared)
    return ProjectMaterial(card, found, _responses(card, found, section.use_strain_percent / 100.0))


def _sources(project: Project) -> dict[str, Any]:
    """Bulk modulus and density, and whether the user wrote them."""
    section = project.material
    written = section.model_fields_set
    return {
        "bulk_to_shear_ratio": section.bulk_to_shear_ratio,
        "bulk_source": BY_USER if "bulk_to_shear_ratio" in written else COMMON_PRACTICE,
        "density_g_per_cm3": section.density_g_per_cm3,
        "density_source": BY_USER if "density_g_per_cm3" in written else FROM_MEMORY,
    }


def _characterise(project: Project) -> Characterisation:
    from fiddlehead.material.selection import characterise

    section = project.material
    curves = [curve for file in project.curve_files for curve in read_curves(file)]
    return characterise(curves, cycle=section.cycle, use_strain=section.use_strain_percent / 100.0)


def _responses(
    card: MaterialCard, found: Characterisation | None, use_strain: float
) -> tuple[ResponseCurve, ...]:
    """The law in use and every other fitted law, over the use range in four modes."""
    from fiddlehead.material.laws import law_from_constants
    from fiddlehead.material.response import response_curves

    top = 1.0 + use_strain
    ranges: dict[Mode, tuple[float, float]] = {
        "uniaxial": (1.0, top),
        "planar": (1.0, top),
        "equibiaxial": (1.0, top),
        "compression": (1.0 / top, 1.0),
    }
    laws = {card.law_name: card.constants}
    laws |= {fit.law_name: fit.constants for fit in found.fits} if found else {}
    return tuple(
        curve
        for name, constants in laws.items()
        for curve in response_curves(
            law_entry(name).title, law_from_constants(name, constants), ranges
        )
    )

"""Material: from test curves to a hyperelastic law that can be trusted over the use range.

Comes in: test files, hardness, or constants typed by hand. Goes out: a ``MaterialCard`` with a
law, its valid range and where every number came from. Refuses to know: fingers, meshes, solvers,
the project file.

``read_curves`` → ``characterise`` → ``card_from_tests`` → ``write_card`` is the natural path.
Names load on first use; only those that compute with a law load JAX.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from fiddlehead.material.card import MaterialCard as MaterialCard
    from fiddlehead.material.card import (
        bulk_to_shear_from_poisson as bulk_to_shear_from_poisson,
    )
    from fiddlehead.material.card_file import card_text as card_text
    from fiddlehead.material.card_file import read_card as read_card
    from fiddlehead.material.card_file import write_card as write_card
    from fiddlehead.material.catalogue import CATALOGUE as CATALOGUE
    from fiddlehead.material.catalogue import law_entry as law_entry
    from fiddlehead.material.conditioning import reduce_curves as reduce_curves
    from fiddlehead.material.curves import CurveFile as CurveFile
    from fiddlehead.material.curves import read_curves as read_curves
    from fiddlehead.material.fit import fit_law as fit_law
    from fiddlehead.material.hardness import estimate_from_hardness as estimate_from_hardness
    from fiddlehead.material.making import card_from_constants as card_from_constants
    from fiddlehead.material.making import card_from_hardness as card_from_hardness
    from fiddlehead.material.making import card_from_tests as card_from_tests
    from fiddlehead.material.response import nominal_stress_mpa as nominal_stress_mpa
    from fiddlehead.material.response import response_curves as response_curves
    from fiddlehead.material.selection import characterise as characterise
    from fiddlehead.material.selection import recommend as recommend
    from fiddlehead.material.specimens import standard_specimens as standard_specimens

_PLACES = {
    "CATALOGUE": "catalogue",
    "CurveFile": "curves",
    "MaterialCard": "card",
    "bulk_to_shear_from_poisson": "card",
    "card_from_constants": "making",
    "card_from_hardness": "making",
    "card_from_tests": "making",
    "card_text": "card_file",
    "characterise": "selection",
    "estimate_from_hardness": "hardness",
    "fit_law": "fit",
    "law_entry": "catalogue",
    "nominal_stress_mpa": "response",
    "read_card": "card_file",
    "read_curves": "curves",
    "recommend": "selection",
    "reduce_curves": "conditioning",
    "response_curves": "response",
    "standard_specimens": "specimens",
    "write_card": "card_file",
}

__all__ = sorted(_PLACES)


def __getattr__(name: str) -> Any:
    if name not in _PLACES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_PLACES[name]}"), name)

"""The laws by name, without loading JAX: what a card, a project file or a list needs to know.

One entry per law class in ``fiddlehead.material.laws``; a test holds the two together.
"""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches

from fiddlehead.errors import ParameterError

OGDEN_CONVENTIONS = ("mu/alpha", "2mu/alpha^2")
"""The two ways Ogden constants are printed; fiddlehead computes in the first."""


@dataclass(frozen=True)
class LawEntry:
    """What is known of a law without computing with it.

    name : key in files
    title : as the trade writes it
    constants : names in order, ``_mpa`` where the constant has a unit
    linear : the stress is linear in the constants
    first_invariant_only : the safe choice where only uniaxial data are at hand
    source : publication
    """

    name: str
    title: str
    constants: tuple[str, ...]
    linear: bool
    first_invariant_only: bool
    source: str

    @property
    def has_conventions(self) -> bool:
        """Whether constants from print are ambiguous until their convention is stated."""
        return self.name.startswith("ogden")


_RIVLIN = "Rivlin & Saunders (1951), Phil. Trans. R. Soc. A 243, 251-288"
_OGDEN = "Ogden (1972), Proc. R. Soc. A 326, 565-584"


def _ogden(terms: int) -> LawEntry:
    constants = tuple(c for p in range(1, terms + 1) for c in (f"mu{p}_mpa", f"alpha{p}"))
    plural = "term" if terms == 1 else "terms"
    return LawEntry(f"ogden_{terms}", f"Ogden, {terms} {plural}", constants, False, False, _OGDEN)


CATALOGUE: dict[str, LawEntry] = {
    entry.name: entry
    for entry in (
        LawEntry(
            "neo_hookean",
            "neo-Hooke",
            ("mu_mpa",),
            True,
            True,
            "Treloar (1975), The Physics of Rubber Elasticity, 3rd ed., ch. 4",
        ),
        LawEntry(
            "mooney_rivlin_2",
            "Mooney-Rivlin, 2 constants",
            ("c10_mpa", "c01_mpa"),
            True,
            False,
            "Mooney (1940), J. Appl. Phys. 11, 582-592",
        ),
        LawEntry(
            "mooney_rivlin_3",
            "Mooney-Rivlin, 3 constants",
            ("c10_mpa", "c01_mpa", "c11_mpa"),
            True,
            False,
            _RIVLIN,
        ),
        LawEntry(
            "mooney_rivlin_5",
            "Mooney-Rivlin, 5 constants",
            ("c10_mpa", "c01_mpa", "c20_mpa", "c11_mpa", "c02_mpa"),
            True,
            False,
            _RIVLIN,
        ),
        LawEntry(
            "yeoh",
            "Yeoh",
            ("c10_mpa", "c20_mpa", "c30_mpa"),
            True,
            True,
            "Yeoh (1993), Rubber Chem. Technol. 66, 754-771",
        ),
        _ogden(1),
        _ogden(2),
        _ogden(3),
        LawEntry(
            "arruda_boyce",
            "Arruda-Boyce (eight-chain)",
            ("mu_mpa", "locking_stretch"),
            False,
            True,
            "Arruda & Boyce (1993), J. Mech. Phys. Solids 41, 389-412",
        ),
        LawEntry(
            "gent",
            "Gent",
            ("mu_mpa", "jm"),
            False,
            True,
            "Gent (1996), Rubber Chem. Technol. 69, 59-61",
        ),
    )
}


def law_entry(name: str, *, where: str = "law") -> LawEntry:
    """The catalogue entry of a law; unknown names get the nearest known one.

    Raises
    ------
    ParameterError : no law of this name
    """
    if name in CATALOGUE:
        return CATALOGUE[name]
    near = get_close_matches(name, CATALOGUE, n=1)
    raise ParameterError(
        "there is no law of this name",
        where=where,
        found=repr(name),
        allowed=", ".join(CATALOGUE),
        remedy=f"Did you mean {near[0]!r}?" if near else "Choose one of the names.",
    )

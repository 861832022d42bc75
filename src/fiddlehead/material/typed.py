"""Constants as people type them: complete, finite, and in a convention that is stated."""

from __future__ import annotations

import math
from collections.abc import Mapping
from difflib import get_close_matches

from fiddlehead.errors import ParameterError
from fiddlehead.material.catalogue import OGDEN_CONVENTIONS, law_entry


def checked_constants(
    law_name: str, constants: Mapping[str, float], *, where: str = "material constants"
) -> dict[str, float]:
    """All constants of a law by name, in the order of the law.

    Raises
    ------
    ParameterError : unknown law, a constant missing, unknown, or not a finite number
    """
    entry = law_entry(law_name, where=where)
    allowed = ", ".join(entry.constants)
    for key in constants:
        if key not in entry.constants:
            near = get_close_matches(key, entry.constants, n=1)
            raise ParameterError(
                f"{entry.title} has no such constant",
                where=where,
                found=repr(key),
                allowed=allowed,
                remedy=f"Did you mean {near[0]!r}?" if near else "Names carry the unit.",
            )
    values = {}
    for key in entry.constants:
        value = constants.get(key)
        number = isinstance(value, int | float) and not isinstance(value, bool)
        if not number or not math.isfinite(float(value or 0.0)):
            raise ParameterError(
                f"{entry.title} needs a finite number for {key}",
                where=where,
                found="nothing" if value is None else repr(value),
                allowed=allowed,
                remedy="Give every constant of the law, in MPa where the name says so.",
            )
        values[key] = float(value or 0.0)
    _check_domain(law_name, values, where)
    return values


def _check_domain(law_name: str, values: Mapping[str, float], where: str) -> None:
    """Values where the energy itself is not defined."""
    for key, value in values.items():
        below = {"jm": 0.0, "locking_stretch": 1.0}.get(key)
        if below is not None and value <= below:
            raise ParameterError(
                f"{key} is out of range",
                where=where,
                found=f"{value:g}",
                allowed=f"above {below:g}",
            )
        if key.startswith("alpha") and value == 0.0:
            raise ParameterError(
                "an Ogden exponent cannot be zero",
                where=where,
                found=f"{key} = 0",
                remedy="Leave that term out: choose an Ogden law with fewer terms.",
            )


def in_our_convention(
    law_name: str,
    constants: Mapping[str, float],
    convention: str | None,
    *,
    where: str = "material constants",
) -> dict[str, float]:
    """Ogden constants in ``mu/alpha``; constants of other laws as they are.

    ``2mu/alpha^2`` constants become ``mu_p = 2 mu'_p / alpha_p``, exponents unchanged.

    Raises
    ------
    ParameterError : an Ogden law without its convention stated, or an unknown one
    """
    if not law_entry(law_name).has_conventions:
        return dict(constants)
    if convention not in OGDEN_CONVENTIONS:
        raise ParameterError(
            "Ogden constants mean nothing until their convention is stated",
            where=where,
            found=repr(convention) if convention else "no convention",
            allowed=" or ".join(OGDEN_CONVENTIONS),
            remedy="See how the energy is printed where the constants are from: with mu/alpha the "
            "shear modulus is half the sum of mu alpha, with 2mu/alpha^2 it is the sum of mu.",
        )
    if convention == "mu/alpha":
        return dict(constants)
    return {
        key: 2.0 * value / constants[key.replace("mu", "alpha").removesuffix("_mpa")]
        if key.startswith("mu")
        else value
        for key, value in constants.items()
    }

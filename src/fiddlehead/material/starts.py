"""Where the nonlinear fits begin and how far they may go.

Every Ogden term keeps the signs of ``mu`` and ``alpha`` alike, which makes the term stable on its
own (Ogden 1972); the sign pattern of a start is therefore also its box.
"""

from __future__ import annotations

import itertools

from fiddlehead.material.regression import Start

ALPHA_RANGE = (0.05, 25.0)
"""Magnitude of an Ogden exponent; beyond it the energy overflows at useful strains."""

OGDEN_EXPONENTS: dict[int, tuple[tuple[float, ...], ...]] = {
    1: ((2.0,), (0.7,), (6.0,), (-2.0,), (-6.0,)),
    2: ((2.0, -2.0), (1.3, 5.0), (1.3, 10.0), (2.0, -6.0), (-1.0, -6.0), (0.8, -4.0)),
    3: ((1.3, 5.0, -2.0), (1.3, 8.0, -2.0), (0.8, 3.0, 9.0), (2.0, -1.0, -6.0)),
}


def starts(law_name: str, shear_modulus_mpa: float, largest_i1: float) -> list[Start]:
    """Starting points for a law that is not linear in its constants.

    Parameters
    ----------
    shear_modulus_mpa : of the neo-Hookean fit to the same data
    largest_i1 : largest first invariant in the data (limits of extensibility lie beyond)
    """
    mu = max(shear_modulus_mpa, 1e-6)
    largest = 1e4 * mu
    if law_name == "gent":
        room = max(largest_i1 - 3.0, 1e-3)
        box = ((1e-6 * mu, 1.001 * room), (largest, 1e5 * room))
        return [Start((mu, factor * room), *box) for factor in (1.2, 2.0, 5.0, 50.0)]
    if law_name == "arruda_boyce":
        box = ((1e-6 * mu, 1.02), (largest, 100.0))
        return [Start((0.8 * mu, locking), *box) for locking in (1.3, 2.0, 4.0, 10.0)]
    terms = int(law_name.removeprefix("ogden_"))
    return [_ogden(exponents, mu, largest) for exponents in OGDEN_EXPONENTS[terms]]


def _ogden(exponents: tuple[float, ...], mu: float, largest: float) -> Start:
    share = 2.0 * mu / len(exponents)
    pairs = [
        ((share / a, 0.0, largest), (a, *ALPHA_RANGE))
        if a > 0
        else ((share / a, -largest, 0.0), (a, -ALPHA_RANGE[1], -ALPHA_RANGE[0]))
        for a in exponents
    ]
    values, lower, upper = zip(*itertools.chain.from_iterable(pairs), strict=True)
    return Start(values, lower, upper)

"""Which variables matter: main effects and Sobol indices."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from jaxtyping import Float

from fiddlehead.study.sampling import sobol_sequence
from fiddlehead.study.space import Choice
from fiddlehead.study.surrogate import Surrogate

Function = Callable[[Float[np.ndarray, "design variable"]], Float[np.ndarray, " design"]]
"""From points of the unit cube to one number each."""
OTHERS = 256
"""Settings of the other variables that a main effect is averaged over."""
STEPS = 21
BASE = 1024
"""Rows of the base sample of the indices; the cost is this times the variables and two."""


@dataclass(frozen=True, eq=False)
class MainEffect:
    """A quantity over one variable, averaged over all others.

    band : half-width, the mean of the surrogate's 95 % bands
    """

    variable: str
    at: tuple[float | int | str, ...]
    mean: Float[np.ndarray, " level"]
    band: Float[np.ndarray, " level"]


@dataclass(frozen=True, eq=False)
class Indices:
    """Shares of a quantity's variance: ``first`` by a variable alone, ``total`` with everything it
    takes part in; ``*_band`` are half-widths of 95 % intervals by resampling. Second-order shares
    are not given."""

    variables: tuple[str, ...]
    first: Float[np.ndarray, " variable"]
    first_band: Float[np.ndarray, " variable"]
    total: Float[np.ndarray, " variable"]
    total_band: Float[np.ndarray, " variable"]


def main_effects(surrogate: Surrogate, quantity: str) -> list[MainEffect]:
    """The effect of every variable by the surrogate, the others over their whole ranges."""
    space = surrogate.space
    others = sobol_sequence(len(space.variables), OTHERS, seed=0)
    found = []
    for place, variable in enumerate(space.variables):
        if isinstance(variable, Choice):
            shares = [variable.share(value) for value in variable.values]
        else:
            shares = list(np.linspace(0.0, 1.0, variable.steps or STEPS))
        at = tuple(variable.at(share) for share in shares)
        points = np.tile(others, (len(shares), 1))
        points[:, place] = np.repeat([variable.share(value) for value in at], OTHERS)
        found_at = surrogate.predict_unit(points)[quantity]
        mean, band = (each.reshape(len(shares), OTHERS).mean(1) for each in found_at)
        found.append(MainEffect(variable.name, at, mean, band))
    return found


def sobol_indices(
    function: Function, variables: tuple[str, ...], base: int = BASE, seed: int = 0
) -> Indices:
    """Indices of a function of the unit cube.

    First order after Saltelli et al. 2010 (Comput. Phys. Commun. 181, 259), total order after
    Jansen 1999, on Saltelli's sample of a Sobol sequence; by the library SALib.

    Parameters
    ----------
    base : rows of the base sample, a power of two
    """
    from SALib.analyze import sobol as analyze
    from SALib.sample import sobol as sample

    problem = {
        "num_vars": len(variables),
        "names": list(variables),
        "bounds": [[0.0, 1.0]] * len(variables),
    }
    points = sample.sample(problem, base, calc_second_order=False, seed=seed)
    values = np.asarray(function(points), float)
    if np.ptp(values) == 0.0:
        zero = np.zeros(len(variables))
        return Indices(variables, zero, zero, zero, zero)
    found = analyze.analyze(problem, values, calc_second_order=False, seed=seed)
    return Indices(
        variables,
        *(np.asarray(found[name]) for name in ("S1", "S1_conf", "ST", "ST_conf")),
    )


def indices_of(surrogate: Surrogate, quantity: str, base: int = BASE) -> Indices:
    """Indices of a quantity by the surrogate's mean, over the whole space."""

    def function(
        points: Float[np.ndarray, "design variable"],
    ) -> Float[np.ndarray, " design"]:
        return surrogate.predict_unit(points)[quantity].mean

    return sobol_indices(function, surrogate.space.names, base)

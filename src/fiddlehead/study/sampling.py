"""Which designs to look at: full grid, Latin hypercube, Sobol sequence, one at a time."""

from __future__ import annotations

import itertools
import warnings
from typing import Literal, get_args

import numpy as np
from jaxtyping import Float

from fiddlehead.errors import ParameterError
from fiddlehead.study.space import Row, Space, Value

Sampling = Literal["full grid", "Latin hypercube", "Sobol sequence", "one at a time"]
MOST_GRID = 100_000
"""Designs of a full grid that are still drawn up."""


def sample(
    space: Space, method: Sampling, designs: int, seed: int, start: Row | None = None
) -> list[dict[str, Value]]:
    """Designs of a study in order; the same seed gives the same designs.

    Parameters
    ----------
    designs : how many; a full grid and one at a time have their own number and ignore it
    seed : of the random numbers; a full grid and one at a time draw none
    start : of ``one at a time``: the design from which each variable departs in turn

    Raises
    ------
    ParameterError : no such method, too few designs, a grid that is too large, no start
    """
    if method not in get_args(Sampling):
        raise ParameterError(
            "no such sampling",
            where="study.sampling",
            found=repr(method),
            allowed=", ".join(get_args(Sampling)),
        )
    if method == "full grid":
        return _grid(space)
    if method == "one at a time":
        return _one_at_a_time(space, start)
    if designs < 1:
        raise ParameterError(
            "too few designs", where="study.designs", found=str(designs), allowed="1 or more"
        )
    draw = latin_hypercube if method == "Latin hypercube" else sobol_sequence
    return space.rows(draw(len(space.variables), designs, seed))


def latin_hypercube(
    variables: int, designs: int, seed: int
) -> Float[np.ndarray, "design variable"]:
    """Every one of ``designs`` equal parts of each axis hit once (McKay, Beckman & Conover 1979),
    by ``scipy.stats.qmc``."""
    from scipy.stats import qmc

    return np.asarray(qmc.LatinHypercube(variables, seed=seed).random(designs))


def sobol_sequence(
    variables: int, designs: int, seed: int | None
) -> Float[np.ndarray, "design variable"]:
    """First points of Sobol's sequence (directions of Joe & Kuo 2008, scrambled after Owen; not
    scrambled with seed None), by ``scipy.stats.qmc``. Powers of two are balanced best."""
    from scipy.stats import qmc

    sampler = qmc.Sobol(variables, scramble=seed is not None, seed=seed)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)  # it asks for powers of two
        return np.asarray(sampler.random(designs))


def _grid(space: Space) -> list[dict[str, Value]]:
    levels = [variable.levels for variable in space.variables]
    count = int(np.prod([len(level) for level in levels], dtype=float))
    if count > MOST_GRID:
        raise ParameterError(
            "this full grid is too large",
            where="study.sampling",
            found=f"{count} designs",
            allowed=f"up to {MOST_GRID}",
            remedy="Use fewer steps, or a Sobol sequence.",
        )
    return [dict(zip(space.names, row, strict=True)) for row in itertools.product(*levels)]


def _one_at_a_time(space: Space, start: Row | None) -> list[dict[str, Value]]:
    if start is None:
        raise ParameterError("one at a time needs a design to start from", where="study.sampling")
    first = {name: start[name] for name in space.names}
    moved = [
        {**first, variable.name: level}
        for variable in space.variables
        for level in variable.levels
        if level != first[variable.name]
    ]
    return [first, *moved]

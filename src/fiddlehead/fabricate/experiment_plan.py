"""Which coupons to print, with which settings, in which order.

Two-level designs and their generators: Box, Hunter and Hunter, Statistics for Experimenters (1978),
and NIST/SEMATECH e-Handbook of Statistical Methods, table 5.3.3.4.7 (values from memory; resolution
and aliases are computed, not copied). Three-level designs: Box and Behnken 1960, Technometrics 2,
455.
"""

from __future__ import annotations

import dataclasses
import itertools
from typing import Literal, NoReturn, get_args

import numpy as np
from jaxtyping import Float, Int

from fiddlehead.errors import ParameterError
from fiddlehead.fabricate.experiment_factors import Factor

Design = Literal["full factorial", "fractional factorial", "Box-Behnken"]
LETTERS = "abcdefgh"
GENERATORS: dict[tuple[int, int], str] = {
    (3, 3): "a b ab",
    (4, 4): "a b c abc",
    (5, 3): "a b c ab ac",
    (5, 5): "a b c d abcd",
    (6, 3): "a b c ab ac bc",
    (6, 4): "a b c d abc bcd",
    (6, 6): "a b c d e abcde",
    (7, 3): "a b c ab ac bc abc",
    (7, 4): "a b c d abc bcd acd",
    (7, 7): "a b c d e f abcdef",
    (8, 4): "a b c d bcd acd abc abd",
    (8, 5): "a b c d e f abcd abef",
}
"""Two-level fractions with the fewest runs, by number of factors and resolution."""
MOST_FACTORS = {"full factorial": 6, "fractional factorial": 8, "Box-Behnken": 5}


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class ExperimentPlan:
    """An experiment, its rows in the order in which the coupons are printed."""

    design: Design
    factors: tuple[Factor, ...]
    coded: Float[np.ndarray, "run factor"]
    """Levels: -1 low, 0 middle, +1 high."""
    block: Int[np.ndarray, " run"]
    """Runs of one block share spool and day; from 1."""
    centre: tuple[bool, ...]
    """Whether the run sits in the middle of all ranges."""
    generators: str
    resolution: int
    """Length of the shortest word that is mixed up with the mean; 0 where nothing is mixed up."""
    aliases: tuple[str, ...]
    """Which effects a two-level design cannot tell apart, in factor letters: ``"ab = cd"``."""
    seed: int

    @property
    def two_level(self) -> bool:
        """Whether every factor has only two levels (centre points aside)."""
        return self.design != "Box-Behnken"

    def setting(self, run: int, factor: int) -> str:
        """One cell of the plan as it is written."""
        return self.factors[factor].written(float(self.coded[run, factor]))


def make_plan(
    factors: tuple[Factor, ...],
    design: Design,
    *,
    resolution: int = 4,
    centre_points: int = 4,
    replicates: int = 2,
    blocks: int = 2,
    seed: int = 1,
) -> ExperimentPlan:
    """Plan an experiment, blocked and in random order.

    Parameters
    ----------
    resolution : wished of a fraction; the next higher one there is will be taken
    centre_points : runs in the middle of all ranges, in total; spread over the blocks
    replicates : times each corner is printed; leaks scatter, so two or more
    blocks : spools or days; a divisor of the replicates, or 2 for a single replicate

    Raises
    ------
    ParameterError : a design that does not exist for these factors, or cannot be blocked so
    """
    _check(factors, design, centre_points, replicates, blocks)
    if design == "Box-Behnken":
        points, generators, found = _box_behnken(len(factors)), "", 0
        aliases: tuple[str, ...] = ()
    else:
        points, generators, found = _two_level(len(factors), design, resolution)
        aliases = _aliases(points)
    coded, block = _in_blocks(points, replicates, blocks)
    middle, middle_block = _middle(factors, centre_points, blocks)
    whole = np.vstack([coded, middle])
    number = np.concatenate([block, middle_block])
    order = _order(number, seed)
    is_centre = np.arange(len(whole)) >= len(coded)
    return ExperimentPlan(
        design=design,
        factors=factors,
        coded=whole[order],
        block=number[order],
        centre=tuple(bool(c) for c in is_centre[order]),
        generators=generators,
        resolution=found,
        aliases=aliases,
        seed=seed,
    )


def _check(
    factors: tuple[Factor, ...], design: Design, centre_points: int, replicates: int, blocks: int
) -> None:
    if design not in get_args(Design):
        _refuse("no such design", "design", repr(design), ", ".join(get_args(Design)))
    fewest = 2 if design == "full factorial" else 3
    count = len(factors)
    if not fewest <= count <= MOST_FACTORS[design]:
        _refuse(
            f"a {design} design is for {fewest} to {MOST_FACTORS[design]} factors",
            "factors",
            f"{count} factors",
            "",
            "Screen many factors with a fractional factorial, then map the two or three that "
            "matter with Box-Behnken.",
        )
    worded = [factor.name for factor in factors if factor.words]
    if design == "Box-Behnken" and worded:
        _refuse(
            "a setting without a middle cannot have three levels",
            "factors",
            ", ".join(worded),
            "settings with numbers",
            "Leave it out and run the experiment at the better of its levels.",
        )
    if centre_points < 0 or replicates < 1 or blocks < 1:
        _refuse(
            "counts of runs are whole numbers from 1",
            "replicates",
            f"{centre_points} centre points, {replicates} replicates, {blocks} blocks",
            "centre points from 0, the others from 1",
        )
    if replicates % blocks and not (replicates == 1 and blocks == 2 and design != "Box-Behnken"):
        _refuse(
            "these runs cannot be shared out among the blocks",
            "blocks",
            f"{blocks} blocks, {replicates} replicates",
            "a divisor of the replicates, or 2 blocks of one two-level replicate",
            "Print whole replicates in each block.",
        )


def _two_level(count: int, design: Design, resolution: int) -> tuple[np.ndarray, str, int]:
    """Corners in standard order, their generators and their resolution."""
    import pyDOE3

    if design == "full factorial":
        return np.asarray(pyDOE3.ff2n(count), float), " ".join(LETTERS[:count]), 0
    offered = sorted(r for k, r in GENERATORS if k == count and r >= resolution)
    if not offered:
        best = max(r for k, r in GENERATORS if k == count)
        _refuse(
            "there is no fraction of this resolution",
            "resolution",
            f"{resolution} with {count} factors",
            f"up to {best}",
            "Take a full factorial, or fewer factors.",
        )
    generators = GENERATORS[count, offered[0]]
    return np.asarray(pyDOE3.fracfact(generators), float), generators, offered[0]


def _aliases(points: np.ndarray) -> tuple[str, ...]:
    """Sets of effects that share one column, the shortest name first."""
    import pyDOE3

    return tuple(pyDOE3.fracfact_aliasing(points)[0])


def _box_behnken(count: int) -> np.ndarray:
    import pyDOE3

    return np.asarray(pyDOE3.bbdesign(count, center=1), float)[:-1]


def column(points: Float[np.ndarray, "run factor"], word: str) -> Float[np.ndarray, " run"]:
    """Contrast column of an effect named by factor letters: ``"ab"`` is the product of two."""
    return np.prod(points[:, [LETTERS.index(letter) for letter in word]], axis=1)


def _in_blocks(points: np.ndarray, replicates: int, blocks: int) -> tuple[np.ndarray, np.ndarray]:
    """All replicates, each run with its block."""
    if replicates % blocks == 0:
        per_block = replicates // blocks
        block = np.repeat(np.arange(blocks) + 1, per_block)
        return np.tile(points, (replicates, 1)), np.repeat(block, len(points))
    return points, np.where(_confounded(points) > 0, 2, 1)


def _confounded(points: np.ndarray) -> np.ndarray:
    """The longest product of columns that equals no main effect and, if possible, no pair."""
    count = points.shape[1]
    clear = [
        [column(points, "".join(w)) for w in itertools.combinations(LETTERS[:count], size)]
        for size in (1, 2)
    ]
    words = [
        column(points, "".join(word))
        for size in range(count, 1, -1)
        for word in itertools.combinations(LETTERS[:count], size)
    ]
    for avoided in ([*clear[0], *clear[1]], clear[0]):
        for contrast in words:
            balanced = abs(contrast.sum()) < 1e-9
            if balanced and all(abs(contrast @ other) < 1e-9 for other in avoided):
                return contrast
    _refuse(
        "every split of this fraction would hide a main effect",
        "blocks",
        f"2 blocks of {len(points)} runs",
        "1 block, or as many blocks as replicates",
    )


def _middle(factors: tuple[Factor, ...], count: int, blocks: int) -> tuple[np.ndarray, np.ndarray]:
    """Centre points, over the blocks in turn; settings without a middle take both levels."""
    points = np.zeros((count, len(factors)))
    for place, factor in enumerate(factors):
        if factor.words:
            points[:, place] = np.where((np.arange(count) // blocks) % 2 == 0, -1.0, 1.0)
    return points, np.arange(count) % blocks + 1


def _order(block: np.ndarray, seed: int) -> np.ndarray:
    """Blocks one after the other, the runs within each at random."""
    generator = np.random.default_rng(seed)
    return np.concatenate(
        [generator.permutation(np.flatnonzero(block == number)) for number in np.unique(block)]
    )


def _refuse(message: str, field: str, found: str, allowed: str, remedy: str = "") -> NoReturn:
    raise ParameterError(
        message, where=f"experiment.{field}", found=found, allowed=allowed, remedy=remedy
    )

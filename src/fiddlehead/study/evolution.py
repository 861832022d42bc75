"""Better designs by evolution: the library pymoo's SMS-EMOA, which keeps the designs that add most
to the hypervolume (Beume, Naujoks & Emmerich 2007, Eur. J. Oper. Res. 181, 1653), generation by
generation, so that each generation is one batch for the engine."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, Int

from fiddlehead.errors import ParameterError
from fiddlehead.study.fronts import hypervolume, non_dominated
from fiddlehead.study.goals import Columns, Goals
from fiddlehead.study.sampling import sobol_sequence
from fiddlehead.study.space import Space, Value

Ask = Callable[[Sequence[dict[str, Value]]], Columns | None]
"""From designs to one array for each quantity; None once the run is to stop."""


@dataclass(frozen=True, eq=False)
class Search:
    """All designs a search looked at, in order, with what they cost.

    asked : designs looked at after each step
    """

    rows: list[dict[str, Value]]
    costs: Float[np.ndarray, "design objective"]
    excess: Float[np.ndarray, "design limit"]
    asked: Int[np.ndarray, " step"]

    @property
    def front(self) -> Int[np.ndarray, " place"]:
        """Places of the designs on the front of those that keep all limits."""
        return np.flatnonzero(non_dominated(self.kept()))

    def kept(self) -> Float[np.ndarray, "design objective"]:
        """Costs, infinite for designs that miss a limit."""
        missed = np.any(self.excess > 0.0, axis=1, keepdims=True)
        return np.where(missed, np.inf, self.costs)

    def growth(self, reference: Float[np.ndarray, " objective"]) -> Float[np.ndarray, " step"]:
        """Hypervolume after each step."""
        return np.array([hypervolume(self.kept()[:count], reference) for count in self.asked])


def evolve(
    space: Space,
    goals: Goals,
    ask: Ask,
    *,
    designs: int,
    population: int = 16,
    seed: int = 1,
    start: Float[np.ndarray, "design variable"] | None = None,
) -> Search:
    """Search for the front with a number of designs.

    The same seed and the same answers give the same designs, so a search that was cut off goes on
    from what the store holds. Designs that were asked before are not asked again.

    Parameters
    ----------
    designs : most designs to look at; the last generation may be cut short
    population : designs of a generation
    start : points of the unit cube to begin with; a Sobol sequence when None

    Raises
    ------
    ParameterError : fewer designs than one generation
    """
    from pymoo.algorithms.moo.sms import SMSEMOA
    from pymoo.core.problem import Problem
    from pymoo.core.termination import NoTermination

    if population < 4 or designs < population:
        raise ParameterError(
            "too few designs to evolve",
            found=f"{designs} designs in generations of {population}",
            allowed="generations of 4 or more, and one generation or more",
        )
    count = len(space.variables)
    first = sobol_sequence(count, population, seed) if start is None else start
    problem = Problem(
        n_var=count,
        n_obj=len(goals.objectives),
        n_ieq_constr=len(goals.limits),
        xl=0.0,
        xu=1.0,
    )
    algorithm = SMSEMOA(pop_size=population, sampling=np.asarray(first, float))
    algorithm.setup(problem, termination=NoTermination(), seed=seed, verbose=False)
    book = _Book(goals)
    while book.count < designs and book.idle < MOST_IDLE:
        asked = algorithm.ask()
        rows = space.rows(asked.get("X"))
        if not book.look(rows, designs - book.count, ask):
            break
        costs, excess = book.of(rows)
        asked.set("F", np.nan_to_num(costs, posinf=LOST))
        if goals.limits:
            asked.set("G", np.nan_to_num(excess, posinf=LOST))
        algorithm.tell(infills=asked)
    return book.search()


MOST_IDLE = 20
"""Generations without a new design after which a small space counts as searched."""
LOST = 1e6
"""Cost and miss of a design without a number, and of one the budget left out."""


class _Book:
    """Designs asked so far, each once, with their answers."""

    def __init__(self, goals: Goals) -> None:
        self.goals = goals
        self.rows: list[dict[str, Value]] = []
        self.place: dict[tuple[Value, ...], int] = {}
        self.costs: list[Float[np.ndarray, " objective"]] = []
        self.excess: list[Float[np.ndarray, " limit"]] = []
        self.asked: list[int] = []
        self.idle = 0  # generations in a row that brought nothing new

    @property
    def count(self) -> int:
        return len(self.rows)

    def look(self, rows: Sequence[dict[str, Value]], most: int, ask: Ask) -> bool:
        """Ask for those that are new, up to ``most``; False once the run is to stop."""
        new = {tuple(r.values()): r for r in rows if tuple(r.values()) not in self.place}
        fresh = dict(list(new.items())[:most])
        self.idle = 0 if fresh else self.idle + 1
        if fresh:
            columns = ask(list(fresh.values()))
            if columns is None:
                return False
            self.costs += list(self.goals.costs(columns))
            self.excess += list(self.goals.excess(columns))
            for key, row in fresh.items():
                self.place[key] = len(self.rows)
                self.rows.append(row)
        self.asked.append(self.count)
        return True

    def of(
        self, rows: Sequence[dict[str, Value]]
    ) -> tuple[Float[np.ndarray, "design objective"], Float[np.ndarray, "design limit"]]:
        """Costs and misses of designs in order; ``LOST`` for those that were never asked."""
        places = [self.place.get(tuple(row.values())) for row in rows]
        lost = np.full(len(self.goals.objectives), np.inf)
        missed = np.full(len(self.goals.limits), np.inf)
        return (
            np.array([lost if p is None else self.costs[p] for p in places]),
            np.array([missed if p is None else self.excess[p] for p in places]),
        )

    def search(self) -> Search:
        return Search(
            self.rows,
            np.array(self.costs).reshape(len(self.rows), len(self.goals.objectives)),
            np.array(self.excess).reshape(len(self.rows), len(self.goals.limits)),
            np.array(self.asked, int),
        )

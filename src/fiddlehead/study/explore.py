"""The sample of a study, simulated; then the best of it once more on the full mesh."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
from jaxtyping import Float

from fiddlehead.errors import ParameterError
from fiddlehead.study.definition import Study
from fiddlehead.study.fronts import front_numbers, order
from fiddlehead.study.running import Told, run
from fiddlehead.study.sampling import sobol_sequence
from fiddlehead.study.space import Value
from fiddlehead.study.store import Store
from fiddlehead.study.surrogate import Surrogate
from fiddlehead.study.workers import BATCH, ThisProcess

if TYPE_CHECKING:
    from pandas import DataFrame

CANDIDATES = 512
"""Designs among which those are looked for that the surrogate is least sure of."""


def explore(
    study: Study,
    store: Store,
    *,
    workers: Callable[[], Executor] = ThisProcess,
    batch: int = BATCH,
    tell: Told | None = None,
    stop: Callable[[], bool] = lambda: False,
) -> DataFrame:
    """Simulate what is missing of the sample, then the best designs on the full mesh.

    Returns
    -------
    the designs on the study's mesh, best first (:func:`ranked`)

    Raises
    ------
    StoreError : the store cannot be written, or rests on another pattern
    ParameterError : the study makes no sense
    """
    study.begin(store)
    run(study.task(), study.sample(), store, workers=workers, batch=batch, tell=tell, stop=stop)
    best = best_rows(study, store)
    if best and not stop() and study.full_mesh != study.mesh:
        run(
            study.task(full=True), best, store, origin="full mesh", workers=workers, batch=1,
            stop=stop,
        )  # fmt: skip
    return ranked(study, store)


def ranked(study: Study, store: Store) -> DataFrame:
    """Designs on the study's mesh, best first: with their front (0 for those that miss a limit or
    lack a number) and, as ``full_...``, what the full mesh says where it was asked."""
    frame = study.table(store)
    columns = study.columns(frame)
    frame.insert(1, "front", front_numbers(study.goals, columns))
    frame = frame.iloc[order(study.goals, columns)].reset_index(drop=True)
    full = study.table(store, full=True)
    names = list(study.space.names)
    if study.full_mesh != study.mesh and len(full):
        told = full[[*names, *study.quantities]].rename(
            columns={name: f"full_{name}" for name in study.quantities}
        )
        frame = frame.merge(told, how="left", on=names)
    return frame


def best_rows(study: Study, store: Store) -> list[dict[str, Value]]:
    """The first designs of the ranking that keep all limits, as many as the study wants again."""
    frame = ranked(study, store)
    return study.rows(frame[frame["front"] > 0][: study.best])


def surrogate_of(study: Study, frame: DataFrame, quantities: Sequence[str] = ()) -> Surrogate:
    """A surrogate of the goals' quantities, or of others, from the designs of a table.

    Raises
    ------
    ParameterError : too few designs
    """
    wanted = quantities or [q for q in study.goals.quantities if q not in study.space.names]
    return Surrogate(study.space, study.rows(frame), study.columns(frame), wanted)


def offered(study: Study, store: Store, count: int) -> list[dict[str, Value]]:
    """Designs worth simulating because the surrogate is least sure of them.

    Raises
    ------
    ParameterError : too few designs to begin with
    """
    frame = study.table(store)
    surrogate = surrogate_of(study, frame)
    return surrogate.unsure(sobol_sequence(len(study.space.names), CANDIDATES, study.seed), count)


def asker(
    study: Study,
    store: Store,
    origin: str,
    *,
    workers: Callable[[], Executor] = ThisProcess,
    batch: int = BATCH,
    tell: Told | None = None,
    stop: Callable[[], bool] = lambda: False,
) -> Callable[[Sequence[dict[str, Value]]], dict[str, Any] | None]:
    """A function that answers designs with their quantities: from the store where it holds them,
    by simulation where not; None once the run was stopped."""
    quantities = study.quantities

    def ask(rows: Sequence[dict[str, Value]]) -> dict[str, Float[np.ndarray, " design"]] | None:
        found = run(
            study.task(), rows, store, origin=origin, workers=workers, batch=batch, tell=tell,
            stop=stop,
        )  # fmt: skip
        if any(one is None for one in found):
            return None
        columns = {
            name: np.array([one.values.get(name, np.nan) for one in found if one])
            for name in quantities
        }
        varied = {
            v.name: np.array([float(row[v.name]) for row in rows])
            for v in study.space.variables
            if v.is_number and all(v.name in row for row in rows)
        }
        return {**varied, **columns}

    return ask


def row_of(study: Study, store: Store, number: int) -> dict[str, Value]:
    """A design by its number.

    Raises
    ------
    ParameterError : no such number
    """
    frame = study.table(store)
    found = study.rows(frame[frame["number"] == number])
    if not found:
        raise ParameterError(
            "no such design in this study",
            found=str(number),
            remedy="Numbers stand in ranking.csv.",
        )
    return found[0]


def with_numbers(study: Study, designs: int | None, best: int | None) -> Study:
    """The same study with other numbers of designs to look at and to run again; None leaves one."""
    return replace(
        study,
        designs=study.designs if designs is None else designs,
        best=study.best if best is None else best,
    )

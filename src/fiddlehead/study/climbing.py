"""Gradient search over a study, each simulation with its derivatives kept in the store."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import asdict

from fiddlehead.errors import FiddleheadError
from fiddlehead.study.definition import Study
from fiddlehead.study.descent import descend
from fiddlehead.study.evolution import Search
from fiddlehead.study.explore import ranked
from fiddlehead.study.pattern import design_key
from fiddlehead.study.running import Progress, Told, run
from fiddlehead.study.slopes import Slopes, require_slopes, slopes
from fiddlehead.study.space import Row, Value, plain
from fiddlehead.study.store import Store


def begin_row(study: Study, store: Store) -> dict[str, Value]:
    """Where a gradient search begins: the best design that is known, or the project's own."""
    frame = ranked(study, store)
    if len(frame) and frame["front"].iloc[0] > 0:
        return study.rows(frame[:1])[0]
    return study.pattern.start(study.space.names)


def descend_study(
    study: Study,
    store: Store,
    *,
    designs: int,
    points: int = 5,
    tell: Told | None = None,
    stop: Callable[[], bool] = lambda: False,
) -> Search:
    """Descend from the best design that is known; then simulate the front like any other design,
    so that it stands among them.

    Raises
    ------
    ParameterError : a goal without derivatives, or nothing that a gradient can move
    StoreError : the store cannot be written
    """
    quantities = study.goals.quantities
    require_slopes(quantities)
    asked = 0

    def ask(row: dict[str, Value]) -> Slopes | None:
        nonlocal asked
        if stop():
            return None
        asked += 1
        found = known_slopes(study, store, row, tuple(quantities))
        if tell:
            tell(Progress(asked, designs, 0.0, 0.0, None, 0))
        return found

    start = begin_row(study, store)
    search = descend(study.space, study.goals, ask, start, designs=designs, points=points)
    if not stop():
        front = [search.rows[k] for k in search.front]
        run(study.task(), front, store, origin="gradient", stop=stop)
    return search


def known_slopes(study: Study, store: Store, row: Row, quantities: tuple[str, ...]) -> Slopes:
    """Quantities and derivatives of one design, from the store or by simulation.

    Raises
    ------
    ParameterError : a quantity without derivatives
    """
    row = plain(row)
    key = design_key(study.task().pattern_hash, row, ("slopes", *quantities), study.mesh)
    kept = store.note(study.name, key)
    if kept is not None:
        return Slopes(**json.loads(kept))
    require_slopes(quantities)
    try:
        found = slopes(study.pattern, row, quantities, study.mesh)
    except FiddleheadError as error:  # no such finger: told like a path that ends early
        found = Slopes({}, {}, " ".join(str(error).split()))
    store.keep_note(study.name, key, json.dumps(asdict(found)))
    return found

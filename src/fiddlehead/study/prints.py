"""Printing scatter of one design of a study."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from typing import Any

from fiddlehead.errors import ParameterError
from fiddlehead.study.climbing import known_slopes
from fiddlehead.study.definition import Study
from fiddlehead.study.explore import asker
from fiddlehead.study.running import Told
from fiddlehead.study.slopes import without_slopes
from fiddlehead.study.space import Row, Value
from fiddlehead.study.store import Store
from fiddlehead.study.tolerance import Tolerance, by_adjoint, by_simulations, scattered_prints
from fiddlehead.study.workers import BATCH, ThisProcess


def tolerance_of(
    study: Study,
    store: Store,
    row: Row | None = None,
    *,
    by: str | None = None,
    prints: int = 24,
    workers: Callable[[], Executor] = ThisProcess,
    batch: int = BATCH,
    tell: Told | None = None,
    stop: Callable[[], bool] = lambda: False,
) -> Tolerance:
    """The chance that a print of a design meets each limit.

    Parameters
    ----------
    row : the design; the project's own when None
    by : ``adjoint``, ``simulations``, or None for the first where all limits have derivatives
    prints : simulations of ``simulations``, beside one worst case for each limit

    Raises
    ------
    ParameterError : no limits, limits on what does not scatter, no derivatives, no such design
    """
    limits = study.goals.limits
    varied = [limit.quantity for limit in limits if limit.quantity not in study.quantities]
    if not limits or varied:
        raise ParameterError(
            "no limit to keep" if not limits else "a limit on what does not scatter",
            where="study.at_least and study.at_most",
            found=", ".join(varied),
            remedy="Write limits on what trials find, for example tip_angle_deg = 60.0",
        )
    quantities = tuple(limit.quantity for limit in limits)
    way = by or ("simulations" if without_slopes(quantities) else "adjoint")
    base = dict(row or {})
    causes = study.causes
    simulate = asker(study, store, "scatter", workers=workers, batch=batch, tell=tell, stop=stop)

    def ask(scattered: Sequence[dict[str, Value]]) -> dict[str, Any]:
        found = simulate([{**base, **one} for one in scattered])
        if found is None:
            raise ParameterError("stopped before the prints were simulated")
        return found

    if way == "adjoint":
        at: dict[str, Value] = {**base, **{cause.name: cause.middle for cause in causes}}
        told = known_slopes(study, store, at, quantities)
        return by_adjoint(told, causes, limits, ask, study.seed)
    rows = scattered_prints(causes, prints, study.seed)
    return by_simulations(rows, ask(rows), causes, limits, ask, study.seed)

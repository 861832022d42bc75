"""What a study's designs say together: ranking, effects, errors of prediction, small changes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from jaxtyping import Float, Int

from fiddlehead.errors import ParameterError
from fiddlehead.study.change import Change, smallest_change
from fiddlehead.study.definition import Study
from fiddlehead.study.effects import Indices, MainEffect, indices_of, main_effects
from fiddlehead.study.explore import ranked, surrogate_of
from fiddlehead.study.space import Row, Value
from fiddlehead.study.store import Store
from fiddlehead.study.surrogate import Surrogate

if TYPE_CHECKING:
    from pandas import DataFrame


BEST = 5
"""Designs that are told by number."""


@dataclass(frozen=True, eq=False)
class Understanding:
    """Everything that is told of a study.

    frame : designs, best first; ``rows`` and ``columns`` hold the same in the same order
    numbers : what each design is called
    best : places in ``frame`` of the best designs that keep all limits
    surrogate : None where there are too few designs, with the reason in ``remarks``
    start : the design that small changes depart from
    """

    frame: DataFrame
    rows: list[dict[str, Value]]
    columns: dict[str, Float[np.ndarray, " design"]]
    numbers: Int[np.ndarray, " design"]
    best: tuple[int, ...]
    surrogate: Surrogate | None
    effects: tuple[tuple[MainEffect, ...], ...]
    indices: tuple[Indices, ...]
    start: Row
    change: Change | None
    remarks: tuple[str, ...]

    @property
    def quantities(self) -> tuple[str, ...]:
        """The quantities that effects and indices are told of."""
        return self.surrogate.quantities if self.surrogate else ()


def understand(study: Study, store: Store, start: Row | None = None) -> Understanding:
    """Rank, fit and explain the designs of a study.

    Parameters
    ----------
    start : design that small changes depart from; the project's own when None

    Raises
    ------
    StoreError : no such study
    ParameterError : it has no design yet
    """
    frame = ranked(study, store)
    if not len(frame):
        raise ParameterError(
            "this study has no design yet", where=study.name, remedy="Run: fiddlehead explore"
        )
    rows, columns = study.rows(frame), study.columns(frame)
    numbers = frame["number"].to_numpy(int)
    kept = frame["front"].to_numpy(int)
    remarks = list(_remarks(frame, kept))
    begin = dict(start or study.pattern.start(study.space.names))
    surrogate: Surrogate | None = None
    effects: tuple[tuple[MainEffect, ...], ...] = ()
    indices: tuple[Indices, ...] = ()
    change: Change | None = None
    try:
        surrogate = surrogate_of(study, frame)
    except ParameterError as error:
        remarks.append(f"No effects and no predictions: {error}")
    if surrogate is not None:
        effects = tuple(tuple(main_effects(surrogate, q)) for q in surrogate.quantities)
        indices = tuple(indices_of(surrogate, q) for q in surrogate.quantities)
        change = _change(study, surrogate, begin, remarks)
    return Understanding(
        frame, rows, columns, numbers, tuple(int(k) for k in np.flatnonzero(kept)[:BEST]),
        surrogate, effects, indices, begin, change, tuple(remarks),
    )  # fmt: skip


def _change(study: Study, surrogate: Surrogate, begin: Row, remarks: list[str]) -> Change | None:
    """The smallest change, where limits are on quantities that the surrogate foretells."""
    if not study.goals.limits:
        return None
    if any(limit.quantity not in surrogate.fits for limit in study.goals.limits):
        remarks.append("Smallest change: only for limits on what trials find.")
        return None
    try:
        found = smallest_change(surrogate, study.goals, begin)
    except ParameterError as error:
        remarks.append(f"Smallest change: {error}")
        return None
    if found is None:
        remarks.append("No design of these ranges is foretold to meet all limits with certainty.")
    return found


def _remarks(frame: DataFrame, front: Int[np.ndarray, " design"]) -> Sequence[str]:
    """Designs that were refused or only partly found, and limits nobody meets."""
    found: list[str] = []
    counts: dict[Any, int] = frame["status"].value_counts().to_dict()
    for status, says in (("refused", "cannot be made"), ("partial", "lack a number")):
        if counts.get(status):
            told = frame.loc[frame["status"] == status, "reason"]
            reasons = told.str.replace(r" *\(.*", "", regex=True).value_counts()  # numbers differ
            found.append(
                f"{counts[status]} of {len(frame)} designs {says}; most often: {reasons.index[0]}"
            )
    if not (front > 0).any():
        found.append("No design meets all limits yet.")
    return found

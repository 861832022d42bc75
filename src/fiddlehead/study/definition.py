"""A study: what varies, what runs, what is wanted."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from jaxtyping import Float

from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.study.catalogue import trials_for
from fiddlehead.study.goals import Goals
from fiddlehead.study.pattern import Pattern
from fiddlehead.study.running import Task
from fiddlehead.study.sampling import Sampling, sample
from fiddlehead.study.space import Space, Value
from fiddlehead.study.tolerance import Cause

if TYPE_CHECKING:
    from pandas import DataFrame

    from fiddlehead.study.store import Store


@dataclass(frozen=True, kw_only=True)
class Study:
    """Everything that defines a study.

    extra_trials : trials to run although no goal needs them
    designs, seed : of the sample
    mesh_name, mesh : on which designs are looked at
    full_mesh_name, full_mesh : on which the best are run again
    best : how many
    causes : what scatters in printing
    """

    name: str
    pattern: Pattern
    space: Space
    goals: Goals
    extra_trials: tuple[str, ...] = ()
    sampling: Sampling = "Sobol sequence"
    designs: int = 64
    seed: int = 1
    mesh_name: str
    mesh: MeshSettings
    full_mesh_name: str
    full_mesh: MeshSettings
    best: int = 3
    causes: tuple[Cause, ...] = ()

    @property
    def quantities(self) -> tuple[str, ...]:
        """Every quantity its trials find."""
        return tuple(q for kind in self.task().kinds for q in kind.quantities)

    def task(self, *, full: bool = False) -> Task:
        """What to run on every design: on the study's mesh, or on the full one.

        Raises
        ------
        ParameterError : a quantity no trial finds
        """
        found = [q for q in self.goals.quantities if q not in self.space.names]
        return Task(
            self.name,
            self.pattern,
            trials_for(found, ("size", *self.extra_trials)),
            self.full_mesh_name if full else self.mesh_name,
            self.full_mesh if full else self.mesh,
        )

    def sample(self) -> list[dict[str, Value]]:
        """The designs to begin with.

        Raises
        ------
        ParameterError : as ``sampling.sample``
        """
        start = self.pattern.start(self.space.names)
        return sample(self.space, self.sampling, self.designs, self.seed, start)

    def content(self) -> dict[str, Any]:
        """The study as JSON, for the store."""
        return {
            "pattern": self.pattern.content(),
            "vary": [asdict(variable) for variable in self.space.variables],
            "objectives": [asdict(goal) for goal in self.goals.objectives],
            "limits": [asdict(limit) for limit in self.goals.limits],
            "sampling": self.sampling,
            "designs": self.designs,
            "seed": self.seed,
            "mesh": self.mesh_name,
            "full_mesh": self.full_mesh_name,
        }

    def begin(self, store: Store) -> None:
        """Enter this study in a store.

        Raises
        ------
        StoreError : the store holds one of this name on another pattern
        """
        store.begin(self.name, self.content(), self.task().pattern_hash)

    def table(self, store: Store, *, full: bool = False) -> DataFrame:
        """Designs of this study as a data frame: those on the study's mesh, or on the full one.

        Designs that vary something else than this study does now, and prints of a tolerance, are
        left out.
        """
        frame = store.table(self.name)
        mesh = self.full_mesh_name if full else self.mesh_name
        kept = (frame["mesh"] == mesh) & (frame["origin"] != "scatter")
        for name in self.space.names:
            kept &= frame[name].notna() if name in frame else False
        for name in (*self.space.names, *self.quantities):
            if name not in frame:
                frame[name] = np.nan
        return frame[kept].reset_index(drop=True)

    def columns(self, frame: DataFrame) -> dict[str, Float[np.ndarray, " design"]]:
        """Quantities, and variables that are numbers, of a table as arrays."""
        names = [v.name for v in self.space.variables if v.is_number] + list(self.quantities)
        return {name: frame[name].to_numpy(float) for name in names}

    def rows(self, frame: DataFrame) -> list[dict[str, Value]]:
        """Designs of a table as rows."""
        records = frame[list(self.space.names)].to_dict("records")
        return [self._as_varied(record) for record in records]

    def _as_varied(self, record: Mapping[Any, Any]) -> dict[str, Value]:
        """Numbers as the variables have them: a count read back as 7.0 is 7."""
        found: dict[str, Value] = {}
        for variable in self.space.variables:
            value = record[variable.name]
            values: Sequence[Value] = getattr(variable, "values", ())
            found[variable.name] = next((v for v in values if v == value), value)
        return found


def store_path(results: Path) -> Path:
    """Where the studies of a results folder are kept."""
    return results / "studies.sqlite"

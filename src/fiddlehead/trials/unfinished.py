"""A run on disk while it is followed, so that a killed one loses nothing that was finished."""

from __future__ import annotations

import hashlib
from functools import partial
from pathlib import Path
from typing import Any
from zipfile import BadZipFile

import jax.numpy as jnp
import numpy as np

from fiddlehead.files import write_whole
from fiddlehead.mechanics.body import Body
from fiddlehead.mechanics.contact import Past
from fiddlehead.mechanics.path import PathState
from fiddlehead.mechanics.solid import Stress


class Unfinished:
    """Where a run stands, in one open NPZ file written whole after every pressure step.

    The file also holds ``pressure_mpa`` (step) and ``displacement_mm`` (step, node, 3) of the
    finished steps, for whoever wants to read them without the run.

    Parameters
    ----------
    path : the file
    inputs : everything the result depends on; a file of other inputs is not taken up
    """

    def __init__(self, path: Path, *inputs: Any) -> None:
        self.path = path
        self.key = hashlib.sha256(repr(inputs).encode()).hexdigest()
        self.steps = 1  # the state at rest is not worth a file

    def keep(self, body: Body, pressures_mpa: Any, state: PathState) -> None:
        """Write the state of a batch of one when it has met another pressure."""
        met = int(np.asarray(state.next_stop)[0])
        if met == self.steps:
            return
        self.steps = met
        readable: dict[str, Any] = {
            "key": np.array(self.key),
            "pressure_mpa": np.asarray(pressures_mpa)[:met],
            "displacement_mm": np.asarray(body.to_nodes(state.saved_u[0, :met])),
        }
        write_whole(self.path, partial(np.savez, **readable, **_taken_apart(state)))

    def state(self) -> PathState | None:
        """The state to go on from; None when there is none, or it is of other inputs."""
        try:
            with self.path.open("rb") as file, np.load(file, allow_pickle=False) as stored:
                if str(stored["key"]) != self.key:
                    return None
                return _put_together({name: stored[name] for name in stored.files})
        except (OSError, KeyError, ValueError, BadZipFile):
            return None

    def remove(self) -> None:
        """The run is finished: its result says more than this file."""
        self.path.unlink(missing_ok=True)


def _taken_apart(state: PathState) -> dict[str, Any]:
    arrays: dict[str, Any] = {}
    for name, value in state._asdict().items():
        if value is None:
            continue
        parts = value._asdict() if isinstance(value, (Stress, Past)) else {"": value}
        arrays |= {f"state {name} {part}": np.asarray(array) for part, array in parts.items()}
    return arrays


def _put_together(arrays: dict[str, np.ndarray]) -> PathState:
    fields: dict[str, Any] = {}
    for name in PathState._fields:
        kind = Past if name in ("past", "saved_past") else Stress
        if f"state {name} " in arrays:
            fields[name] = jnp.asarray(arrays[f"state {name} "])
        elif f"state {name} {kind._fields[0]}" in arrays:
            parts = (jnp.asarray(arrays[f"state {name} {part}"]) for part in kind._fields)
            fields[name] = kind(*parts)
        else:
            fields[name] = None
    return PathState(**fields)

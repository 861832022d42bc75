"""Which work can be started from the page, and with which choices."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from fiddlehead.errors import InputError

MESHES = ("preview", "standard", "fine")
ORIENTATIONS = ("side", "upright", "base_down")


@dataclass(frozen=True)
class Choice:
    """One option of a verb: how it is written on a command line, and what it may be."""

    flag: str
    words: tuple[str, ...] = ()
    low: float | None = None
    high: float | None = None
    is_file: bool = False

    def written(self, value: Any, inside: Callable[[str], Any]) -> list[str]:
        """The words of the command line.

        Raises
        ------
        InputError : a value that is not allowed
        """
        if value is True and not self.words and self.low is None and not self.is_file:
            return [self.flag]
        if self.words and value in self.words:
            return [self.flag, str(value)]
        if self.low is not None and self.high is not None and _number(value):
            if self.low < value <= self.high:
                return [self.flag, f"{value:g}"]
        elif self.is_file and isinstance(value, str):
            return [self.flag, str(inside(value))]
        raise InputError("this choice is not allowed", where=self.flag, found=str(value)[:80])


def _number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


MESH = {"mesh": Choice("--mesh", MESHES)}
TO = {"pressure_kpa": Choice("--pressure-kpa", low=0.0, high=1000.0)}
QUICK = {"quick": Choice("--quick")}

VERBS: Mapping[str, Mapping[str, Choice]] = {
    "fit": {},
    "bend": MESH | TO,
    "block": MESH | TO,
    "lateral": MESH | TO,
    "press": MESH | TO | {"smooth": Choice("--smooth")},
    "pads": QUICK,
    "grasp": MESH | TO | {"quick": Choice("--estimate")},
    "grasp-table": {"full": Choice("--full")},
    "explore": {
        "designs": Choice("--designs", low=0.0, high=100_000.0),
        "anew": Choice("--anew"),
    },
    "rank": {},
    "optimise": {},
    "tolerance": {},
    "solid": {},
    "base": QUICK,
    "printcheck": {"orientation": Choice("--orientation", ORIENTATIONS)},
    "sheet": QUICK,
    "experiment plan": {},
    "experiment analyse": {"sheet": Choice("--sheet", is_file=True)},
    "air": {"rigid": Choice("--rigid")},
    "protocol": {},
    "measure": {},
    "compare": QUICK,
    "calibrate": MESH,
    "handover": {},
    "report": {},
}
"""Every verb with its choices; which of them exist, the command line tells at the start."""


def words_of(
    verb: str, choices: Mapping[str, Any], known: Mapping[str, frozenset[str]], inside: Any
) -> list[str]:
    """A verb and its choices as words of a command line, without the project.

    Parameters
    ----------
    known : flags of every verb the command line has
    inside : makes a path in the project of a name, or refuses it

    Raises
    ------
    InputError : no such verb, or a choice it does not have
    """
    if verb not in VERBS or verb not in known:
        raise InputError("there is no such work here", found=verb[:40])
    words = verb.split()
    for name, value in choices.items():
        choice = VERBS[verb].get(name)
        if choice is None or choice.flag not in known[verb]:
            raise InputError("there is no such choice", where=verb, found=name[:40])
        if value is not None and value is not False:
            words += choice.written(value, inside)
    return words

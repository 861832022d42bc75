"""A batch of designs through the trials: the one function that every kind of worker calls."""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from fiddlehead.errors import FiddleheadError
from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.study.catalogue import TrialKind
from fiddlehead.study.pattern import Design, Pattern
from fiddlehead.study.space import Row

Status = Literal["complete", "partial", "refused"]
"""All quantities found; some found, with the reason for the others; no such finger."""


@dataclass(frozen=True)
class Outcome:
    """What was found of one design."""

    status: Status
    values: Mapping[str, float] = field(default_factory=dict)
    reason: str = ""
    seconds: float = 0.0
    """Wall time of its batch, shared out equally."""


def evaluate(
    pattern: Pattern, rows: Sequence[Row], kinds: Sequence[TrialKind], mesh: MeshSettings
) -> list[Outcome]:
    """Run the trials on designs of one topology, in the order of ``rows``.

    The same batch gives the same numbers wherever it runs. A design that cannot be made is
    refused and does not stop the others.
    """
    began = time.perf_counter()
    found: dict[int, dict[str, float]] = {}
    reasons: dict[int, list[str]] = {}
    refused: dict[int, str] = {}
    sound: list[tuple[int, Design]] = []
    for place, row in enumerate(rows):
        try:
            sound.append((place, _checked(pattern, row, kinds, mesh)))
        except FiddleheadError as error:
            refused[place] = " ".join(str(error).split())
    for kind in kinds if sound else ():
        for number, one in kind.measure()([design for _, design in sound], mesh):
            place = sound[number][0]
            found.setdefault(place, {}).update(one.values)
            reasons.setdefault(place, []).extend([one.reason] if one.reason else [])
    seconds = (time.perf_counter() - began) / max(len(rows), 1)
    return [
        Outcome("refused", {}, refused[place], seconds)
        if place in refused
        else Outcome(
            "partial" if reasons[place] else "complete",
            found[place],
            "; ".join(reasons[place]),
            seconds,
        )
        for place in range(len(rows))
    ]


def _checked(pattern: Pattern, row: Row, kinds: Sequence[TrialKind], mesh: MeshSettings) -> Design:
    """The design, after making sure that it can be drawn and meshed.

    Raises
    ------
    ParameterError, MeshError : it cannot
    """
    design = pattern.design(row)
    design.finger.validate()
    if any(kind.meshed for kind in kinds):
        from fiddlehead.mesh.build import build_mesh

        build_mesh(design.finger, mesh)
    return design


def topology(pattern: Pattern, row: Row) -> str:
    """What designs must share to be solved in one batch; designs that cannot be made share one."""
    from fiddlehead.finger.profile import profile_layout

    try:
        finger = pattern.design(row).finger.validate()
    except FiddleheadError:
        return "none"
    return repr(profile_layout(finger))

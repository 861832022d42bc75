"""Trials a study can run and the quantities each finds. A new trial is one module in ``trials``
and one entry here; nothing is loaded until it runs."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from importlib import import_module
from typing import TYPE_CHECKING, NamedTuple

from fiddlehead.errors import ParameterError

if TYPE_CHECKING:
    from fiddlehead.mesh.settings import MeshSettings
    from fiddlehead.study.pattern import Design


class Found(NamedTuple):
    """What one trial found of one design; a quantity it could not find is left out, with the
    reason."""

    values: Mapping[str, float]
    reason: str = ""


Measure = Callable[["Sequence[Design]", "MeshSettings"], Iterator[tuple[int, Found]]]
"""What a trial's module offers as ``measure``: designs of one topology in, findings out with the
design's place, in any order."""


@dataclass(frozen=True)
class TrialKind:
    """One trial: its name, the quantities it finds with a line on each, where it lives."""

    name: str
    quantities: Mapping[str, str]
    module: str
    meshed: bool = True
    """Whether it solves on a mesh, so that designs are grouped by topology."""
    with_slopes: tuple[str, ...] = field(default=())
    """Quantities whose derivatives ``study.slopes`` knows."""

    def measure(self) -> Measure:
        """The function that runs it."""
        found: Measure = import_module(self.module).measure
        return found


BENT = ("tip_angle_deg", "chord_angle_deg", "strain_peak_percent", "strain_p95_percent")
SIZE = TrialKind(
    "size",
    {
        "mass_g": "Mass of the printed finger, g.",
        "length_mm": "Length of the finger, mm.",
        "cavity_volume_cm3": "Volume of the cavity at rest, cm³.",
    },
    "fiddlehead.study.trials.size",
    meshed=False,
    with_slopes=("mass_g", "length_mm", "cavity_volume_cm3"),
)
BEND = TrialKind(
    "bend",
    {
        "tip_angle_deg": "Bending angle, tip tangent, at the working pressure, degrees.",
        "chord_angle_deg": "Bending angle of the chord there, degrees.",
        "strain_peak_percent": "Largest log strain anywhere, %; a point value, so the mesh counts.",
        "strain_p95_percent": "Log strain that 95 % of the material stays below, %.",
        "strain_across_layers_percent": "Largest log strain across layer lines, %.",
        "inflated_volume_cm3": "Volume of the cavity at the working pressure, cm³.",
        "smallest_gap_mm": "Smallest distance between neighbouring bellows, mm; 0 when they touch.",
    },
    "fiddlehead.study.trials.bend",
    with_slopes=(*BENT, "inflated_volume_cm3"),
)
BLOCK = TrialKind(
    "block",
    {"blocked_force_n": "Blocked force of the tip on a plate at the working pressure, N."},
    "fiddlehead.study.trials.block",
)
PRESS = TrialKind(
    "press",
    {
        "grip_force_n": "Grip force at the working pressure, the smallest of the objects, N.",
        "contact_p95_kpa": "Contact pressure that 95 % of the contact area stays below, the "
        "largest of the objects, kPa.",
        "contact_margin": "Allowed contact pressure over that, the smallest of the objects.",
    },
    "fiddlehead.study.trials.press",
)
LATERAL = TrialKind(
    "lateral",
    {
        "lateral_stiffness_n_per_mm": "Lateral stiffness of the tip at the working pressure, N/mm.",
        "lateral_stability": "Lowest sideways eigenvalue over that at rest; 0 is buckling.",
    },
    "fiddlehead.study.trials.lateral",
)
PRINTCHECK = TrialKind(
    "printcheck",
    {
        "print_time_min": "Estimated print time, minutes.",
        "filament_g": "Filament drawn, g.",
        "print_faults": "Faults the layer check finds.",
        "fewest_lines": "Fewest lines between a chamber and the outside.",
    },
    "fiddlehead.study.trials.printcheck",
    meshed=False,
)

CATALOGUE: dict[str, TrialKind] = {
    kind.name: kind for kind in (SIZE, BEND, BLOCK, PRESS, LATERAL, PRINTCHECK)
}
"""Every trial by its name."""


def trial(name: str) -> TrialKind:
    """A trial by name.

    Raises
    ------
    ParameterError : no such trial
    """
    if name not in CATALOGUE:
        raise ParameterError(
            "no such trial", where="study.trials", found=repr(name), allowed=", ".join(CATALOGUE)
        )
    return CATALOGUE[name]


def trial_of(quantity: str) -> TrialKind:
    """The trial that finds a quantity.

    Raises
    ------
    ParameterError : none does
    """
    for kind in CATALOGUE.values():
        if quantity in kind.quantities:
            return kind
    known = [name for kind in CATALOGUE.values() for name in kind.quantities]
    raise ParameterError(
        "no trial finds this quantity", where="study", found=repr(quantity),
        allowed=", ".join(known),
    )  # fmt: skip


def trials_for(quantities: Iterable[str], more: Iterable[str] = ()) -> tuple[TrialKind, ...]:
    """The trials that find these quantities, and ``more`` by name; each once, in their order here.

    Raises
    ------
    ParameterError : a quantity no trial finds, a name that is no trial
    """
    wanted = {trial_of(quantity).name for quantity in quantities} | {trial(n).name for n in more}
    return tuple(kind for name, kind in CATALOGUE.items() if name in wanted)

"""The finger's inlet as solids: bore, hose barb, hole for a screwed fitting, stopper."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
from jaxtyping import Float

from fiddlehead.fabricate import kernel
from fiddlehead.fabricate.contour import straight
from fiddlehead.fabricate.fittings import (
    BARB_GRIP,
    BARB_LENGTH_MM,
    BARB_RIDGES,
    RIDGE_MM,
    SUMP_MM,
    Fittings,
    side_barb_mm,
)
from fiddlehead.fabricate.threads import THREADS
from fiddlehead.finger.parameters import FingerParameters

OVERRUN_MM = 1.0
"""How far cutters reach beyond the faces they cut."""
THREAD_LENGTH_MM = 6.0
"""Depth of a hole for a fitting, or the root block less its rim where that is shorter; chosen by
us."""

# Columns: where the barb's axes go in the finger's; it is drawn along y, its foot at 0.
FROM_ROOT = np.array([[0, 1, 0], [0, 0, 1], [1, 0, 0]], float)  # outwards is -x
FROM_SIDE = np.array([[1, 0, 0], [0, 0, 1], [0, -1, 0]], float)  # outwards is +z


@dataclasses.dataclass(frozen=True)
class Inlet:
    """What an inlet adds to the body and takes from it; ``ledger`` in mm³ by feature."""

    added: tuple[kernel.Shape, ...]
    bores: tuple[kernel.Shape, ...]
    ledger: dict[str, float]


def inlet(p: FingerParameters, f: Fittings) -> Inlet:
    """Model the inlet of a finger that has one."""
    if f.port == "barb" and f.barb_on == "side":
        return _side_barb(p, f)
    radius, axis = p.inlet_bore_mm / 2, p.inlet_height_mm
    face = _root_face_mm(f)
    added: tuple[kernel.Shape, ...] = ()
    ledger: dict[str, float] = {}
    if f.port == "barb":
        added = (_barb(f, FROM_ROOT, (0.0, axis, 0.0), ledger),)
        face = -BARB_LENGTH_MM
    length = p.root_length_mm - face
    ledger["inlet"] = -math.pi * radius**2 * length
    start = (face - OVERRUN_MM, axis, 0.0)
    bores = [kernel.cylinder(start, (1, 0, 0), radius, length + _into_cavity(f))]
    if f.port == "thread":
        drill = THREADS[f.thread].bore_mm(f.thread_form) / 2
        depth = min(THREAD_LENGTH_MM, length - 2.0)
        ledger["thread"] = -math.pi * (drill**2 - radius**2) * depth
        bores.append(kernel.cylinder(start, (1, 0, 0), drill, depth + OVERRUN_MM))
    return Inlet(added, tuple(bores), ledger)


def _root_face_mm(f: Fittings) -> float:
    """x of the face the inlet opens on: the root block's, or that of its rail."""
    return -f.dovetail.depth_mm if f.mount == "dovetail" else 0.0


def _into_cavity(f: Fittings) -> float:
    """Where corners are filleted the bore must not break through the fillet's far side."""
    return 2 * OVERRUN_MM if f.fillet_radius_mm == 0 else OVERRUN_MM


def _side_barb(p: FingerParameters, f: Fittings) -> Inlet:
    """A barb that stands on the root block's side, its bore turning square into the inlet.

    Both bores have one radius r; the upright one ends a little below the other, so that no faces
    touch. Where they cross, ``8 r³/3`` is counted once: half the body that two crossing cylinders
    share (Archimedes).
    """
    ledger: dict[str, float] = {}
    radius, (x, y) = p.inlet_bore_mm / 2, side_barb_mm(p)
    side = p.width_mm / 2
    added = _barb(f, FROM_SIDE, (x, y, side), ledger)
    low = radius + SUMP_MM
    along, up = p.root_length_mm - x, low + side + BARB_LENGTH_MM
    ledger["inlet"] = -math.pi * radius**2 * (along + up) + 8.0 / 3.0 * radius**3
    reach = _into_cavity(f) - OVERRUN_MM
    bores = (
        kernel.cylinder((x, y, 0.0), (1, 0, 0), radius, along + reach),
        kernel.cylinder((x, y, -low), (0, 0, 1), radius, up + OVERRUN_MM),
    )
    return Inlet((added,), bores, ledger)


def _barb(
    f: Fittings,
    axes: Float[np.ndarray, "3 3"],
    foot: tuple[float, float, float],
    ledger: dict[str, float],
) -> kernel.Shape:
    """Cones that narrow outwards, one after the other."""
    neck, crest = f.hose_bore_mm / 2, f.hose_bore_mm / 2 * BARB_GRIP
    points = [(0.0, OVERRUN_MM), (0.0, -BARB_LENGTH_MM)]
    for ridge in reversed(range(BARB_RIDGES)):
        points += [(neck, -(ridge + 1) * RIDGE_MM), (crest, -ridge * RIDGE_MM - RIDGE_MM / 4)]
        points += [(neck, -ridge * RIDGE_MM)]
    points.append((neck, OVERRUN_MM))
    cone = math.pi / 3 * (neck**2 + neck * crest + crest**2) * RIDGE_MM
    ledger["barb"] = BARB_RIDGES * cone
    return kernel.moved(kernel.turned(straight(points)), np.column_stack([axes, foot]))


def stopper(p: FingerParameters, f: Fittings) -> kernel.Shape | None:
    """Closes the inlet at the finger's face; None where there is no inlet."""
    if p.inlet_bore_mm == 0 or f.port == "none":
        return None
    radius = p.inlet_bore_mm / 2 + 0.05
    if f.port == "barb" and f.barb_on == "side":
        x, y = side_barb_mm(p)
        return kernel.cylinder((x, y, p.width_mm / 2), (0, 0, -1), radius, 1.0)
    if f.port == "thread":
        radius = THREADS[f.thread].bore_mm(f.thread_form) / 2 + 0.05
    face = _root_face_mm(f)
    return kernel.cylinder((face, p.inlet_height_mm, 0.0), (1, 0, 0), radius, 1.0)


def inlet_air_mm3(p: FingerParameters, f: Fittings) -> float:
    """Air in the inlet from the cavity to where a hose or fitting begins."""
    return -sum(value for name, value in inlet(p, f).ledger.items() if name != "barb")

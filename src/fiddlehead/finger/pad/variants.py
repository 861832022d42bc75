"""Pads to compare: the same depth filled in different ways."""

from __future__ import annotations

import dataclasses
from typing import Any

from fiddlehead.errors import ParameterError
from fiddlehead.finger.pad.parameters import PadParameters
from fiddlehead.finger.parameters import FingerParameters

STANDARD = PadParameters(cells="re-entrant", cell_count=10, cell_depth_mm=6.4)
"""The pad of a finger that has none: one row of re-entrant cells."""
STANDARD_RIBS: dict[str, Any] = {"rib_count": 8, "rib_angle_deg": 60.0}


def pad_variants(
    finger: FingerParameters,
) -> tuple[dict[str, FingerParameters], dict[str, str]]:
    """The finger bare, and with pads of one depth: plain, ribs, cells, ribs and cells.

    Counts, angles and thicknesses are those of the finger's own pad where it has them. The own pad
    comes as ``own`` where it is none of these.

    Returns
    -------
    The fingers by name, and why others cannot be made.
    """
    own = finger.pad if finger.pad is not None else STANDARD
    clear = own.depth_mm - own.skin_thickness_mm
    kind = own.cells if own.has_lattice else STANDARD.cells
    count = own.cell_count if own.has_lattice else STANDARD.cell_count
    ribs: dict[str, Any] = {} if own.has_ribs else STANDARD_RIBS
    half = (clear - own.skin_thickness_mm) / 2
    wished = {
        "plain": dataclasses.replace(own, rib_count=0, cells="solid", cell_depth_mm=clear),
        "ribs": dataclasses.replace(own, cells="none", rib_depth_mm=clear, **ribs),
        kind: dataclasses.replace(
            own, rib_count=0, cells=kind, cell_count=count, cell_depth_mm=clear
        ),
        "ribs and cells": own
        if own.has_ribs and own.has_lattice
        else dataclasses.replace(
            own, cells=kind, cell_count=count, rib_depth_mm=half, cell_depth_mm=half, **ribs
        ),
    }
    found = {"none": dataclasses.replace(finger, pad=None)}
    refused: dict[str, str] = {}
    for name, pad in wished.items():
        made = dataclasses.replace(finger, pad=pad)
        problems = _problems(made)
        if problems:
            refused[name] = problems
        else:
            found[name] = made
    if finger.pad is not None and all(made.pad != finger.pad for made in found.values()):
        found["own"] = finger
    return found, refused


def _problems(finger: FingerParameters) -> str:
    try:
        finger.validate()
    except ParameterError as error:
        return str(error)
    return ""

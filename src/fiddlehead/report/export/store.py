"""Results that load again without solving: arrays in one file, the rest as a JSON record."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import Any, TypeVar

import numpy as np

from fiddlehead.errors import StoreError
from fiddlehead.files import sha256, write_text, write_whole
from fiddlehead.mesh.records import Mesh
from fiddlehead.trials.records import (
    BendResult,
    BlockResult,
    LateralResult,
    PressResult,
    RunHistory,
    StrainPeaks,
)

FORMAT = "fiddlehead result 1"
ARRAYS, RECORD = "arrays.npz", "record.json"
_PARTS: dict[str, type[Any]] = {"strain": StrainPeaks, "history": RunHistory, "mesh": Mesh}
_LEFT_OUT = {"template", "void_loops"}
"""Needed to solve, not to show."""

R = TypeVar("R", BendResult, BlockResult, LateralResult, PressResult)


def save_result(
    folder: Path,
    kind: str,
    result: BendResult | BlockResult | LateralResult | PressResult,
    about: Mapping[str, Any],
) -> Path:
    """Write the result and what is to be known about it.

    Parameters
    ----------
    kind : ``"bend"``, ``"block"``, ``"press"`` or ``"lateral"``
    about : anything JSON can hold: project, material, mesh, versions, date

    Raises
    ------
    StoreError : the folder cannot be written
    """
    arrays: dict[str, Any] = {}
    values = _take_apart(result, "", arrays)
    path = write_whole(folder / ARRAYS, partial(np.savez_compressed, **arrays))
    record = {
        "format": FORMAT,
        "kind": kind,
        **about,
        "values": values,
        "arrays": {"file": ARRAYS, "sha256": sha256(path)},
    }
    return write_text(folder / RECORD, json.dumps(record, indent=2, ensure_ascii=False) + "\n")


def read_record(folder: Path) -> dict[str, Any]:
    """What stands in ``record.json``.

    Raises
    ------
    StoreError : missing, unreadable, or not a record of ours
    """
    path = folder / RECORD
    try:
        record = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise StoreError(
            "there is no readable result here",
            where=str(path),
            found=str(error),
            remedy="Run the trial again.",
        ) from error
    if not isinstance(record, dict) or record.get("format") != FORMAT:
        raise StoreError(
            "this record is of another format",
            where=str(path),
            found=repr(record.get("format") if isinstance(record, dict) else record)[:60],
            allowed=repr(FORMAT),
            remedy="Run the trial again with this version.",
        )
    return record


def load_bend_result(folder: Path) -> BendResult:
    """A saved free bending.

    Raises
    ------
    StoreError : nothing there, damaged, or another kind of result
    """
    return _load(folder, "bend", BendResult)


def load_block_result(folder: Path) -> BlockResult:
    """A saved blocked force.

    Raises
    ------
    StoreError : nothing there, damaged, or another kind of result
    """
    return _load(folder, "block", BlockResult)


def load_press_result(folder: Path) -> PressResult:
    """A saved pressing on an object.

    Raises
    ------
    StoreError : nothing there, damaged, or another kind of result
    """
    return _load(folder, "press", PressResult)


def load_lateral_result(folder: Path) -> LateralResult:
    """A saved lateral stiffness.

    Raises
    ------
    StoreError : nothing there, damaged, or another kind of result
    """
    return _load(folder, "lateral", LateralResult)


def _load(folder: Path, kind: str, cls: type[R]) -> R:
    record = read_record(folder)
    if record.get("kind") != kind:
        raise StoreError(
            "this is another kind of result",
            where=str(folder),
            found=str(record.get("kind")),
            allowed=kind,
        )
    path = folder / ARRAYS
    damaged = StoreError(
        "the arrays are not those the record was written with",
        where=str(path),
        remedy="Run the trial again.",
    )
    try:
        if sha256(path) != record["arrays"]["sha256"]:
            raise damaged
        with np.load(path, allow_pickle=False) as stored:
            arrays = {name: stored[name] for name in stored.files}
        return _put_together(cls, record["values"], "", arrays)
    except (OSError, KeyError, TypeError, ValueError) as error:
        raise damaged from error


def _take_apart(part: Any, prefix: str, arrays: dict[str, Any]) -> dict[str, Any]:
    """Arrays by dotted name into ``arrays``; returns everything else, ready for JSON."""
    values: dict[str, Any] = {}
    for field in dataclasses.fields(part):
        name, value = f"{prefix}{field.name}", getattr(part, field.name)
        if field.name in _LEFT_OUT:
            continue
        if isinstance(value, np.ndarray):
            arrays[name] = value
        elif dataclasses.is_dataclass(value):
            values[field.name] = _take_apart(value, f"{name}.", arrays)
        elif isinstance(value, dict):
            values[field.name] = list(value)
            arrays |= {f"{name}.{key}": array for key, array in value.items()}
        else:
            values[field.name] = list(value) if isinstance(value, tuple) else value
    return values


def _put_together(cls: type[Any], values: Any, prefix: str, arrays: dict[str, Any]) -> Any:
    found: dict[str, Any] = {}
    for field in dataclasses.fields(cls):
        name = f"{prefix}{field.name}"
        if field.name in _LEFT_OUT:
            continue
        if name in arrays:
            found[field.name] = arrays[name]
        elif field.name in _PARTS:
            found[field.name] = _put_together(
                _PARTS[field.name], values[field.name], f"{name}.", arrays
            )
        elif cls is Mesh and field.name == "faces":
            found[field.name] = {key: arrays[f"{name}.{key}"] for key in values[field.name]}
        else:
            value = values[field.name]
            found[field.name] = tuple(value) if isinstance(value, list) else value
    return cls(**found)

"""The object library: one TOML file a user edits, every number with its standing.

[[object]]
name = "tile"
shape = "rounded box"
sizes = { length_mm = 60.0, width_mm = 60.0, height_mm = 8.0, edge_radius_mm = 1.5 }
mass_g = 55.0
friction_coefficient = 0.4
contact_pressure_limit_kpa = 40.0
force_limit_n = 6.0
standing = { mass_g = "weighed", friction_coefficient = "tilt table, 10 pulls" }
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from fiddlehead.errors import InputError, ParameterError
from fiddlehead.objects.records import ObjectRecord

DEMO_LIBRARY = Path(__file__).with_name("greenware.toml")
"""Three invented pieces of unfired ware."""
NO_STANDING = "not stated"
NUMBERS = ("mass_g", "friction_coefficient", "contact_pressure_limit_kpa", "force_limit_n")
KNOWN = ("name", "shape", "sizes", "file", "note", "standing", *NUMBERS)
MOST = {"mass_g": 1e5, "friction_coefficient": 3.0}


def read_library(path: Path = DEMO_LIBRARY) -> dict[str, ObjectRecord]:
    """All objects of a library by name.

    Parameters
    ----------
    path : the TOML file; the demo's when left out

    Raises
    ------
    InputError : the file cannot be read
    ParameterError : an entry is missing, unknown or impossible
    """
    try:
        data = tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError as error:
        raise InputError(
            "there is no such object library", where=str(path), remedy="Check the path."
        ) from error
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise InputError(
            f"this is no TOML that can be read: {error}", where=str(path), remedy="Mend it."
        ) from error
    entries = data.get("object")
    if not isinstance(entries, list) or not entries or set(data) != {"object"}:
        raise InputError(
            "an object library holds [[object]] tables and nothing else",
            where=str(path),
            found=", ".join(data) or "nothing",
            remedy="Start each object with [[object]].",
        )
    found: dict[str, ObjectRecord] = {}
    for number, entry in enumerate(entries, 1):
        record = _record(entry, f"{path.name}, object {number}")
        if record.name in found:
            raise ParameterError(
                "two objects of one name", where=path.name, found=record.name, remedy="Rename one."
            )
        found[record.name] = record
    return found


def find_object(name: str, path: Path = DEMO_LIBRARY) -> ObjectRecord:
    """One object of a library.

    Raises
    ------
    ParameterError : it holds no object of that name
    """
    library = read_library(path)
    if name not in library:
        near = get_close_matches(name, library, n=1)
        raise ParameterError(
            "no such object in the library",
            where=path.name,
            found=repr(name),
            allowed=", ".join(library),
            remedy=f"Did you mean {near[0]}?" if near else "Add it, or choose one.",
        )
    return library[name]


def _record(entry: Any, where: str) -> ObjectRecord:
    if not isinstance(entry, Mapping):
        raise ParameterError("an object is a table", where=where, remedy="Write [[object]].")
    where = f"{where} ({entry['name']})" if isinstance(entry.get("name"), str) else where
    for key in entry:
        if key not in KNOWN:
            near = get_close_matches(key, KNOWN, n=1)
            raise ParameterError(
                "there is no such entry",
                where=where,
                found=key,
                allowed=", ".join(KNOWN),
                remedy=f"Did you mean {near[0]}?" if near else "Leave it out.",
            )
    for key in ("name", "shape"):
        _text(entry, key, where, needed=True)
    for key in ("file", "note"):
        _text(entry, key, where, needed=False)
    scanned = entry["shape"] == "scanned"
    if scanned != bool(entry.get("file")):
        raise ParameterError(
            "a scanned object needs its file" if scanned else "only a scanned object has a file",
            where=where,
            remedy='Give file = "scan.stl" with shape = "scanned".',
        )
    sizes, standing = entry.get("sizes", {}), entry.get("standing", {})
    if not isinstance(sizes, Mapping) or not isinstance(standing, Mapping):
        raise ParameterError(
            "sizes and standing are tables", where=where, remedy="Write sizes = { ... }."
        )
    numbers = {key: _number(entry, key, where) for key in NUMBERS}
    return ObjectRecord(
        name=entry["name"],
        shape=entry["shape"],
        sizes=dict(sizes),
        mass_g=_needed(numbers, "mass_g", where),
        friction_coefficient=_needed(numbers, "friction_coefficient", where),
        contact_pressure_limit_kpa=numbers["contact_pressure_limit_kpa"],
        force_limit_n=numbers["force_limit_n"],
        standing={k: str(standing.get(k, NO_STANDING)) for k in NUMBERS if numbers[k] is not None},
        note=str(entry.get("note", "")),
        file=str(entry.get("file", "")),
    )


def _text(entry: Mapping[str, Any], key: str, where: str, *, needed: bool) -> None:
    value = entry.get(key)
    if (needed and not value) or (value is not None and not isinstance(value, str)):
        raise ParameterError(
            "this entry must be text",
            where=f"{where}, {key}",
            found=repr(value),
            remedy="Quote it.",
        )


def _needed(numbers: Mapping[str, float | None], key: str, where: str) -> float:
    value = numbers[key]
    if value is None:
        raise ParameterError("this entry is missing", where=where, found=key, remedy=f"Add {key}.")
    return value


def _number(entry: Mapping[str, Any], key: str, where: str) -> float | None:
    value = entry.get(key)
    if value is None:
        return None
    most = MOST.get(key, math.inf)
    good = isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)
    if not good or value < 0 or value > most or (value == 0 and key != "friction_coefficient"):
        low = "0" if key == "friction_coefficient" else "above 0"
        raise ParameterError(
            "out of range",
            where=f"{where}, {key}",
            found=repr(value),
            allowed=f"{low} to {most:g}" if most < math.inf else low,
            remedy="Check the unit.",
        )
    return float(value)

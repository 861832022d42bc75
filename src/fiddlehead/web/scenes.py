"""A saved result as something to look at in space: places at each pressure, and colours over them.

Any result with a mesh, displacements over its steps and values at its nodes is shown; which values
a kind of result has is told in :data:`FIELDS`.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from fiddlehead.errors import StoreError
from fiddlehead.mesh.records import Mesh
from fiddlehead.report.export.store import ARRAYS, read_record
from fiddlehead.report.surface import OUTER, whole_surface
from fiddlehead.web.pack import Arrays, packed
from fiddlehead.web.shapes import edges, spread, triangles, with_centres


@dataclass(frozen=True)
class Field:
    """Values at the nodes that colours can show."""

    array: str
    label: str
    unit: str
    factor: float = 1.0


LEAK_MAP = "leak_map.npz"
FIELDS = (
    Field("contact_node_mpa", "Contact pressure, mean around each node", "kPa", 1e3),
    Field("node_strain", "Largest principal log strain", "%", 100.0),
)


def is_scene(folder: Path) -> bool:
    """Whether a folder holds a result that can be shown in space."""
    if (folder / LEAK_MAP).is_file():
        return True
    try:
        listed = read_record(folder)
    except StoreError:
        return False
    return "mesh" in listed.get("values", {}) and (folder / ARRAYS).is_file()


def scene(folder: Path) -> bytes:
    """One saved result, packed for the page.

    Raises
    ------
    StoreError : there is none, or it is damaged
    """
    if (folder / LEAK_MAP).is_file():
        return _leak_map(folder / LEAK_MAP)
    record = read_record(folder)
    arrays = _arrays(folder / ARRAYS)
    mesh = _mesh(record, arrays, folder)
    surface = whole_surface(mesh, tuple(name for name in OUTER if name in mesh.faces))
    displacement = arrays.get("displacement_mm", np.zeros((1, *mesh.points.shape)))
    places = [with_centres(surface, surface.place(mesh.points + step)) for step in displacement]
    found: Arrays = {
        "positions": np.asarray(places, "<f4"),
        "triangles": triangles(surface).astype("<u4"),
        "edges": edges(surface).astype("<u4"),
    }
    fields = []
    for field in FIELDS:
        values = arrays.get(field.array)
        if values is None or values.shape != (len(displacement), len(mesh.points)):
            continue
        shown = [spread(surface, field.factor * step[surface.node]) for step in values]
        found[field.array] = np.nan_to_num(np.asarray(shown, "<f4"))
        fields.append(
            {
                "array": field.array,
                "label": field.label,
                "unit": field.unit,
                "low": 0.0,
                "high": float(found[field.array].max()),
            }
        )
    head = {
        "kind": record["kind"],
        "project": record.get("project", {}).get("name", ""),
        "date": record.get("date", ""),
        "steps": _steps(arrays, len(displacement)),
        "fields": fields,
        "peaks": _peaks(record, arrays),
    }
    return packed(head, found)


def _leak_map(path: Path) -> bytes:
    """The printed surface with what its walls lack."""
    stored = _arrays(path)
    name = "lacks"
    field = {"array": name, "label": "Leak risk: lacking of what a tight wall needs", "unit": "%"}
    arrays: Arrays = {
        "positions": stored["vertices"][None].astype("<f4"),
        "triangles": stored["triangles"].astype("<u4"),
        name: 100.0 * stored[name][None].astype("<f4"),
    }
    head = {"steps": [{"label": "as printed"}], "fields": [{**field, "low": 0.0, "high": 100.0}]}
    return packed(head, arrays)


def _arrays(path: Path) -> dict[str, Any]:
    try:
        with np.load(path, allow_pickle=False) as stored:
            return {name: stored[name] for name in stored.files}
    except (OSError, ValueError) as error:
        raise StoreError(
            "the arrays of this result cannot be read",
            where=str(path),
            remedy="Run the trial again.",
        ) from error


def _mesh(record: dict[str, Any], arrays: dict[str, Any], folder: Path) -> Mesh:
    try:
        listed = record["values"]["mesh"]
        return Mesh(
            points=arrays["mesh.points"],
            elements=arrays["mesh.elements"],
            region_names=tuple(listed["region_names"]),
            element_region=arrays["mesh.element_region"],
            faces={name: arrays[f"mesh.faces.{name}"] for name in listed["faces"]},
        )
    except (KeyError, TypeError) as error:
        raise StoreError(
            "this result has no mesh to show",
            where=str(folder),
            remedy="Run the trial again with this version.",
        ) from error


def _steps(arrays: dict[str, Any], count: int) -> list[dict[str, Any]]:
    pressures = arrays.get("pressure_mpa")
    if pressures is None or len(pressures) != count:
        return [{"label": f"step {number}"} for number in range(count)]
    return [{"label": f"{1e3 * p:.4g} kPa", "pressure_kpa": 1e3 * float(p)} for p in pressures]


def _peaks(record: dict[str, Any], arrays: dict[str, Any]) -> list[str]:
    """What is largest at each step, in words: contact pressure, or strain and where."""
    if "peak_mpa" in arrays and "p95_mpa" in arrays:
        pairs = zip(1e3 * arrays["peak_mpa"], 1e3 * arrays["p95_mpa"], strict=True)
        return [
            f"{top:.3g} kPa at one point; 95th percentile {most:.3g} kPa" for top, most in pairs
        ]
    peak = arrays.get("strain.peak")
    regions = record["values"].get("strain", {}).get("region", [])
    if peak is None or len(peak) != len(regions):
        return []
    return [f"{100 * value:.1f} % in {where}" for value, where in zip(peak, regions, strict=True)]

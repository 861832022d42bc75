"""Grasps as files: a record that loads again, and one row of numbers for every step."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from fiddlehead.errors import StoreError
from fiddlehead.files import sha256, write_text, write_whole
from fiddlehead.grasp.records import GraspRun, GraspTable, Margins, Verdict
from fiddlehead.mesh.records import Mesh
from fiddlehead.objects.records import ObjectRecord
from fiddlehead.report.export.store import ARRAYS, FORMAT, RECORD, read_record
from fiddlehead.report.export.tables import Columns

MESH = "mesh."
FACES = "mesh.faces."


def save_grasp(folder: Path, run: GraspRun, about: Mapping[str, Any]) -> Path:
    """Write one grasp and what is to be known about it.

    Raises
    ------
    StoreError : the folder cannot be written
    """
    arrays: dict[str, Any] = {}
    values: dict[str, Any] = {}
    for field in dataclasses.fields(run):
        value = getattr(run, field.name)
        if isinstance(value, np.ndarray):
            arrays[field.name] = value
        elif field.name == "mesh":
            continue
        elif dataclasses.is_dataclass(value) and not isinstance(value, type):
            values[field.name] = dataclasses.asdict(value)
        else:
            values[field.name] = value
    mesh = run.mesh
    arrays |= {
        f"{MESH}points": mesh.points,
        f"{MESH}elements": mesh.elements,
        f"{MESH}element_region": mesh.element_region,
        **{FACES + name: faces for name, faces in mesh.faces.items()},
    }
    values["region_names"] = list(mesh.region_names)
    path = write_whole(folder / ARRAYS, partial(np.savez_compressed, **arrays))
    record = {
        "format": FORMAT,
        "kind": "grasp",
        **about,
        "values": values,
        "arrays": {"file": ARRAYS, "sha256": sha256(path)},
    }
    return write_text(folder / RECORD, json.dumps(record, indent=2, ensure_ascii=False) + "\n")


def load_grasp(folder: Path) -> GraspRun:
    """A saved grasp.

    Raises
    ------
    StoreError : nothing there, damaged, or another kind of result
    """
    record = read_record(folder)
    if record.get("kind") != "grasp":
        raise StoreError(
            "this is another kind of result",
            where=str(folder),
            found=str(record.get("kind")),
            allowed="grasp",
        )
    path = folder / ARRAYS
    damaged = StoreError(
        "the arrays are not those the record was written with",
        where=str(path),
        remedy="Run the grasp again.",
    )
    try:
        if sha256(path) != record["arrays"]["sha256"]:
            raise damaged
        with np.load(path, allow_pickle=False) as stored:
            arrays = {name: stored[name] for name in stored.files}
        return _put_together(dict(record["values"]), arrays)
    except (OSError, KeyError, TypeError, ValueError) as error:
        raise damaged from error


def _put_together(values: dict[str, Any], arrays: dict[str, Any]) -> GraspRun:
    mesh = Mesh(
        points=arrays[f"{MESH}points"],
        elements=arrays[f"{MESH}elements"],
        region_names=tuple(values.pop("region_names")),
        element_region=arrays[f"{MESH}element_region"],
        faces={n.removeprefix(FACES): a for n, a in arrays.items() if n.startswith(FACES)},
    )
    verdict = values.pop("verdict")
    verdict["margins"] = Margins(**verdict["margins"])
    verdict["remarks"] = tuple(verdict["remarks"])
    own = {name: array for name, array in arrays.items() if not name.startswith(MESH)}
    for name in ("phase", "directions_deg"):
        values[name] = tuple(values[name])
    return GraspRun(
        **values
        | own
        | {
            "mesh": mesh,
            "verdict": Verdict(**verdict),
            "object": ObjectRecord(**values["object"]),
        }
    )


def grasp_columns(run: GraspRun) -> Columns:
    """One row for each step; forces of the fingers by their number."""
    columns: dict[str, Sequence[Any]] = {
        "phase": run.phase,
        "pressure_kpa": list(1e3 * run.pressure_mpa),
    }
    for k, axis in enumerate("xyz"):
        columns[f"load_{axis}_n"] = list(run.load_n[:, k])
    for k, axis in enumerate("xyz"):
        columns[f"shift_{axis}_mm"] = list(run.motion[:, k])
    for k, axis in enumerate("xyz"):
        columns[f"turn_{axis}_deg"] = list(np.degrees(run.motion[:, 3 + k]))
    for k, axis in enumerate("xyz"):
        columns[f"fingers_{axis}_n"] = list(run.wrench[:, k])
    for finger, group in enumerate(run.group):
        number = finger + 1
        columns[f"finger_{number}_normal_n"] = list(run.normal_n[:, group])
        columns[f"finger_{number}_tangential_n"] = list(run.tangential_n[:, group])
        columns[f"finger_{number}_contact_area_mm2"] = list(run.contact_area_mm2[:, group])
        columns[f"finger_{number}_contact_pressure_p95_kpa"] = list(1e3 * run.p95_mpa[:, group])
        columns[f"finger_{number}_contact_pressure_peak_kpa"] = list(1e3 * run.peak_mpa[:, group])
        columns[f"finger_{number}_slipping_share"] = list(run.slip_share[:, group])
    columns["iterations"] = [int(count) for count in run.iterations]
    return columns


def table_columns(table: GraspTable) -> Columns:
    """One row for each cell of a grasp table; what is unknown stays empty."""

    def known(value: float | None) -> Any:
        return "" if value is None else value

    rows = []
    for cell in table.cells:
        margins = cell.verdict.margins
        rows.append(
            {
                "object": cell.object_name,
                "fingers": cell.fingers,
                "pad": "with" if cell.padded else "without",
                "pitch_radius_mm": cell.pitch_radius_mm,
                "method": cell.method,
                "outcome": cell.verdict.outcome,
                "reason": cell.verdict.reason,
                "slip_margin": known(margins.slip),
                "damage_margin": known(margins.damage),
                "reach_margin": known(margins.reach),
                "lateral_margin": known(margins.lateral),
                "payload_kg": known(cell.payload_kg),
                "largest_normal_n": cell.normal_n,
                "contact_pressure_kpa": known(cell.p95_kpa),
                "out_of_plane_mm": known(cell.deflection_mm),
                "probability": "" if cell.chance is None else cell.chance.probability,
                "probability_low": "" if cell.chance is None else cell.chance.low,
                "probability_high": "" if cell.chance is None else cell.chance.high,
            }
        )
    return {name: [row[name] for row in rows] for name in rows[0]} if rows else {"object": []}

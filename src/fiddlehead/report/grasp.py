"""Result folders of grasps: record, table of steps, picture, frames; and of the grasp table."""

from __future__ import annotations

import dataclasses
import json
import math
from pathlib import Path
from typing import Any

from fiddlehead.files import write_text
from fiddlehead.grasp.records import Chance, GraspEstimate, GraspRun, GraspTable
from fiddlehead.report.about import about_run, versions
from fiddlehead.report.export.grasps import grasp_columns, save_grasp, table_columns
from fiddlehead.report.export.tables import write_table
from fiddlehead.report.figures.grasp import draw_grasp, grasp_picture, write_frames
from fiddlehead.report.figures.grasp_table import draw_table, table_picture
from fiddlehead.report.figures.style import save
from fiddlehead.report.results import CANCELLED, Run, Written, write_result
from fiddlehead.units import say


def write_grasp(
    results: Path,
    run: Run,
    found: GraspRun,
    estimate: GraspEstimate,
    chance: Chance | None,
    sensitivities: dict[str, float],
) -> Written:
    """Write one grasp with its estimate.

    Raises
    ------
    StoreError : the folder cannot be written
    """
    name = f"{len(found.directions_deg)} fingers on {found.object.name}"
    detail = (
        f"{run.card.name}; {1e3 * float(found.pressure_mpa.max()):.0f} kPa\n"
        f"{'half fingers by symmetry' if found.half_fingers else 'whole fingers'}, "
        f"{len(found.mesh.elements)} elements each"
    )
    heading = f"{run.project.name}: {name}"

    def fill(folder: Path) -> None:
        about = about_run(run.project, run.card, found.mesh, run.mesh, run.date)
        save_grasp(folder, found, about)
        write_table(folder / "grasp.csv", grasp_columns(found))
        wanted = run.project.sections.grasp.wanted_margin
        save(draw_grasp(grasp_picture(found, heading, detail, wanted)), folder, "grasp")
        write_frames(folder, found, name)
        beside = {
            "estimate": estimate_numbers(estimate),
            "full_run": run_numbers(found),
            "estimate_over_full_run": ratios(estimate, found),
            "sensitivity_of_the_estimate": sensitivities,
            "probability": None if chance is None else dataclasses.asdict(chance),
        }
        text = json.dumps(beside, indent=2, ensure_ascii=False, default=float)
        write_text(folder / "estimate.json", text + "\n")

    place = found.object.name.replace(" ", "_")
    if found.partial:
        place += f"-{CANCELLED}" if "request" in found.partial else "-partial"
    return write_result(
        results / "grasp" / place, fill, "grasp", run.project.input_hash, ("grasp",)
    )


def write_grasp_table(results: Path, run: Run, table: GraspTable, remark: str) -> Written:
    """Write a grasp table as a picture, as CSV and as a record.

    Raises
    ------
    StoreError : the folder cannot be written
    """

    def fill(folder: Path) -> None:
        picture = table_picture(table, f"{run.project.name}: grasp table", remark)
        save(draw_table(picture), folder, "grasp_table")
        write_table(folder / "grasp_table.csv", table_columns(table))
        record = {
            "kind": "grasp-table",
            "date": run.date,
            "versions": versions(),
            "remark": remark,
            "cells": [
                {
                    "object": c.object_name,
                    "column": c.column,
                    "method": c.method,
                    "verdict": dataclasses.asdict(c.verdict),
                    "payload_kg": c.payload_kg,
                    "probability": None if c.chance is None else dataclasses.asdict(c.chance),
                }
                for c in table.cells
            ],
        }
        text = json.dumps(record, indent=2, ensure_ascii=False, default=float)
        write_text(folder / "record.json", text + "\n")

    return write_result(
        results / "grasp-table", fill, "grasp-table", run.project.input_hash, ("grasp_table",)
    )


def estimate_numbers(found: GraspEstimate) -> dict[str, Any]:
    """An estimate's numbers, for people and machines."""
    pressure = found.contact_pressure_mpa
    return {
        "standing": found.standing,
        "verdict": dataclasses.asdict(found.verdict),
        "touch_pressure_kpa": [_known(1e3 * p) for p in found.touch_pressure_mpa],
        "normal_n": [float(n) for n in found.normal_n],
        "payload_kg": found.payload_kg,
        "contact_pressure_peak_kpa": None if pressure is None else 1e3 * pressure,
        "epsilon_n": found.epsilon_n,
        "object_motion_mm": found.object_motion_mm,
    }


def run_numbers(found: GraspRun) -> dict[str, Any]:
    """A full run's numbers, for people and machines."""
    step = _carried(found)
    return {
        "verdict": dataclasses.asdict(found.verdict),
        "partial": found.partial,
        "touch_pressure_kpa": _known(1e3 * found.touch_pressure_mpa),
        "normal_n": [float(found.normal_n[step, g]) for g in found.group],
        "payload_kg": found.payload_kg,
        "pull_off_n": found.pull_off_n,
        "contact_pressure_p95_kpa": [float(1e3 * found.p95_mpa[step, g]) for g in found.group],
        "epsilon_n": found.epsilon_n,
        "object_motion_mm": float((found.motion[step, :3] ** 2).sum() ** 0.5),
        "out_of_plane_mm": None
        if found.deflection_mm is None
        else [float(d) for d in found.deflection_mm],
        "corrections": found.solves,
        "elapsed_s": found.elapsed_s,
    }


def ratios(estimate: GraspEstimate, found: GraspRun) -> dict[str, float | None]:
    """The estimate's numbers over those of the full run: its error."""
    step, touch = _carried(found), found.touch_pressure_mpa
    force = float(found.normal_n[step].max())
    return {
        "touch_pressure": _over(_known(estimate.touch_pressure_mpa.max()), _known(touch)),
        "normal_force": float(estimate.normal_n.max() / force) if force > 0 else None,
        "payload": estimate.payload_kg / found.payload_kg if found.payload_kg else None,
        "slip_margin": _over(estimate.verdict.margins.slip, found.verdict.margins.slip),
    }


def _known(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


def _over(one: float | None, other: float | None) -> float | None:
    return one / other if one is not None and other else None


def _carried(found: GraspRun) -> int:
    """The last step before the pull."""
    kept = [k for k, name in enumerate(found.phase) if name != "pull-off"]
    return kept[-1]


def sentences(found: GraspRun, estimate: GraspEstimate) -> list[str]:
    """What a grasp says in a few sentences, the most wanted first."""
    numbers, over = run_numbers(found), ratios(estimate, found)
    told = [f"{found.verdict.words}"]
    margins = {k: v for k, v in vars(found.verdict.margins).items() if v is not None}
    if margins:
        words = ", ".join(f"{name} {value:.2g}" for name, value in margins.items())
        told.append(f"Margins (1 is the limit): {words}.")
    if found.payload_kg is not None:
        told.append(
            f"Could carry {say(found.payload_kg, 'kg')} hanging still"
            + (
                f"; pull-off force {say(found.pull_off_n, 'N')}."
                if found.pull_off_n is not None
                else " by the balance of its contact forces; no pull was found that it follows."
            )
        )
        told.append(
            f"Each finger presses with up to {say(max(numbers['normal_n']), 'N')}; contact "
            f"pressure p95 {say(max(numbers['contact_pressure_p95_kpa']), 'kPa')}; the object "
            f"moved {say(numbers['object_motion_mm'], 'mm')} in the grip."
        )
        told.append(
            f"Shaking moves a tip out of its plane by {say(max(numbers['out_of_plane_mm']), 'mm')}."
        )
    if over["payload"] is not None and over["normal_force"] is not None:
        told.append(
            f"The fast estimate gave {over['payload']:.2g} times this payload and "
            f"{over['normal_force']:.2g} times this grip force."
        )
    return told

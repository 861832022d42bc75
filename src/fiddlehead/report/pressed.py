"""What pressing on objects says, and its folder of results."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from fiddlehead.material.card import MaterialCard
from fiddlehead.objects.records import ObjectRecord
from fiddlehead.project.run_sections import LoadsSection
from fiddlehead.report.about import about_run, detail_line
from fiddlehead.report.export.series import write_series
from fiddlehead.report.export.store import save_result
from fiddlehead.report.export.tables import press_columns, write_table
from fiddlehead.report.figures.curves import draw_curves
from fiddlehead.report.figures.press import (
    draw_press_map,
    grip_force_picture,
    press_map_picture,
    pressure_picture,
)
from fiddlehead.report.figures.style import save
from fiddlehead.report.results import CANCELLED, Run, Written, write_result
from fiddlehead.report.summary import Summary, run_warnings
from fiddlehead.trials.records import PressResult
from fiddlehead.units import say

FEW_POINTS = 40
"""Integration points in contact (nine to a face, half finger) below which the peak means little:
our choice."""


def write_press(
    results: Path, run: Run, found: Sequence[PressResult], objects: Sequence[ObjectRecord]
) -> Written:
    """Write pressing on objects, one folder per object.

    Raises
    ------
    StoreError : the folder cannot be written
    """
    heading = f"{run.project.name}: pressing on"
    detail = detail_line(run.card, found[0].mesh)

    def fill(folder: Path) -> None:
        for result, record in zip(found, objects, strict=True):
            inner = folder / result.object_name.replace(" ", "_")
            about = about_run(run.project, run.card, result.mesh, run.mesh, run.date)
            save_result(inner, "press", result, about)
            write_series(inner, "press", result)
            write_table(inner / "press.csv", press_columns(result))
            name = f"{heading} {result.object_name}"
            picture = press_map_picture(result, name, detail)
            save(draw_press_map(picture), folder, f"map_{inner.name}")
            limits = pressure_picture(result, name, detail, record.contact_pressure_limit_kpa)
            save(draw_curves(limits), inner, limits.name)
        forces = grip_force_picture(found, f"{heading} objects", detail)
        save(draw_curves(forces), folder, forces.name)

    cancelled = any(result.history.outcome == CANCELLED for result in found)
    place = f"press-{CANCELLED}" if cancelled else "press"
    maps = [f"map_{result.object_name.replace(' ', '_')}" for result in found]
    return write_result(
        results / place, fill, "press", run.project.input_hash, [*maps, "grip_force_pressure"]
    )


def summarise_press(
    found: Sequence[PressResult],
    objects: Sequence[ObjectRecord],
    loads: LoadsSection,
    card: MaterialCard,
) -> Summary:
    """Grip force and contact pressure at the highest pressure, against the object's limits."""
    sentences, warnings = [], []
    for result, record in zip(found, objects, strict=True):
        name = result.object_name
        air = say(1e3 * result.pressure_mpa[-1], "kPa")
        sentences.append(
            f"{name}: grip force {say(result.grip_force_n[-1], 'N')} at {air}; contact pressure "
            f"95th percentile {say(1e3 * result.p95_mpa[-1], 'kPa')}, peak "
            f"{say(1e3 * result.peak_mpa[-1], 'kPa')}, mean {say(1e3 * result.mean_mpa[-1], 'kPa')}"
            f" on {result.contact_area_mm2[-1]:.0f} mm2."
        )
        warnings += [f"{name}: {text}" for text in press_warnings(result, record)]
        told = run_warnings(result.history, result.pressure_mpa, result.strain, loads, card)
        warnings += [f"{name}: {text}" for text in told]
    return Summary(tuple(sentences), (*warnings, *card.warnings))


def press_warnings(result: PressResult, record: ObjectRecord) -> tuple[str, ...]:
    """Where the object's limits are passed, and whether the peak means anything."""
    told = []
    limits = (
        ("contact pressure (95th percentile)", 1e3 * result.p95_mpa, "contact_pressure_limit_kpa"),
        ("grip force", result.grip_force_n, "force_limit_n"),
    )
    for words, values, field in limits:
        limit = getattr(record, field)
        unit = "kPa" if field.endswith("kpa") else "N"
        over = np.flatnonzero(values > limit) if limit is not None else np.array([], int)
        if len(over):
            told.append(
                f"{words} passes the object's limit of {say(limit, unit)} "
                f"({record.standing.get(field, 'not stated')}) at "
                f"{say(1e3 * result.pressure_mpa[over[0]], 'kPa')}."
            )
    if 0 < result.points_touching[-1] < FEW_POINTS:
        told.append(
            f"only {int(result.points_touching[-1])} points of the mesh touch: the peak means "
            "nothing and the 95th percentile little; run it with --mesh fine."
        )
    if result.points_touching[-1] == 0:
        told.append("the finger does not touch the object.")
    return tuple(told)

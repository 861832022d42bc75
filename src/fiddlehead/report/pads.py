"""Pads compared: sentences, table, maps on one scale, and where they are written."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from fiddlehead.material.card import MaterialCard
from fiddlehead.report.about import about_run, detail_line
from fiddlehead.report.export.store import save_result
from fiddlehead.report.export.tables import press_columns, write_table
from fiddlehead.report.figures.pads import draw_factors, draw_histogram
from fiddlehead.report.figures.press import PressMapPicture, draw_press_map, press_map
from fiddlehead.report.figures.style import save
from fiddlehead.report.results import CANCELLED, Run, Written, write_result
from fiddlehead.report.summary import Summary
from fiddlehead.trials.pads import MESH_TOLERANCE, PadComparison, PadFigures
from fiddlehead.trials.records import PressResult
from fiddlehead.units import say

SIDE_BY_SIDE = 3
"""Maps in one picture."""


def pad_rows(compared: PadComparison) -> dict[str, Sequence[Any]]:
    """One row per pad and condition."""
    rows = [("equal grip force", f) for f in compared.at_force]
    rows += [("equal air pressure", f) for f in compared.at_air]
    return {
        "condition": [condition for condition, _ in rows],
        "pad": [f.name for _, f in rows],
        "air_kpa": [f.air_kpa for _, f in rows],
        "grip_force_n": [f.grip_force_n for _, f in rows],
        "contact_pressure_peak_kpa": [f.peak_kpa for _, f in rows],
        "contact_pressure_95th_percentile_kpa": [f.p95_kpa for _, f in rows],
        "contact_pressure_mean_kpa": [f.mean_kpa for _, f in rows],
        "contact_area_mm2": [f.contact_area_mm2 for _, f in rows],
        "peak_reduction_factor": [f.peak_factor for _, f in rows],
        "p95_reduction_factor": [f.p95_factor for _, f in rows],
        "p95_change_on_second_mesh": [f.p95_mesh_change for _, f in rows],
    }


def write_pads(
    results: Path, run: Run, compared: PadComparison, found: Mapping[str, PressResult]
) -> Written:
    """Write a comparison of pads, with the result of each pad in a folder of its own.

    Raises
    ------
    StoreError : the folder cannot be written
    """
    name = f"{run.project.name}: pads on {compared.object_name}"
    detail = detail_line(run.card, next(iter(found.values())).mesh)

    def fill(folder: Path) -> None:
        write_table(folder / "pads.csv", pad_rows(compared))
        for kind, result in found.items():
            inner = folder / kind.replace(" ", "_")
            about = about_run(run.project, run.card, result.mesh, run.mesh, run.date)
            save_result(inner, "press", result, about)
            write_table(inner / "press.csv", press_columns(result))
        save(draw_factors(compared, name, detail), folder, "reduction")
        save(draw_histogram(compared, name, detail), folder, "histogram")
        for number, picture in enumerate(map_pictures(compared, found, name, detail), 1):
            save(draw_press_map(picture), folder, f"maps_{number}")

    cancelled = any(result.history.outcome == CANCELLED for result in found.values())
    place = f"pads-{CANCELLED}" if cancelled else "pads"
    return write_result(results / place, fill, "pads", run.project.input_hash)


def map_pictures(
    compared: PadComparison, found: Mapping[str, PressResult], heading: str, detail: str
) -> tuple[PressMapPicture, ...]:
    """All pads at the equal grip force, a few to a picture, one colour scale for all."""
    maps = []
    for figures, step in zip(compared.at_force, compared.step_at_force, strict=True):
        label = f"{figures.name}: {figures.air_kpa:.0f} kPa air, p95 {figures.p95_kpa:.0f} kPa"
        maps.append(press_map(found[figures.name], label, step))
    most = max([1.0, *(float(one.pressure_kpa.max()) for one in maps)])
    head = f"{heading}, all at {compared.grip_force_n:.2f} N"
    groups = [maps[k : k + SIDE_BY_SIDE] for k in range(0, len(maps), SIDE_BY_SIDE)]
    return tuple(PressMapPicture(head, detail, tuple(group), most) for group in groups)


def summarise_pads(
    compared: PadComparison, refused: Mapping[str, str], card: MaterialCard
) -> Summary:
    """Factors at equal force and at equal air pressure, and what not to trust."""
    air = {f.name: f for f in compared.at_air}
    sentences = [
        f"All at {say(compared.grip_force_n, 'N')} grip force on {compared.object_name}; the "
        f"second factor at {say(compared.air_kpa, 'kPa')} air pressure."
    ]
    for f in compared.at_force:
        own = f"{f.name}: contact pressure 95th percentile {say(f.p95_kpa, 'kPa')}"
        if f.name == "none":
            sentences.append(f"{own} (the bare finger).")
        else:
            sentences.append(
                f"{own}, {f.p95_factor:.1f} times lower ({air[f.name].p95_factor:.1f} times at "
                f"equal air); peak {f.peak_factor:.1f} times lower."
            )
    warnings = [text for f in compared.at_force if (text := _mesh_warning(f))]
    warnings += [f"no pad '{name}' of this depth: {why}" for name, why in refused.items()]
    return Summary(tuple(sentences), (*warnings, *card.warnings))


def _mesh_warning(f: PadFigures) -> str:
    if f.p95_mesh_change != f.p95_mesh_change:  # NaN: no second mesh
        return f"{f.name}: not tried on a second mesh, so nobody knows whether the figures hold."
    if f.mesh_holds:
        return ""
    return (
        f"{f.name}: the 95th percentile changes by {100 * f.p95_mesh_change:.0f} % on a second "
        f"mesh (trusted up to {100 * MESH_TOLERANCE:.0f} %), so the mesh is too coarse for it and "
        "its peak means nothing: run it with --mesh fine."
    )

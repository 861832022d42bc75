"""Sections on what was predicted: mesh and convergence, bending, force, strain, stiffness."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from fiddlehead.material.card import MaterialCard
from fiddlehead.report.document import Block, Note, Section, Table
from fiddlehead.report.export.store import (
    load_bend_result,
    load_block_result,
    load_lateral_result,
    read_record,
)
from fiddlehead.report.figures.shapes import chosen_steps
from fiddlehead.report.job.parts import Job
from fiddlehead.report.summary import (
    Summary,
    summarise_bend,
    summarise_block,
    summarise_lateral,
)
from fiddlehead.trials.records import BlockResult
from fiddlehead.units import say

ROWS = 6
"""Pressures told in a table; the CSV holds all of them."""


def card_of(record: dict[str, Any]) -> MaterialCard:
    """The material card a run was computed with, from its record."""
    kept = record["material"]
    known = {f.name: kept[f.name] for f in dataclasses.fields(MaterialCard) if f.name in kept}
    known["files"] = tuple((name, digest) for name, digest in known["files"])
    known["warnings"] = tuple(known["warnings"])
    return MaterialCard(**known)


def the_mesh(job: Job) -> Section | None:
    """What the predictions were computed on, and how far the solver got."""
    runs = tuple(_runs(job))
    if not runs:
        return None
    sizes, solved = [], []
    for name, record in runs:
        mesh, history = record["mesh"], record["values"]["history"]
        sizes.append((
            name,
            str(mesh["elements"]),
            str(history["unknowns"]),
            f"{mesh['smallest_scaled_jacobian']:.3f}",
            f"{mesh['largest_aspect']:.1f}",
        ))  # fmt: skip
        solved.append((
            name,
            history["outcome"].replace("_", " "),
            say(1e3 * history["pressure_reached_mpa"], "kPa"),
            str(history["solves"]),
            str(history["cuts"]),
            f"{history['tolerance']:.0e}",
            f"{history['elapsed_s']:.1f}",
        ))  # fmt: skip
    kind = runs[0][1]["mesh"]["element_kind"]
    return Section(
        "Mesh and convergence",
        (
            f"Mesh: {kind}. The finer preset of the mesh tells how much of a result is the mesh: "
            "on the demo finger the standard one lies within 2 % of it.",
            Table(
                ("run", "elements", "unknowns", "scaled Jacobian", "aspect"),
                tuple(sizes),
                "Worst element of each mesh: 1 is a perfect brick",
            ),
            Table(
                ("run", "outcome", "reached", "solves", "cuts", "tolerance", "time, s"),
                tuple(solved),
                "Linear solves of all pressure steps together, steps that were cut, residual force "
                "over applied force",
            ),
        ),
    )


def _runs(job: Job) -> Iterator[tuple[str, dict[str, Any]]]:
    """Every record of a trial, with a name for it."""
    if job.has("bend"):
        yield "bending", read_record(job.results / "bend")
    if job.has("block"):
        for folder in _presets(job):
            yield f"blocked force, {_preset_words(folder)}", read_record(folder)
    if job.has("lateral"):
        yield "lateral stiffness", read_record(job.results / "lateral")


def _presets(job: Job) -> list[Path]:
    """Folders of blocked force by rising preset angle."""
    folders = (job.results / "block").glob("preset_*_deg")
    return sorted(folders, key=lambda folder: float(folder.name.split("_")[1]))


def _preset_words(folder: Path) -> str:
    return f"preset {folder.name.split('_')[1]}°"


def bending(job: Job) -> Section | None:
    """Angle, tip path and shapes over pressure."""
    if not job.has("bend"):
        return None
    folder = job.results / "bend"
    result, card = load_bend_result(folder), card_of(read_record(folder))
    first = job.project.tests.bend.bending_angle
    summary = summarise_bend(result, job.project.loads, card, first=first)
    p = 1e3 * result.pressure_mpa
    rows = tuple(
        (
            f"{p[n]:.4g}",
            f"{result.tip_angle_deg[n]:.1f}",
            f"{result.chord_angle_deg[n]:.1f}",
            f"{result.tip_path_mm[n, 0]:.1f}",
            f"{result.tip_path_mm[n, 1]:.1f}",
            f"{result.cavity_volume_mm3[n] / 1e3:.2f}",
            f"{100 * result.strain.peak[n]:.1f}",
        )
        for n in chosen_steps(len(p), ROWS)
    )
    header = ("kPa gauge", "tip angle, °", "chord angle, °", "tip x, mm", "tip y, mm", "air, cm³",
              "largest strain, %")  # fmt: skip
    rise = (
        f"from 0 to {result.tip_angle_deg[-1]:.0f}° (tip tangent) and "
        f"{result.chord_angle_deg[-1]:.0f}° (chord) at {p[-1]:.4g} kPa."
    )
    return Section(
        "Bending",
        (
            *_told(summary, card),
            *job.pictures(
                "bend",
                ("angle_pressure", "Both bending angles over gauge pressure.",
                 f"Bending angles rise {rise}"),
                ("shapes", "The finger at rising pressure, coloured by strain.",
                 f"The finger bends {rise} Largest strain {100 * result.strain.peak[-1]:.0f} % at "
                 f"the {result.strain.region[-1]}."),
                ("tip_path", "Path of the tip, from the root of the gripping face.", ""),
            ),
            Table(header, rows, "Bending over pressure; bend.csv holds every step"),
        ),
    )  # fmt: skip


def strains(job: Job) -> Section | None:
    """Where the material is strained most, beside the limits."""
    if not job.has("bend"):
        return None
    result = load_bend_result(job.results / "bend")
    loads, strain = job.project.loads, result.strain
    rows = (
        ("largest, a point value", f"{100 * strain.peak[-1]:.1f} %", "", strain.region[-1]),
        ("95 % of the volume below", f"{100 * strain.p95[-1]:.1f} %", "", ""),
        ("in the layer plane", f"{100 * strain.in_plane[-1]:.1f} %",
         f"{loads.strain_limit_percent:g} %", ""),
        ("across layers", f"{100 * strain.across_layers[-1]:.1f} %",
         f"{loads.strain_limit_across_layers_percent:g} %", strain.across_layers_region[-1]),
        ("most compressed", f"{100 * strain.smallest[-1]:.1f} %", "", ""),
    )  # fmt: skip
    shows = "Largest principal log strain over gauge pressure, beside your limits."
    return Section(
        "Strain",
        (
            *job.pictures("bend", ("strain_pressure", shows, "")),
            Table(
                ("log strain", "value", "your limit", "where"),
                rows,
                f"At {say(1e3 * result.pressure_mpa[-1], 'kPa')}",
            ),
            "A point value depends on the mesh; the value below which 95 % of the volume stays "
            "hardly does.",
        ),
    )


def blocked_force(job: Job) -> Section | None:
    """Force of the held tip over pressure, at each preset angle."""
    folders = _presets(job) if job.has("block") else []
    if not folders:
        return None
    results = [load_block_result(folder) for folder in folders]
    card = card_of(read_record(folders[0]))
    summary = summarise_block(results, job.project.loads, card)
    shapes = [
        (f"{folder.name}/shapes", f"Tip held, {_preset_words(folder)}, coloured by strain.", "")
        for folder in folders
    ]
    return Section(
        "Blocked force",
        (
            *_told(summary, card),
            *job.pictures(
                "block",
                ("force_pressure", "Blocked force of one finger over gauge pressure.", ""),
                *shapes,
            ),
            *(_forces(result) for result in results),
        ),
    )


def _forces(result: BlockResult) -> Table:
    p = 1e3 * result.pressure_mpa
    rows = tuple(
        (f"{p[n]:.4g}", f"{result.force_n[n]:.3f}", f"{result.hand_bound_n[n]:.3f}",
         f"{result.contact_distance_mm[n]:.1f}")
        for n in chosen_steps(len(p), ROWS)
        if np.isfinite(result.force_n[n])
    )  # fmt: skip
    return Table(
        ("kPa gauge", "force, N", "hand bound p·A·e/L, N", "contact from root, mm"),
        rows,
        f"Preset {result.preset_angle_deg:g}°, plate met at {result.touch_angle_deg:.0f}°",
    )


def lateral_stiffness(job: Job) -> Section | None:
    """A push from the side."""
    if not job.has("lateral"):
        return None
    folder = job.results / "lateral"
    result, card = load_lateral_result(folder), card_of(read_record(folder))
    p = 1e3 * result.pressure_mpa
    rows = tuple(
        (f"{p[n]:.4g}", f"{result.stiffness_n_per_mm[n]:.3f}", f"{result.twist_deg_per_n[n]:.3f}",
         f"{result.stability[n]:.3f}")
        for n in chosen_steps(len(p), ROWS)
    )  # fmt: skip
    shows = "Lateral stiffness of the tip and distance from lateral buckling over gauge pressure."
    return Section(
        "Lateral stiffness",
        (
            *_told(summarise_lateral(result, card), card),
            *job.pictures("lateral", ("lateral_stiffness", shows, "")),
            Table(("kPa gauge", "stiffness, N/mm", "twist, °/N", "stability against rest"), rows),
        ),
    )


def _told(summary: Summary, card: MaterialCard) -> tuple[Block, ...]:
    """Sentences and warnings; those of the card stand in its own section."""
    notes = [Note(text) for text in summary.warnings if text not in card.warnings]
    return (" ".join(summary.sentences), *notes)

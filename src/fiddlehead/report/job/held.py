"""Sections on objects: pressing on them, pads compared, grasps and the grasp table."""

from __future__ import annotations

import csv
from typing import Any

from fiddlehead.report.document import Note, Section, Table
from fiddlehead.report.export.store import load_press_result, read_record
from fiddlehead.report.job.parts import Job
from fiddlehead.units import say

MARGINS = ("slip", "damage", "reach", "lateral")


def pressing(job: Job) -> Section | None:
    """Grip force and contact pressure on each object at the highest pressure."""
    if not job.has("press"):
        return None
    folders = [mark.parent for mark in sorted((job.results / "press").glob("*/record.json"))]
    found = [load_press_result(folder) for folder in folders]
    rows = tuple(
        (
            result.object_name,
            f"{1e3 * result.pressure_mpa[-1]:.4g}",
            f"{result.grip_force_n[-1]:.2f}",
            f"{1e3 * result.p95_mpa[-1]:.0f}",
            f"{1e3 * result.peak_mpa[-1]:.0f}",
            f"{1e3 * result.mean_mpa[-1]:.1f}",
            f"{result.contact_area_mm2[-1]:.0f}",
            f"{result.friction_coefficient:g}",
        )
        for result in found
    )
    header = ("object", "kPa gauge", "grip force, N", "p95, kPa", "peak, kPa", "mean, kPa",
              "area, mm²", "friction")  # fmt: skip
    named = list(zip(folders, (result.object_name for result in found), strict=True))
    maps = [
        (f"map_{folder.name}", f"Contact pressure on {name}, seen from the object.")
        for folder, name in named
    ]
    limits = [
        (f"{folder.name}/{path.stem}",
         f"Contact pressure on {name} over air pressure, beside its limit.")
        for folder, name in named
        for path in sorted(folder.glob("*.png"))
    ]  # fmt: skip
    forces = ("grip_force_pressure", "Grip force over air pressure.")
    return Section(
        "Pressing on objects",
        (
            Table(header, rows, "Contact pressure at the highest air pressure, one finger"),
            "p95 is the pressure that 95 % of the contact area stays below; the peak is a point "
            "value and depends on the mesh.",
            *job.pictures("press", *maps, forces, *limits),
        ),
    )


def pad_comparison(job: Job) -> Section | None:
    """By how much each pad lowers the contact pressure."""
    if not job.has("pads"):
        return None
    with (job.results / "pads" / "pads.csv").open(encoding="utf-8", newline="") as file:
        lines = list(csv.DictReader(file))
    rows = tuple(
        (
            f"{line['pad']}, {line['condition']}",
            f"{float(line['air_kpa']):.3g}",
            f"{float(line['grip_force_n']):.3g}",
            f"{float(line['contact_pressure_95th_percentile_kpa']):.3g}",
            f"{float(line['p95_reduction_factor']):.2f}",
            f"{float(line['peak_reduction_factor']):.2f}",
        )
        for line in lines
    )
    header = ("pad", "air, kPa", "grip force, N", "p95, kPa", "p95 lower by", "peak lower by")
    maps = sorted(path.stem for path in (job.results / "pads").glob("maps_*.png"))
    pictures = job.pictures(
        "pads",
        ("reduction", "By how much each pad lowers the contact pressure."),
        ("histogram", "Share of the contact area over contact pressure."),
        *((name, "Maps at one grip force and on one scale.") for name in maps),
    )
    title = "Factors are against the bare finger: 2 means half the pressure"
    return Section("Pads compared", (*pictures, Table(header, rows, title)))


def grasps(job: Job) -> Section | None:
    """One grasp after the other: verdict, margins, and what to mind."""
    places = [name for name in job.made_by("grasp") if job.has(name)]
    told = tuple(_grasp(job, place) for place in places)
    return Section("Grasps", told) if told else None


def _grasp(job: Job, place: str) -> Section:
    values = read_record(job.results / place)["values"]
    verdict, numbers = values["verdict"], job.document(place, "estimate.json")["full_run"]
    name = values["object"]["name"]
    rows = [
        (f"margin: {margin} (1 is the limit)", f"{verdict['margins'][margin]:.2g}")
        for margin in MARGINS
        if verdict["margins"][margin] is not None
    ]
    if numbers["payload_kg"] is not None:
        rows.append(("payload, hanging still", say(numbers["payload_kg"], "kg")))
    if numbers["pull_off_n"] is not None:
        rows.append(("pull-off force", say(numbers["pull_off_n"], "N")))
    rows += [
        ("largest normal force of a finger", say(max(numbers["normal_n"]), "N")),
        ("largest contact pressure, p95", say(max(numbers["contact_pressure_p95_kpa"]), "kPa")),
        ("the object moved", say(numbers["object_motion_mm"], "mm")),
    ]
    if numbers["out_of_plane_mm"] is not None:
        rows.append(("tip out of its plane", say(max(numbers["out_of_plane_mm"]), "mm")))
    why = f": {verdict['reason']}" if verdict["reason"] else ""
    return Section(
        f"{name}: {verdict['outcome']}{why}",
        (
            *job.pictures(place, ("grasp", f"The grasp of {name}, phase by phase.")),
            Table(("quantity", "value"), tuple(rows)),
            *(Note(remark) for remark in verdict["remarks"]),
            *([Note(f"Stopped early: {values['partial']}.")] if values["partial"] else []),
        ),
    )


def grasp_table(job: Job) -> Section | None:
    """Objects by numbers of fingers, without and with pad."""
    if not job.has("grasp-table"):
        return None
    cells: list[dict[str, Any]] = job.document("grasp-table", "record.json")["cells"]
    rows = tuple(
        (
            f"{cell['object']}, {cell['column']}",
            cell["verdict"]["outcome"],
            cell["verdict"]["reason"],
            *(_margin(cell["verdict"]["margins"][name]) for name in MARGINS),
            cell["method"],
        )
        for cell in cells
    )
    shows = "Objects by numbers of fingers, without and with pad."
    return Section(
        "Grasp table",
        (
            *job.pictures("grasp-table", ("grasp_table", shows)),
            Table(("grasp", "outcome", "why", *MARGINS, "by"), rows, "Margins: 1 is the limit"),
        ),
    )  # fmt: skip


def _margin(value: float | None) -> str:
    return "" if value is None else f"{value:.2g}"

"""Sections for the printer: layer check, slicing sheet, base, airtightness experiment."""

from __future__ import annotations

import csv
import math
import tomllib
from typing import Any

from fiddlehead.errors import StoreError
from fiddlehead.report.document import Block, Note, Section, Table
from fiddlehead.report.job.parts import Job
from fiddlehead.units import name_without_unit, say, unit_of_field, written_unit


def layer_check(job: Job) -> Section | None:
    """Whether the pressure walls will be tight, and what the print takes."""
    if not job.has("printcheck"):
        return None
    kept = job.document("printcheck", "printcheck.json")
    check = kept["check"]
    blocks: list[Block] = [
        f"{check['verdict'][:1].upper()}{check['verdict'][1:]}. {print_takes(check)}",
        Table(
            ("measure", "found", "asked for"),
            (
                ("longest bridge", say(check["longest_bridge_mm"], "mm"),
                 f"{kept['process']['longest_bridge_mm']:g} mm or less"),
                ("fewest lines in a pressure wall", _number(check["fewest_pressure_lines"]),
                 f"{kept['process']['least_pressure_lines']} or more"),
                ("fewest layers in a pressure wall", _number(check["fewest_pressure_layers"]),
                 f"{kept['process']['least_pressure_layers']} or more"),
                ("loops on pressure walls whose seam has no free place",
                 f"{check['seams_forced_on_pressure_walls']} of {check['pressure_loops']}", ""),
            ),
        ),
    ]  # fmt: skip
    wanted = (
        ("tightness", "Where the printed finger may leak, by our scale."),
        ("layers", "Layers as printed, those with findings first."),
        ("orientations", "Three orientations compared."),
    )
    told = ((name, shows, f"{shows} {check['verdict']}.") for name, shows in wanted)
    blocks += job.pictures("printcheck", *told)
    if "orientations" in kept:
        blocks.append(_orientations(kept["orientations"]))
    return Section("Layer check", tuple(blocks))


def print_takes(check: dict[str, Any]) -> str:
    """Time and filament of one finger in a sentence."""
    estimate = check["estimate"]
    minutes = round(estimate["time_s"] / 60)
    return (
        f"One finger takes about {minutes // 60} h {minutes % 60:02d} min and "
        f"{estimate['mass_g']:.1f} g of filament."
    )


def _number(value: float | None) -> str:
    return "none" if value is None else f"{value:.3g}"


def _orientations(found: dict[str, Any]) -> Table:
    rows = tuple(
        (
            name.replace("_", " "),
            one["verdict"],
            f"{one['longest_bridge_mm']:.1f}",
            str(one["faults"]),
            f"{one['estimate']['time_s'] / 3600:.1f}",
        )
        for name, one in found.items()
    )
    header = ("orientation", "verdict", "longest bridge, mm", "faults", "time, h")
    return Table(header, rows, "Orientations on the plate")


def print_sheet(job: Job) -> Section | None:
    """Settings to key into a slicing program."""
    if not job.has("sheet"):
        return None
    path = job.results / "sheet" / "slicing.toml"
    try:
        settings = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise StoreError("this sheet cannot be read", where=str(path), found=str(error)) from error
    rows = []
    for entry in settings.values():
        if isinstance(entry, dict):
            unit = written_unit(entry.get("unit", ""))
            low, high = entry.get("range", ("", ""))
            rows.append((
                entry["name"],
                f"{_plain(entry['start'])} {unit}".strip(),
                f"{_plain(low)} to {_plain(high)} {unit}" if entry.get("range") else "",
                "your project" if entry["from_project"] else entry["standing"],
            ))  # fmt: skip
    return Section(
        "Print sheet",
        (
            "Start values for the slicing program, and the range to search where a print leaks. "
            "Reasons stand in sheet/slicing.html.",
            Table(("setting", "start", "search within", "rests on"), tuple(rows)),
        ),
    )


def _plain(value: object) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


def _setting(name: str) -> str:
    """The field name of a print setting with its unit as it is printed."""
    unit = written_unit(unit_of_field(name))
    return f"{name_without_unit(name)}, {unit}" if unit else name_without_unit(name)


def printed_base(job: Job) -> Section | None:
    """The base that carries the fingers."""
    if not job.has("base"):
        return None
    base = job.document("base", "base.json")
    rows = (
        ("across", say(base["outer_diameter_mm"], "mm")),
        ("thick", say(base["thickness_mm"], "mm")),
        ("slots, with fingers", f"{base['slots']}, {len(base['slots_with_fingers'])}"),
        ("blanking plugs", str(base["blanking_plugs"])),
        ("wrist flange", base["parameters"]["flange"]),
        ("volume when solid", say(base["base"]["volume_mm3"] / 1e3, "cm3")),
    )
    seen = job.pictures("base", ("base", "The base with fingers, from below, and its flange face."))
    drawing = job.pictures("base", ("drawing", "Dimensioned drawing of the base, mm."))
    return Section("Base", (*seen, Table(("", ""), rows), *drawing))


def experiment(job: Job) -> Section | None:
    """The airtightness experiment: how it was laid out and what it says."""
    blocks: list[Block] = []
    if job.has("experiment-plan"):
        plan = job.document("experiment-plan", "plan.json")
        blocks.append(
            f"Plan: {plan['design']} of resolution {plan['resolution']}, random order drawn with "
            f"seed {plan['seed']}."
            if plan["resolution"]
            else f"Plan: {plan['design']}, random order drawn with seed {plan['seed']}."
        )
        rows = tuple(
            (_setting(factor["name"]), _plain(factor["low"]), _plain(factor["high"]))
            for factor in plan["factors"]
        )
        blocks.append(Table(("print setting", "low", "high"), rows))
    if job.has("experiment-analysis"):
        blocks += _analysis(job)
    return Section("Airtightness experiment", tuple(blocks)) if blocks else None


def _analysis(job: Job) -> list[Block]:
    found = job.document("experiment-analysis", "analysis.json")
    leak, low, high = found["leak_cm3_per_min"]
    blocks: list[Block] = [
        f"Expected leak of a coupon at the recommended settings: {leak:.2g} cm³/min at ANR "
        f"(95 % interval {low:.2g} to {high:.2g}).",
        Table(
            ("print setting", "recommended"),
            tuple((_setting(name), value) for name, value in found["recommended"].items()),
        ),
    ]
    blocks += job.pictures(
        "experiment-analysis",
        ("effects", "Half-normal plot of the effects on the leak."),
        ("main_effects", "Leak over each setting."),
        ("chance", "Chance that a coupon holds."),
    )
    with (job.results / "experiment-analysis" / "variance.csv").open(encoding="utf-8") as file:
        header, *rows = csv.reader(file)
    words = tuple(name.replace("_", " ") for name in header)
    shown = tuple(tuple(_short(cell) for cell in row) for row in rows)
    blocks.append(Table(words, shown, "Analysis of variance"))
    return [*blocks, *(Note(remark) for remark in found["remarks"])]


def _short(cell: str) -> str:
    try:
        value = float(cell)
    except ValueError:
        return cell
    return f"{value:.3g}" if math.isfinite(value) else ""

"""The layer check as files: verdict and numbers, every finding with its place, pictures.

results/printcheck/  printcheck.json, findings.csv, seams.csv, tightness.png/svg,
                     layers.png/svg, orientations.png/svg
"""

from __future__ import annotations

import dataclasses
import json
import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from fiddlehead.fabricate.findings import Finding
from fiddlehead.fabricate.printcheck import PrintCheck
from fiddlehead.files import write_text
from fiddlehead.finger.print_settings import BuildOrientation
from fiddlehead.report.export.tables import write_table
from fiddlehead.report.figures.layers import draw_layers, layers_picture
from fiddlehead.report.figures.style import save
from fiddlehead.report.figures.tightness import orientations_picture, tightness_picture
from fiddlehead.report.figures.views import draw_views
from fiddlehead.report.results import Written, write_result


def write_print_check(
    place: Path,
    name: str,
    input_hash: str,
    check: PrintCheck,
    others: Mapping[BuildOrientation, PrintCheck] | None = None,
) -> Written:
    """Write one check, and the comparison of orientations where there is one.

    Raises
    ------
    StoreError : the folder cannot be written
    """
    pictures = ["tightness", "layers"] + (["orientations"] if others else [])

    def fill(folder: Path) -> None:
        record = {
            "check": check_numbers(check),
            "process": dataclasses.asdict(check.layers.process),
        }
        if others:
            record["orientations"] = {key: check_numbers(value) for key, value in others.items()}
        write_text(folder / "printcheck.json", json.dumps(record, indent=2) + "\n")
        write_table(folder / "findings.csv", finding_columns(check.findings))
        write_table(folder / "spans.csv", span_columns(check))
        write_table(folder / "seams.csv", _seam_columns(check))
        verdict = f"{check.verdict}; scale chosen by us"
        picture = tightness_picture(check, f"{name}: where it may leak", verdict)
        save(draw_views(picture), folder, "tightness")
        layers = layers_picture(check, f"{name}: layers as printed", check.verdict)
        save(draw_layers(layers), folder, "layers")
        if others:
            views = orientations_picture(others, f"{name}: orientations compared")
            save(draw_views(views), folder, "orientations")

    return write_result(place, fill, "printcheck", input_hash, pictures)


def check_numbers(check: PrintCheck) -> dict[str, Any]:
    """Verdict, measures and estimate as plain values; what does not exist is null."""
    return {
        "verdict": check.verdict,
        "faults": len(check.faults),
        "cautions": len(check.findings) - len(check.faults),
        "kinds": sorted(check.kinds),
        "longest_bridge_mm": check.longest_bridge_mm,
        "largest_free_ledge_mm": check.steepest_ledge_mm,
        "fewest_pressure_lines": _finite(check.fewest_lines),
        "fewest_pressure_layers": _finite(check.fewest_layers),
        "pressure_loops": len(check.seams),
        "seams_forced_on_pressure_walls": check.forced_seams,
        "chambers": [dataclasses.asdict(chamber) for chamber in check.air.chambers],
        "estimate": dataclasses.asdict(check.estimate),
    }


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def finding_columns(findings: tuple[Finding, ...]) -> dict[str, list[Any]]:
    """Findings as a table; places on the plate, the part centred on 0, 0."""
    return {
        "kind": [f.kind for f in findings],
        "severity": [f.severity for f in findings],
        "measure": [f.worst for f in findings],
        "at_closed_chamber": ["yes" if f.inside else "no" for f in findings],
        "first_layer": [f.first_layer for f in findings],
        "last_layer": [f.last_layer for f in findings],
        "worst_layer": [f.worst_layer for f in findings],
        "x_mm": [f.place_mm[0] for f in findings],
        "y_mm": [f.place_mm[1] for f in findings],
        "height_mm": [f.place_mm[2] for f in findings],
    }


def span_columns(check: PrintCheck) -> dict[str, list[Any]]:
    """Every unsupported place steeper than the limit, harmless ones too; no span for a ledge."""
    middles = [h.area.representative_point() for h in check.hanging]
    return {
        "layer": [h.layer + 1 for h in check.hanging],
        "kind": ["ledge" if h.span is None else "bridge" for h in check.hanging],
        "span_mm": ["" if h.span is None else h.span for h in check.hanging],
        "reach_mm": [h.reach for h in check.hanging],
        "over_closed_chamber": ["yes" if h.inside else "no" for h in check.hanging],
        "x_mm": [float(point.x) for point in middles],
        "y_mm": [float(point.y) for point in middles],
    }


def _seam_columns(check: PrintCheck) -> dict[str, list[Any]]:
    seams = check.seams
    return {
        "layer": [s.layer + 1 for s in seams],
        "x_mm": [s.place_mm[0] for s in seams],
        "y_mm": [s.place_mm[1] for s in seams],
        "on_pressure_wall": ["yes" if s.on_pressure_wall else "no" for s in seams],
    }

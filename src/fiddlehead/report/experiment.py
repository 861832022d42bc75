"""An airtightness experiment on paper: the plan to print from, and what the filled sheet says.

results/experiment-plan/      plan.html, result_sheet.csv, coupon.3mf/stl/png, plan.json
results/experiment-analysis/  analysis.html, recommended.toml, pictures, effects.csv, variance.csv
"""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

from fiddlehead.errors import StoreError
from fiddlehead.fabricate.coupon import Coupon
from fiddlehead.fabricate.experiment_analysis import ExperimentResult
from fiddlehead.fabricate.experiment_plan import LETTERS, ExperimentPlan
from fiddlehead.fabricate.experiment_sheet import blank_rows
from fiddlehead.fabricate.exporters.stl import write_stl
from fiddlehead.fabricate.exporters.threemf import write_3mf
from fiddlehead.fabricate.solid import finger_solid
from fiddlehead.files import sha256, write_text
from fiddlehead.project.load import Project
from fiddlehead.report.document import html
from fiddlehead.report.experiment_sheets import analysis_sheet, plan_sheet
from fiddlehead.report.export.tables import write_table
from fiddlehead.report.fabrication import prove
from fiddlehead.report.figures.chance import chance_picture, draw_chance
from fiddlehead.report.figures.experiment import (
    contour_picture,
    draw_contour,
    draw_effects,
    draw_trade,
    effects_picture,
    trade_picture,
    word_label,
)
from fiddlehead.report.figures.main_effects import draw_main_effects, main_effects_picture
from fiddlehead.report.figures.style import save
from fiddlehead.report.figures.views import Viewpoint, ViewsPicture, draw_views, view_of
from fiddlehead.report.results import Written, write_result
from fiddlehead.units import say

PLAN, ANALYSIS = "experiment-plan", "experiment-analysis"
SHEET = "result_sheet.csv"


def write_plan(results: Path, project: Project, plan: ExperimentPlan, coupon: Coupon) -> Written:
    """Write the plan, the blank result sheet and the coupon.

    Raises
    ------
    StoreError : the folder cannot be written, or the result sheet in it has been filled in
    InputError : the coupon's solid is unsound
    """
    blank = _csv(blank_rows(plan))
    _spare_filled_sheet(results / PLAN)
    solid = finger_solid(coupon.parameters, coupon.fittings, "leak coupon")
    orientation = project.printing.build_orientation
    found = prove("leak coupon", solid.shape, solid.part(orientation), solid.expected_volume_mm3)
    mass = solid.mass_g(project.material.density_g_per_cm3)
    pressure = project.loads.working_pressure_kpa
    holds = project.sections.bench.holds_percent_per_min
    sheet = plan_sheet(project.name, plan, coupon, mass, pressure, orientation, holds)

    def fill(folder: Path) -> None:
        about = f"leak coupon; input {project.input_hash[:12]}; printed {orientation}"
        write_stl(found.part, folder / "coupon.stl")
        write_3mf([found.part], folder / "coupon.3mf", title=f"{project.name} coupon", about=about)
        picture = ViewsPicture(
            f"{project.name}: leak coupon",
            f"{say(coupon.parameters.length_mm, 'mm')} long, {say(mass, '')} g solid, "
            f"{say(coupon.volume_cm3, 'cm3')} of air; walls and gaps of the finger",
            (view_of([found.part], Viewpoint(-35.0, 25.0), up=(0, 1, 0), caption="back and side"),
             view_of([found.part], Viewpoint(-120.0, 20.0), up=(0, 1, 0), caption="root")),
        )  # fmt: skip
        save(draw_views(picture), folder, "coupon")
        write_text(folder / SHEET, blank)
        write_text(folder / "plan.html", html(sheet))
        record = {**_plan_record(plan), "blank_sheet": blank}
        write_text(folder / "plan.json", json.dumps(record, indent=2) + "\n")

    return write_result(results / PLAN, fill, "experiment plan", project.input_hash, ("coupon",))


def _csv(rows: list[list[str]]) -> str:
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows(rows)
    return text.getvalue()


def _spare_filled_sheet(folder: Path) -> None:
    """Refuse to replace a result sheet that somebody has written into."""
    sheet, plan = folder / SHEET, folder / "plan.json"
    if not (sheet.exists() and plan.exists()):
        return
    try:
        blank = json.loads(plan.read_text(encoding="utf-8")).get("blank_sheet", "")
        untouched = sheet.read_text(encoding="utf-8") == blank
    except (OSError, ValueError, AttributeError):
        untouched = False
    if not untouched:
        raise StoreError(
            "this result sheet has been filled in; it was left as it is",
            where=str(sheet),
            remedy="Move it elsewhere before you make a new plan.",
        )


def _plan_record(plan: ExperimentPlan) -> dict[str, Any]:
    return {
        "design": plan.design,
        "resolution": plan.resolution,
        "generators": plan.generators,
        "aliases": list(plan.aliases),
        "seed": plan.seed,
        "factors": [
            {"letter": letter, "name": f.name, "low": f.low, "high": f.high, "standing": f.standing}
            for letter, f in zip(LETTERS, plan.factors, strict=False)
        ],
    }


def write_analysis(
    results: Path, project: Project, result: ExperimentResult, sheet: Path
) -> Written:
    """Write what a filled sheet says.

    Parameters
    ----------
    sheet : the filled sheet, named and fingerprinted in the record

    Raises
    ------
    StoreError : the folder cannot be written
    """
    detail = f"{len(result.log_leak)} coupons of {sheet.name}"
    name, factors = project.name, result.sheet.factors
    drawn = {
        "effects": (effects_picture(result, f"{name}: what moves the leak", detail), draw_effects),
        "main_effects": (
            main_effects_picture(result, f"{name}: leak over each setting", detail),
            draw_main_effects,
        ),
        "chance": (chance_picture(result, f"{name}: chance to hold", detail), draw_chance),
        "contour": (contour_picture(result, f"{name}: predicted leak"), draw_contour),
        "tight_against_soft": (trade_picture(result, f"{name}: tight and soft"), draw_trade),
    }
    pictures = tuple(key for key, (picture, _) in drawn.items() if picture is not None)

    def fill(folder: Path) -> None:
        for key in pictures:
            picture, draw = drawn[key]
            save(draw(picture), folder, key)  # type: ignore[operator]
        if result.effects is not None:
            found = result.effects.effects
            columns: dict[str, list[Any]] = {
                "effect": [word_label(e.word, factors) for e in found],
                "mixed_up_with": [" ".join(word_label(w, factors) for w in e.also) for e in found],
                "change_of_log10_leak": [e.value for e in found],
                "half_normal_quantile": [e.quantile for e in found],
                "active": ["yes" if e.active else "no" for e in found],
            }
            write_table(folder / "effects.csv", columns)
        write_table(folder / "variance.csv", _variance_columns(result))
        write_text(folder / "recommended.toml", recommended_toml(name, result))
        write_text(folder / "analysis.html", html(analysis_sheet(name, result, pictures)))
        record = {
            "sheet": sheet.name,
            "sheet_sha256": sha256(sheet),
            "recommended": result.recommendation.settings,
            "leak_cm3_per_min": result.recommendation.leak_cm3_per_min,
            "chance_to_hold": result.recommendation.chance_to_hold,
            "remarks": list(result.remarks),
        }
        write_text(folder / "analysis.json", json.dumps(record, indent=2) + "\n")

    kind = "experiment analysis"
    return write_result(results / ANALYSIS, fill, kind, project.input_hash, pictures)


def _variance_columns(result: ExperimentResult) -> dict[str, list[Any]]:
    rows, factors = result.variance, result.sheet.factors
    return {
        "source": [source_label(row.source, factors) for row in rows],
        "degrees_of_freedom": [row.degrees_of_freedom for row in rows],
        "sum_of_squares": [row.sum_of_squares for row in rows],
        "f_ratio": [row.f_ratio for row in rows],
        "p_value": [row.p_value for row in rows],
    }


def source_label(source: str, factors: Any) -> str:
    """A line of the analysis of variance in words."""
    return word_label(source, factors) if set(source) <= set(LETTERS) else source


def recommended_toml(name: str, result: ExperimentResult) -> str:
    """Recommended settings for any slicer: names with units, and what to expect of them."""
    best = result.recommendation
    leak, low, high = best.leak_cm3_per_min
    lines = [
        f"# {name}: print settings recommended by a leak experiment.",
        f"# Expected leak of a coupon {leak:.3g} cm3/min at ANR (95 % interval {low:.3g} to "
        f"{high:.3g}).",
        "# Confirm with five coupons before use.",
        "",
    ]
    for factor in result.sheet.factors:
        value = best.settings[factor.name]
        idle = factor.name in best.without_effect
        note = "  # no effect seen; middle of the range" if idle else ""
        written = f'"{value}"' if factor.words else value
        lines.append(f"{factor.name} = {written}{note}")
    return "\n".join(lines) + "\n"

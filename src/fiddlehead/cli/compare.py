"""``fiddlehead compare``: what was measured over what was predicted."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from fiddlehead.cli.codes import DOUBTS, OK
from fiddlehead.cli.options import json_option, project_argument, results_option
from fiddlehead.cli.output import Voice
from fiddlehead.cli.session import (
    card_for,
    checked_project,
    keep_compiled_programs,
    now,
    results_folder,
)

if TYPE_CHECKING:
    from fiddlehead.bench.predicted import Scatter
    from fiddlehead.bench.records import Predicted
    from fiddlehead.project.load import Project
    from fiddlehead.report.figures.tip_paths import TipPathsPicture
    from fiddlehead.trials.records import BendResult


@click.command()
@project_argument
@results_option
@click.option(
    "--quick", is_flag=True, help="Leave the scatter of printed walls out of the band: no solving."
)
@click.option("--strict", is_flag=True, help="Exit with 1 when a quantity is outside the limit.")
@json_option
def compare(project: Path, results: Path | None, quick: bool, strict: bool, machine: bool) -> int:
    """Lay measurements over predictions and judge the gap.

    PROJECT is the project file or its folder. Needs the results of `measure` and of `bend` or
    `block`. Each quantity gets its errors, a verdict against your limit, and whether the scatter
    of material, print and fingers alone explains the gap. Overlays go to compared/ in the results
    folder.
    """
    from fiddlehead.bench.compare import compare as lay_over
    from fiddlehead.bench.measured import curve_words
    from fiddlehead.errors import FiddleheadError, StoreError
    from fiddlehead.report.compared import write_comparison
    from fiddlehead.report.measured import load_spreads

    voice = Voice(machine)
    loaded = checked_project(project, voice, "compare")
    folder = results_folder(loaded, results)
    spreads = load_spreads(folder)
    predictions, untold = predicted_curves(loaded, folder, voice, quick)
    bench = loaded.sections.bench
    found = {}
    for name, spread in spreads.items():
        if spread.branch != "up":
            continue
        predicted = predictions.get(name.removesuffix("_up"))
        if predicted is None:
            untold.append(f"{name.removesuffix('_up')} was measured but not predicted")
            continue
        try:
            comparison = lay_over(
                spread,
                predicted,
                working_pressure_kpa=loaded.loads.working_pressure_kpa,
                limit_percent=bench.limit_percent,
            )
        except FiddleheadError as error:
            untold.append(str(error))
            continue
        found[name] = (comparison, spread, predicted)
    if not found:
        raise StoreError(
            "there is nothing to compare",
            where=str(folder),
            found="; ".join(untold) or "no quantity was both measured and predicted",
            remedy="Run fiddlehead measure and fiddlehead bend or block first.",
        )
    tips = tips_beside(loaded, folder)
    written = write_comparison(
        folder,
        loaded.name,
        found,
        date=now(),
        input_hash=loaded.input_hash,
        tips=tips,
        untold=untold,
    )
    for name, (comparison, spread, _) in found.items():
        voice.paragraph(f"{curve_words(name)} ({spread.said}): {comparison.said}.")
        for warning in comparison.warnings:
            voice.paragraph(f"Mind: {warning}", indent="    ")
    if tips is not None:
        voice.paragraph(
            f"Tip path: measured {tips.distance_mm:.2g} mm from predicted (rms, equal pressures)."
        )
    for text in untold:
        voice.paragraph(f"Mind: {text}")
    voice.files(written.pictures, [written.folder / "verdicts.csv"])
    outside = [name for name, (c, _, _) in found.items() if not c.within_limit]
    code = DOUBTS if strict and outside else OK
    voice.document(
        "compare",
        code,
        verdicts={
            name: {
                "within_limit": c.within_limit,
                "scatter_explains": c.scatter_explains,
                "nrmse_percent": c.nrmse_percent,
                "error_there_percent": c.error_there_percent,
                "said": c.said,
            }
            for name, (c, _, _) in found.items()
        },
        not_compared=untold,
        folder=str(written.folder),
        files=[str(path) for path in written.files],
    )
    return code


def predicted_curves(
    loaded: Project, results: Path, voice: Voice, quick: bool
) -> tuple[dict[str, Predicted], list[str]]:
    """Saved predictions with their bands, and what has to be said about them."""
    from fiddlehead.bench.predicted import predicted_bend, predicted_block
    from fiddlehead.bench.records import ANGLES
    from fiddlehead.errors import FiddleheadError
    from fiddlehead.report.export.store import load_bend_result, load_block_result, read_record

    found: dict[str, Predicted] = {}
    untold: list[str] = []
    sd = 0.01 * loaded.sections.bench.stiffness_sd_percent
    try:
        bent = as_marked(loaded, load_bend_result(results / "bend"))
        for definition in ANGLES:
            wall = {} if quick else wall_scatter(loaded, results, voice, bent, definition)
            found[f"bend_{definition.replace(' ', '_')}"] = predicted_bend(
                bent, definition, stiffness_sd=sd, others=wall, source=str(results / "bend")
            )
        if read_record(results / "bend")["project"]["input_hash_sha256"] != loaded.input_hash:
            untold.append("the project was changed after `bend`: run it again")
    except FiddleheadError as error:
        untold.append(str(error))
    for place in sorted((results / "block").glob("preset_*_deg")):
        block = load_block_result(place)
        name = f"block_{block.preset_angle_deg:g}_deg"
        found[name] = predicted_block(block, stiffness_sd=sd, source=str(place))
    return found, untold


def tips_beside(loaded: Project, results: Path) -> TipPathsPicture | None:
    """Tip positions from photos over the predicted path; None where one of them is missing."""
    from fiddlehead.errors import FiddleheadError
    from fiddlehead.report.export.store import load_bend_result
    from fiddlehead.report.figures.tip_paths import tip_paths_picture
    from fiddlehead.report.measured import load_tips

    try:
        bent, measured = load_bend_result(results / "bend"), load_tips(results)
    except FiddleheadError:
        return None
    return tip_paths_picture(bent, measured, f"{loaded.name}: tip path") if measured else None


def as_marked(loaded: Project, bent: BendResult) -> BendResult:
    """The result with the angles a camera reads off the marks, where they sit on soft blocks."""
    import dataclasses

    import numpy as np

    from fiddlehead.bench.photos.virtual import seen_curve
    from fiddlehead.project.bench import marks_of

    bench = loaded.sections.bench
    soft = [one for one in (*bench.photos, *bench.videos) if not one.tip_card]
    if not soft:
        return bent
    seen = seen_curve(bent, marks_of(loaded.finger, soft[0]))
    return dataclasses.replace(
        bent,
        tip_angle_deg=np.array([angles.tip_deg for angles in seen]),
        chord_angle_deg=np.array([angles.chord_deg for angles in seen]),
    )


def wall_scatter(
    loaded: Project, results: Path, voice: Voice, bent: BendResult, definition: str
) -> dict[str, Scatter]:
    """The band that printed walls leave open, from the slope of the curve over wall thickness."""
    import numpy as np

    from fiddlehead.bench.predicted import Scatter
    from fiddlehead.report.slopes import saved_slopes, write_slopes

    bench = loaded.sections.bench
    if bench.wall_thickness_sd_mm == 0.0:
        return {}
    slopes = saved_slopes(results, loaded.input_hash)
    if slopes is None:
        from fiddlehead.bench.sensitivity import sensitivities
        from fiddlehead.mesh.settings import mesh_settings

        voice.say("Finding how much printed walls matter (once; the preview mesh serves) ...")
        keep_compiled_programs()
        card = card_for(loaded, results, voice)
        curves = sensitivities(
            loaded.finger,
            card.law(),
            card.bulk_modulus_mpa,
            bent.pressure_mpa[1:],
            ("wall_thickness",),
            mesh_settings=mesh_settings("preview"),
        )
        slopes = {"pressure_kpa": 1e3 * curves.pressure_mpa[1:]}
        for name, slope in curves.slopes["wall_thickness"].items():
            slopes[name] = slope[1:] / curves.curve(name)[1:]
        write_slopes(results, slopes, loaded.input_hash)
    value = bent.tip_angle_deg if definition == "tip tangent" else bent.chord_angle_deg
    pressure = 1e3 * bent.pressure_mpa
    relative = np.interp(pressure, slopes["pressure_kpa"], slopes[definition])
    sd = bench.wall_thickness_sd_mm
    return {"wall": Scatter("printed walls in mm", sd, relative * value)}

"""``fiddlehead experiment``: plan airtightness experiments and read their results."""

from __future__ import annotations

from pathlib import Path

import click

from fiddlehead.cli.codes import OK
from fiddlehead.cli.options import json_option, project_argument, results_option
from fiddlehead.cli.output import Voice
from fiddlehead.cli.session import checked_project, results_folder


@click.group()
def experiment() -> None:
    """Find print settings that come out tight, with leak coupons.

    \b
    fiddlehead experiment plan my-gripper
        what to print in which order, a coupon, a result sheet to fill in
    fiddlehead experiment analyse sheet.csv my-gripper
        what matters, and which settings to use
    """


@experiment.command()
@project_argument
@results_option
@json_option
def plan(project: Path, results: Path | None, machine: bool) -> int:
    """Plan an experiment: coupons, settings, order, result sheet.

    PROJECT is the project file or its folder; its [experiment] section says what to vary. Writes
    to experiment-plan/ in the results folder; a result sheet that has been filled in is not
    touched.
    """
    voice = Voice(machine)
    checked = checked_project(project, voice, "experiment plan")
    folder = results_folder(checked, results)

    from fiddlehead.fabricate.coupon import leak_coupon
    from fiddlehead.project.experiment import experiment_plan
    from fiddlehead.report.experiment import SHEET, write_plan

    made = experiment_plan(checked.sections.experiment)
    coupon = leak_coupon(checked.finger, checked.fittings)
    written = write_plan(folder, checked, made, coupon)
    titles = ", ".join(factor.title for factor in made.factors)
    voice.paragraph(
        f"{len(made.coded)} coupons in {int(made.block.max())} blocks, {made.design}: {titles}."
    )
    if made.resolution:
        voice.paragraph(
            f"Resolution {made.resolution}: "
            + ("pairs of settings are mixed up with each other." if made.resolution == 4 else "")
            + ("main effects are mixed up with pairs." if made.resolution == 3 else "")
            + ("main effects and pairs are clear." if made.resolution > 4 else "")
        )
    others = [written.folder / name for name in ("plan.html", SHEET, "coupon.3mf")]
    voice.files(written.pictures, others)
    voice.caution()
    voice.document(
        "experiment plan",
        OK,
        project=checked.name,
        input_hash_sha256=checked.input_hash,
        design=made.design,
        coupons=len(made.coded),
        resolution=made.resolution,
        factors=[factor.name for factor in made.factors],
        folder=str(written.folder),
        files=[str(file) for file in written.files],
    )
    return OK


@experiment.command()
@click.argument("sheet", type=click.Path(path_type=Path, dir_okay=False))
@project_argument
@results_option
@click.option(
    "--stiffest",
    type=click.FloatRange(min=0.0, min_open=True),
    default=None,
    help="Recommend only settings expected to stay below this stiffness (as the sheet names it).",
)
@json_option
def analyse(
    sheet: Path, project: Path, results: Path | None, stiffest: float | None, machine: bool
) -> int:
    """Read a filled result sheet: effects, variance, recommended settings.

    SHEET is the CSV that `experiment plan` wrote, filled in. Writes pictures, tables and a sheet
    to experiment-analysis/ in the results folder.
    """
    voice = Voice(machine)
    checked = checked_project(project, voice, "experiment analyse")
    folder = results_folder(checked, results)

    from fiddlehead.fabricate.experiment_analysis import analyse as analyse_sheet
    from fiddlehead.fabricate.experiment_sheet import read_sheet
    from fiddlehead.report.experiment import write_analysis
    from fiddlehead.report.experiment_sheets import expectations

    wishes = checked.sections.experiment
    found = analyse_sheet(
        read_sheet(sheet),
        smallest_leak_cm3_per_min=wishes.smallest_leak_cm3_per_min,
        stiffest=stiffest,
    )
    written = write_analysis(folder, checked, found, sheet)
    best = found.recommendation
    voice.say("Recommended settings:")
    for name, value in best.settings.items():
        note = "  (no effect seen)" if name in best.without_effect else ""
        voice.say(f"  {name:<28}{value:>8}{note}")
    for sentence in expectations(found):
        voice.paragraph(sentence)
    for remark in found.remarks:
        voice.paragraph(f"Mind: {remark}")
    others = [written.folder / name for name in ("analysis.html", "recommended.toml")]
    voice.files(written.pictures, others)
    voice.caution()
    voice.document(
        "experiment analyse",
        OK,
        project=checked.name,
        recommended=best.settings,
        without_effect=list(best.without_effect),
        leak_cm3_per_min=list(best.leak_cm3_per_min),
        next_coupon_cm3_per_min=list(best.next_coupon_cm3_per_min),
        chance_to_hold=list(best.chance_to_hold) if best.chance_to_hold else None,
        warnings=list(found.remarks),
        folder=str(written.folder),
        files=[str(file) for file in written.files],
    )
    return OK

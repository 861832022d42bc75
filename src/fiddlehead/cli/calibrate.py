"""``fiddlehead calibrate``: a few unknowns adjusted to the measured bending curve."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from fiddlehead.cli.codes import OK
from fiddlehead.cli.options import json_option, mesh_option, project_argument, results_option
from fiddlehead.cli.output import Voice
from fiddlehead.cli.session import prepare

if TYPE_CHECKING:
    from fiddlehead.bench.compare import Comparison
    from fiddlehead.bench.records import Spread
    from fiddlehead.bench.unknowns import Calibration
    from fiddlehead.report.results import Run

UNKNOWNS = ("stiffness", "wall_thickness", "base_thickness")


@click.command()
@project_argument
@results_option
@mesh_option
@click.option(
    "--unknown",
    "names",
    type=click.Choice(UNKNOWNS),
    multiple=True,
    help="What to adjust; may be given several times.  [default: stiffness, wall_thickness]",
)
@click.option(
    "--prior",
    "priors",
    multiple=True,
    metavar="NAME=VALUE:SD",
    help="What you know of an unknown: wall_thickness=0.05:0.01 after measuring walls.",
)
@click.option(
    "--fit-to-kpa",
    type=click.FloatRange(min=0.0, min_open=True, max=1000.0),
    default=None,
    help="Adjust up to this pressure and foretell the rest.  [default: 0.6 of the highest]",
)
@click.option(
    "--angle",
    type=click.Choice(["tip tangent", "chord"]),
    default="tip tangent",
    help="Which measured bending angle.",
)
@json_option
def calibrate(
    project: Path,
    results: Path | None,
    mesh: str | None,
    names: tuple[str, ...],
    priors: tuple[str, ...],
    fit_to_kpa: float | None,
    angle: str,
    machine: bool,
) -> int:
    """Adjust a few unknowns to the measured bending curve.

    PROJECT is the project file or its folder. Needs the results of `measure`. Stiffness is a
    factor on the material; thicknesses are what the print added. Part of the curve, and the
    blocked force if it was measured, are held out and foretold: their error counts, not the
    fit's. Writes to calibrated/ in the results folder.
    """
    from fiddlehead.bench.unknowns import PRIORS, prior_of

    known = PRIORS | {one.name: one for one in map(prior_of, priors)}
    voice = Voice(machine)
    run, folder = prepare(project, results, mesh, voice, "calibrate")

    from fiddlehead.bench.calibrate import calibrate as adjust
    from fiddlehead.errors import StoreError
    from fiddlehead.report.calibrated import write_calibration
    from fiddlehead.report.measured import load_spreads

    spreads = load_spreads(folder)
    name = f"bend_{angle.replace(' ', '_')}_up"
    if name not in spreads:
        raise StoreError(
            f"no {angle} angle was measured",
            where=str(folder / "measured"),
            found=", ".join(spreads) or "no curves",
            remedy="Choose the other --angle, or measure one.",
        )
    measured = spreads[name]
    top = float(measured.pressure_kpa[measured.mean == measured.mean].max())
    voice.say("Adjusting (each round bends a few fingers at once):")
    found = adjust(
        run.project.finger,
        run.card.law(),
        run.card.bulk_modulus_mpa,
        measured,
        [known[one] for one in names or UNKNOWNS[:2]],
        fit_to_kpa=0.6 * top if fit_to_kpa is None else fit_to_kpa,
        mesh_settings=run.mesh,
        progress=lambda text: voice.say(f"  {text}"),
    )
    foretold = foretell_force(run, found, spreads, voice)
    from fiddlehead.cli.session import now

    written = write_calibration(
        folder,
        run.project.name,
        found,
        date=now(),
        input_hash=run.project.input_hash,
        foretold=foretold,
    )
    tell(voice, found, foretold)
    voice.files(written.pictures, [written.folder / "unknowns.csv"])
    voice.document(
        "calibrate",
        OK,
        unknowns={
            one.name: {"value": one.value, "low": one.low, "high": one.high, "learnt": one.learnt}
            for one in found.estimates
        },
        held_out_error_percent=found.held_out_error_percent,
        held_out_before_percent=found.held_out_before_percent,
        foretold={label: one.said for label, one in foretold.items()},
        warnings=list(found.warnings),
        folder=str(written.folder),
        files=[str(path) for path in written.files],
    )
    return OK


def foretell_force(
    run: Run, found: Calibration, spreads: dict[str, Spread], voice: Voice
) -> dict[str, Comparison]:
    """The measured blocked force beside a prediction with the calibrated unknowns."""
    if "block_0_deg_up" not in spreads:
        return {}
    import dataclasses

    from fiddlehead.bench.compare import compare
    from fiddlehead.bench.predicted import predicted_block
    from fiddlehead.bench.records import STIFFNESS
    from fiddlehead.bench.sensitivity import THICKNESSES, thicker
    from fiddlehead.trials.block import block

    finger = run.project.finger
    for name in THICKNESSES:
        finger = thicker(finger, name, found.value(name))
    factor = found.value(STIFFNESS)
    voice.say("Foretelling the blocked force ...")
    result = block(
        finger,
        run.card.law(),
        run.card.bulk_modulus_mpa,
        [p / factor for p in run.project.pressures_mpa()],
        mesh_settings=run.mesh,
        tip_hold=run.project.tests.block.tip_hold,
        contact_length_mm=run.project.tests.block.contact_length_mm,
    )
    scaled = dataclasses.replace(
        result, pressure_mpa=factor * result.pressure_mpa, force_n=factor * result.force_n
    )
    return {
        "block_0_deg_up": compare(
            spreads["block_0_deg_up"],
            predicted_block(scaled, source="calibrated"),
            working_pressure_kpa=run.project.loads.working_pressure_kpa,
            limit_percent=run.project.sections.bench.limit_percent,
        )
    }


def tell(voice: Voice, found: Calibration, foretold: dict[str, Comparison]) -> None:
    """Unknowns, then what was held out."""
    voice.say()
    for one in found.estimates:
        voice.paragraph(
            f"{one.name.replace('_', ' ')}: {one.value:.4g} {one.unit} ({one.low:.4g} to "
            f"{one.high:.4g}, 95 %); expected {one.prior:g} ± {2 * one.prior_sd:g}; "
            f"{100 * one.learnt:.0f} % of it learnt from the data.".replace("  ", " ")
        )
    if found.held_out_error_percent == found.held_out_error_percent:
        voice.paragraph(
            f"Held-out pressures: {found.held_out_error_percent:.1f} % of full scale, "
            f"{found.held_out_before_percent:.1f} % before calibrating (fit itself "
            f"{found.fit_error_percent:.1f} %)."
        )
    for name, comparison in foretold.items():
        voice.paragraph(f"Foretold {name.replace('_up', '')}: {comparison.said}.")
    for warning in found.warnings:
        voice.paragraph(f"Mind: {warning}.")

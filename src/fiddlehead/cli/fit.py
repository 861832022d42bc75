"""``fiddlehead fit``: from the material section to a card."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from fiddlehead.cli.codes import OK
from fiddlehead.cli.options import json_option, project_argument, results_option
from fiddlehead.cli.output import Voice
from fiddlehead.cli.session import checked_project, keep_compiled_programs, now, results_folder

if TYPE_CHECKING:
    from fiddlehead.material.records import Characterisation


@click.command()
@project_argument
@results_option
@json_option
def fit(project: Path, results: Path | None, machine: bool) -> int:
    """Make the material card from tests, constants or hardness.

    PROJECT is the project file or its folder. Tests are read and reduced, all laws fitted, one
    recommended. Card, fits and a picture of data and laws in four modes of loading go to
    material/ in the results folder.
    """
    from fiddlehead.project.material import make_material
    from fiddlehead.report.results import write_material
    from fiddlehead.units import say

    voice = Voice(machine)
    loaded = checked_project(project, voice, "fit")
    folder = results_folder(loaded, results)
    keep_compiled_programs()
    material = make_material(loaded, now()[:10])
    written = write_material(folder, loaded, material)
    card = material.card
    if material.found:
        tell_fits(voice, material.found)
    constants = ", ".join(f"{name} {value:.5g}" for name, value in card.constants.items())
    voice.paragraph(f"{card.name}: {card.law_name} with {constants}. {card.reason}")
    voice.say(
        f"Initial Young's modulus {say(card.youngs_modulus_mpa, 'MPa')}, "
        f"bulk modulus {say(card.bulk_modulus_mpa, 'MPa')}."
    )
    for warning in card.warnings:
        voice.paragraph(f"Mind: {warning}")
    voice.files(written.pictures, [written.folder / "card.toml"])
    voice.document(
        "fit",
        OK,
        law=card.law_name,
        constants=dict(card.constants),
        youngs_modulus_mpa=card.youngs_modulus_mpa,
        bulk_modulus_mpa=card.bulk_modulus_mpa,
        reason=card.reason,
        warnings=list(card.warnings),
        files=[str(file) for file in written.files],
    )
    return OK


def tell_fits(voice: Voice, found: Characterisation) -> None:
    """All fits as a table, the best first."""
    voice.say(f"  {'law':<28}{'error':>8}{'AICc':>10}   over the use range")
    for one in sorted(found.fits, key=lambda f: (not f.stability.stable, f.aicc)):
        state = "stable" if one.stability.stable else "not stable"
        voice.say(
            f"  {one.law_name:<28}{100 * one.relative_error:>6.1f} %{one.aicc:>10.1f}   {state}"
        )
    voice.say()

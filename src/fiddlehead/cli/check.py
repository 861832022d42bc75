"""``fiddlehead check``: everything wrong, unlikely or unwise in a project file, at once."""

from __future__ import annotations

from pathlib import Path

import click

from fiddlehead.cli.codes import DOUBTS, OK, WRONG_INPUT
from fiddlehead.cli.options import json_option, project_argument
from fiddlehead.cli.output import Voice


@click.command()
@project_argument
@click.option("--strict", is_flag=True, help="Exit with 1 when there are questions or advice.")
@json_option
def check(project: Path, strict: bool, machine: bool) -> int:
    """Tell everything that is wrong, unlikely or unwise in a project.

    PROJECT is the project file or its folder. Mistakes must be mended before anything is
    computed; questions ask whether an unusual value is meant (often a slip of units); advice
    warns where the design is possible but unwise, and says what the warning rests on.
    """
    from fiddlehead.project.check import examine

    voice = Voice(machine)
    found = examine(project)
    voice.findings(found.findings)
    counts = {kind: len(found.of_kind(kind)) for kind in ("mistake", "question", "advice")}
    told = ", ".join(
        f"{count} {kind}{'s' if count > 1 and kind != 'advice' else ''}"
        for kind, count in counts.items()
        if count
    )
    if not found.usable:
        code = WRONG_INPUT
        voice.say(f"{found.path}: {told}. Mend the mistakes before anything is computed.")
    else:
        code = DOUBTS if strict and told else OK
        voice.say(f"{found.path}: ready{f', with {told}' if told else ', nothing to remark'}.")
        _tell_finger(voice, found.path)
    voice.document(
        "check",
        code,
        project_file=str(found.path),
        usable=found.usable,
        findings=[finding.fields() for finding in found.findings],
    )
    return code


def _tell_finger(voice: Voice, path: Path) -> None:
    """The finger in numbers, so that a slip of the pen is seen at a glance."""
    from fiddlehead.finger.volumes import cavity_volume_mm3, mass_g
    from fiddlehead.project.load import load_project
    from fiddlehead.units import say

    project = load_project(path)
    finger, density = project.finger, project.material.density_g_per_cm3
    voice.say(
        f"Finger: {finger.bellows_count} bellows, {say(finger.length_mm, 'mm')} long, "
        f"{say(finger.width_mm, 'mm')} wide, {say(finger.height_mm, 'mm')} high; "
        f"{say(mass_g(finger, density), '')} g; "
        f"cavity {say(cavity_volume_mm3(finger) / 1000.0, 'cm3')}."
    )

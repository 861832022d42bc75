"""From the ``[study]`` section to a study."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from fiddlehead.errors import ParameterError
from fiddlehead.mesh.settings import mesh_settings
from fiddlehead.project.edit import Change
from fiddlehead.project.findings import Finding, from_error
from fiddlehead.project.objects import library_path, pressed_objects
from fiddlehead.project.study_section import StudySection
from fiddlehead.project.validate import Source
from fiddlehead.study.catalogue import trials_for
from fiddlehead.study.definition import Study
from fiddlehead.study.goals import Goals, Limit, Objective
from fiddlehead.study.pattern import PAD, SIZES, Pattern, Pressing, variable_names
from fiddlehead.study.space import Choice, Range, Space, Value
from fiddlehead.study.tolerance import Cause

if TYPE_CHECKING:
    from fiddlehead.material.card import MaterialCard
    from fiddlehead.project.load import Project

SCATTER = {
    "line_width_mm": 0.02,
    "flow_percent": 2.0,
    "layer_height_mm": 0.01,
    "modulus_percent": 5.0,
}
"""Standard deviations between prints of one file on one printer; values from memory."""
MEMORY = "value from memory; measure your own prints"
ENTRIES = {
    **{name: ("finger", name) for name in SIZES},
    **{name: ("pad", own) for name, own in PAD.items()},
    "working_pressure_kpa": ("loads", "working_pressure_kpa"),
    "line_width_mm": ("print", "line_width_mm"),
    "layer_height_mm": ("print", "layer_height_mm"),
    "flow_percent": ("printer", "flow_percent"),
}
"""Table and entry of the project file for everything of a design that may vary."""


def space_of(section: StudySection) -> Space:
    """The variables of a section.

    Raises
    ------
    ParameterError : none, one named twice, bounds in disorder, steps of what is no range
    """
    stray = [name for name in section.steps if name not in section.ranges]
    if stray:
        raise ParameterError(
            "steps without a range",
            where="study.steps",
            found=stray[0],
            allowed=", ".join(section.ranges),
            remedy="Give its low and high below [study.ranges].",
        )
    ranges = [
        Range(n, low, high, section.steps.get(n)) for n, (low, high) in section.ranges.items()
    ]
    choices = [Choice(name, values) for name, values in section.choices.items()]
    return Space((*ranges, *choices))


def goals_of(section: StudySection) -> Goals:
    """The goals of a section.

    Raises
    ------
    ParameterError : no objective, or limits that exclude each other
    """
    limited = dict.fromkeys([*section.at_least, *section.at_most])
    return Goals(
        (
            *(Objective(name, "largest") for name in section.largest),
            *(Objective(name, "smallest") for name in section.smallest),
        ),
        tuple(Limit(n, section.at_least.get(n), section.at_most.get(n)) for n in limited),
    )


def causes_of(section: StudySection) -> tuple[Cause, ...]:
    """What scatters in printing, the section's own numbers first.

    Raises
    ------
    ParameterError : something that does not scatter, or a deviation that is not positive
    """
    for name, sd in section.scatter.items():
        if name not in SCATTER or not sd > 0.0:
            raise ParameterError(
                "no such scatter" if name not in SCATTER else "a deviation must be positive",
                where="study.scatter",
                found=f"{name} = {sd:g}",
                allowed=", ".join(SCATTER),
            )
    deviation = SCATTER | section.scatter
    told = {name: "your entry" if name in section.scatter else MEMORY for name in SCATTER}
    return (
        Cause("line_width_error_mm", 0.0, deviation["line_width_mm"], told["line_width_mm"]),
        Cause("flow_error_percent", 0.0, deviation["flow_percent"], told["flow_percent"]),
        Cause("layer_height_error_mm", 0.0, deviation["layer_height_mm"], told["layer_height_mm"]),
        Cause("modulus_factor", 1.0, deviation["modulus_percent"] / 100.0, told["modulus_percent"]),
    )


def pattern_of(project: Project, card: MaterialCard) -> Pattern:
    """What every design of a project shares."""
    block = project.tests.block
    return Pattern(
        finger=project.finger,
        law_name=card.law_name,
        constants=dict(card.constants),
        bulk_modulus_mpa=card.bulk_modulus_mpa,
        density_g_per_cm3=card.density_g_per_cm3,
        working_pressure_kpa=project.loads.working_pressure_kpa,
        process=project.process,
        build_orientation=project.printing.build_orientation,
        fittings=project.fittings,
        wide_channel=project.sections.finger.channel_width_mm is None,
        preset_angle_deg=block.preset_angles_deg[0],
        tip_hold=block.tip_hold,
        contact_length_mm=block.contact_length_mm,
    )


def pressing_of(project: Project) -> Pressing:
    """Where the objects of ``[tests.press]`` stand.

    Raises
    ------
    FiddleheadError : no such library, or no such object in it
    """
    test, home = project.tests.press, project.path.parent
    return Pressing(
        objects=pressed_objects(test, home),
        folder=library_path(test, home).parent,
        orientation=test.orientation,
        touch_at_percent=test.touch_at_percent,
        clearance_mm=test.clearance_mm,
        threshold_kpa=test.contact_threshold_kpa,
    )


def study_of(project: Project, card: MaterialCard) -> Study:
    """The study a project asks for.

    Raises
    ------
    ParameterError : nothing varies, or names that do not exist
    """
    section = project.sections.study
    study = Study(
        name=section.name,
        pattern=pattern_of(project, card),
        space=space_of(section),
        goals=goals_of(section),
        extra_trials=section.trials,
        sampling=section.sampling,
        designs=section.designs,
        seed=section.seed,
        mesh_name=section.mesh,
        mesh=mesh_settings(section.mesh),
        full_mesh_name=project.sections.mesh.preset,
        full_mesh=project.mesh,
        best=section.best,
        causes=causes_of(section),
    )
    if not any(kind.name == "press" for kind in study.task().kinds):
        return study
    pattern = dataclasses.replace(study.pattern, pressing=pressing_of(project))
    return dataclasses.replace(study, pattern=pattern)


def design_changes(row: Mapping[str, Value]) -> list[Change]:
    """What makes a project's own finger the design of a study's row.

    Names that are no entry of a project, such as what a trial found, are passed over.
    """
    return [Change(ENTRIES[name], value) for name, value in row.items() if name in ENTRIES]


def study_mistakes(section: StudySection, with_pad: bool, source: Source) -> Iterator[Finding]:
    """Names that do not exist, bounds in disorder; nothing for a project without a study."""
    if section == StudySection():
        return
    names = variable_names(with_pad)
    for table in ("ranges", "choices"):
        for name in getattr(section, table):
            if name not in names:
                yield Finding(
                    kind="mistake",
                    message="this cannot vary",
                    found=name,
                    allowed=", ".join(names),
                    remedy="A pad's numbers need a [pad]." if name.startswith("pad_") else "",
                    **source.place(("study", table, name)),
                )
    for build in (space_of, goals_of, causes_of, _trials):
        try:
            build(section)
        except ParameterError as error:
            path = error.where.split(".")
            place = path[1] if len(path) > 1 else "ranges"
            known = place if place in StudySection.model_fields else "ranges"
            yield from_error(error, **source.place(("study", known)))


def _trials(section: StudySection) -> None:
    varied = {*section.ranges, *section.choices}
    goals = [name for name in goals_of(section).quantities if name not in varied]
    trials_for(goals, section.trials)

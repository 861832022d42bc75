"""From the ``[grasp]`` section to grippers, objects and tasks."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from fiddlehead.errors import InputError, ParameterError
from fiddlehead.finger.pad.variants import STANDARD
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.objects.library import DEMO_LIBRARY, read_library
from fiddlehead.objects.records import ObjectRecord
from fiddlehead.project.findings import Finding, from_error
from fiddlehead.project.grasp_section import GraspSection
from fiddlehead.project.validate import Source

if TYPE_CHECKING:
    from fiddlehead.grasp.chance import Spread
    from fiddlehead.grasp.gripper import Gripper
    from fiddlehead.grasp.task import Held, Task
    from fiddlehead.project.load import Project


def library_of(section: GraspSection, folder: Path) -> Path:
    """Where the object library is; relative paths count from the project's folder."""
    return folder / section.library if section.library else DEMO_LIBRARY


def chosen_objects(section: GraspSection, folder: Path) -> list[ObjectRecord]:
    """The objects of a project.

    Raises
    ------
    InputError, ParameterError : no such library or object
    """
    path = library_of(section, folder)
    library = read_library(path)
    for name in section.objects:
        if name not in library:
            raise ParameterError(
                "no such object in the library",
                where="grasp.objects",
                found=repr(name),
                allowed=", ".join(library),
                remedy="Add it to the library, or choose one.",
            )
    return [library[name] for name in section.objects or library]


def grasp_mistakes(section: GraspSection, folder: Path, source: Source) -> Iterator[Finding]:
    """What the section names and nobody finds."""
    if not (section.library or section.objects):
        return
    try:
        chosen_objects(section, folder)
    except (InputError, ParameterError) as error:
        name = "objects" if error.where == "grasp.objects" else "library"
        yield from_error(error, **source.place(("grasp", name)))


def held_object(project: Project, record: ObjectRecord) -> Held:
    """Shape and mass of one object.

    Raises
    ------
    InputError, ParameterError : sizes or a scan that make no object
    """
    from fiddlehead.grasp.task import ready

    library = library_of(project.sections.grasp, project.path.parent)
    return ready(record, library.parent)


def task_of(project: Project, pressure_kpa: float | None = None) -> Task:
    """What the gripper is asked to do, at the project's working pressure or another one."""
    from fiddlehead.grasp.task import Task

    section = project.sections.grasp
    own = project.loads.working_pressure_kpa
    return Task(
        pressure_mpa=1e-3 * (own if pressure_kpa is None else pressure_kpa),
        tips_below_middle_mm=section.tips_below_middle_mm,
        shake_m_per_s2=section.shake_m_per_s2,
        pull=section.pull_direction,
        position_error_mm=section.position_error_mm,
    ).validate()


def spread_of(section: GraspSection) -> Spread:
    """What scatters, and how much."""
    from fiddlehead.grasp.chance import Spread

    return Spread(
        friction_share=section.friction_scatter_percent / 100,
        pressure_share=section.pressure_scatter_percent / 100,
        position_mm=section.position_scatter_mm,
        size_share=section.size_scatter_percent / 100,
        mass_share=section.mass_scatter_percent / 100,
    )


def gripper_of(
    project: Project,
    held: Held,
    task: Task,
    *,
    fingers: int | None = None,
    finger: FingerParameters | None = None,
) -> Gripper:
    """The project's gripper for one object: its slots, and the pitch radius that [grasp] asks for.

    Raises
    ------
    ParameterError : fingers that do not stand on a base like this
    """
    from fiddlehead.grasp.approach import fitted
    from fiddlehead.grasp.gripper import Gripper

    base = project.base
    count = fingers or base.fingers
    if not 2 <= count <= 6:
        raise ParameterError(
            "a gripper has two to six fingers",
            where="air.fingers",
            found=str(count),
            allowed="2 to 6",
            remedy="Change air.fingers, or say --fingers.",
        )
    shares = project.sections.grasp.pressure_shares
    if shares and fingers is None and len(shares) != count:
        raise ParameterError(
            "each finger needs its share of the pressure",
            where="grasp.pressure_shares",
            found=f"{len(shares)} shares",
            allowed=f"{count}, as many as fingers; none for equal pressure",
        )
    base = dataclasses.replace(base, fingers=count)
    directions = np.degrees(base.angles_rad()[list(base.used)])
    gripper = Gripper(
        finger=finger or project.finger,
        directions_deg=tuple(float(d) for d in directions),
        pitch_radius_mm=base.pitch_radius_mm,
        splay_deg=base.splay_deg,
        pressure_shares=shares if len(shares) == count else (),
    )
    if project.sections.grasp.pitch == "fitted":
        gripper = fitted(gripper, held, task)
    return gripper.validate()


def bare_and_padded(finger: FingerParameters) -> dict[str, FingerParameters]:
    """The finger without and with its pad; the standard pad where it has none."""
    pad = finger.pad or STANDARD
    return {
        "without pad": dataclasses.replace(finger, pad=None),
        "with pad": dataclasses.replace(finger, pad=pad),
    }

"""Sections on the job itself and on the design: what is wanted, and what was drawn for it."""

from __future__ import annotations

from collections.abc import Iterator

from pydantic import BaseModel

from fiddlehead.project.fields import entries
from fiddlehead.report.document import Block, Picture, Points, Section, Table
from fiddlehead.report.job.parts import Job
from fiddlehead.units import name_without_unit, say


def the_job(job: Job) -> Section:
    """What the gripper is for, in the words and numbers of the project file."""
    project = job.project
    sections = project.sections
    base = (
        f"{sections.air.fingers} fingers on a printed base, pitch radius "
        f"{sections.base.pitch_radius_mm:g} mm."
        if sections.mount.mount != "plain"
        else f"{sections.air.fingers} fingers with plain roots."
    )
    lines = (
        base,
        f"Working pressure {say(project.loads.working_pressure_kpa, 'kPa')} gauge.",
        f"Strain allowed: {project.loads.strain_limit_percent:g} % in the layer plane, "
        f"{project.loads.strain_limit_across_layers_percent:g} % across layers (log strain).",
        f"Material: {project.material.name}; law from {project.material.law_from}.",
        f"Printed {project.printing.build_orientation.replace('_', ' ')}, lines of "
        f"{project.printing.line_width_mm:g} mm, layers of {project.printing.layer_height_mm:g} mm,"
        " without support.",
    )
    note = (sections.project.note,) if sections.project.note else ()
    return Section("The job", (*note, Points(lines)))


def the_design(job: Job) -> Section:
    """Parameters of the finger and its pad, with the drawing where one was made."""
    sections = job.project.sections
    header = ("entry", "value", "what it is")
    blocks: list[Block] = [Table(header, tuple(_rows(sections.finger)), "Finger")]
    if sections.pad is not None:
        blocks.append(Table(header, tuple(_rows(sections.pad)), "Pad"))
    drawing = job.picture("solid", "drawing") if job.has("solid") else ""
    section = job.picture("bend", "section") if job.has("bend") else ""
    if not drawing and section:
        blocks.append(Picture(section, "Section of the finger along and across, mm."))
    if job.has("solid"):
        blocks.append(_as_modelled(job))
    if drawing:
        finger = job.project.finger
        words = (
            f"Drawing of the finger, {say(finger.length_mm, 'mm')} long, "
            f"{say(finger.width_mm, 'mm')} wide, {say(finger.height_mm, 'mm')} high; the table "
            "above holds its sizes."
        )
        blocks.append(Picture(drawing, "Dimensioned drawing of the printed finger, mm.", words))
    return Section("Design", tuple(blocks))


def _rows(section: BaseModel) -> Iterator[tuple[str, ...]]:
    """Every entry that has a value: its name without the unit, the value with it, what it is."""
    for entry in entries(type(section)):
        value = getattr(section, entry.name)
        if value is not None and value != "":
            told = say(value, entry.unit) if isinstance(value, float) else str(value)
            yield name_without_unit(entry.name), told, entry.says


def _as_modelled(job: Job) -> Section:
    """The solid that goes to the printer."""
    made = job.document("solid", "solid.json")["finger"]
    rows = (
        ("volume", say(made["volume_mm3"] / 1e3, "cm3")),
        ("mass when solid", f"{made['mass_g']:.1f} g"),
        ("surface", made["surface"]),
        ("files", "finger.stl, finger.3mf, finger.step"),
    )
    pictures = job.pictures("solid", ("solid", "The finger as it goes to the printer."))
    return Section("As modelled", (*pictures, Table(("", ""), rows)))

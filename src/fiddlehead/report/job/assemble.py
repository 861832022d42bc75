"""The document of a job: a list of sections, each told by one function from saved records.

A new part needs one function here and one line in ``parts.PARTS``; without them its pictures and
small tables are shown as they are saved (``further``).
"""

from __future__ import annotations

from collections.abc import Callable

from fiddlehead.air.cautions import CAUTIONS
from fiddlehead.errors import FiddleheadError
from fiddlehead.report.document import Note, Section, Sheet
from fiddlehead.report.job.characterised import the_material
from fiddlehead.report.job.design import the_design, the_job
from fiddlehead.report.job.further import further_results
from fiddlehead.report.job.glance import at_a_glance
from fiddlehead.report.job.held import grasp_table, grasps, pad_comparison, pressing
from fiddlehead.report.job.origin import provenance, state_of_parts
from fiddlehead.report.job.parts import Job
from fiddlehead.report.job.predicted import (
    bending,
    blocked_force,
    lateral_stiffness,
    strains,
    the_mesh,
)
from fiddlehead.report.job.printed import experiment, layer_check, print_sheet, printed_base
from fiddlehead.report.job.searched import printing_scatter, search, study
from fiddlehead.report.job.supplied import air_supply, pressure_label
from fiddlehead.report.job.tested import calibration, comparison, leaks, measured

SECTIONS: tuple[Callable[[Job], Section | None], ...] = (
    state_of_parts,
    at_a_glance,
    the_job,
    the_design,
    the_material,
    the_mesh,
    bending,
    strains,
    blocked_force,
    pressing,
    pad_comparison,
    lateral_stiffness,
    grasps,
    grasp_table,
    study,
    search,
    printing_scatter,
    layer_check,
    print_sheet,
    printed_base,
    experiment,
    air_supply,
    measured,
    leaks,
    comparison,
    calibration,
    further_results,
    pressure_label,
    provenance,
)
"""In the order of the job; a function returns None where its part was not made."""

UNREADABLE = (FiddleheadError, OSError, KeyError, IndexError, TypeError, ValueError)
"""What a damaged record makes its reader raise."""


def job_sheet(job: Job) -> Sheet:
    """The report as data."""
    sections = (_told(tell, job) for tell in SECTIONS)
    serial, author = job.project.fittings.serial.strip(), job.project.sections.report.author
    about = "; ".join(
        word for word in (f"serial {serial}" if serial else "", author, job.day) if word
    )
    return Sheet(
        title=f"{job.project.name}: report",
        subtitle=f"{about}; input {job.project.input_hash[:12]}. Pressures are gauge pressures.",
        sections=tuple(section for section in sections if section is not None),
        cautions=CAUTIONS,
        contents=True,
    )


def _told(tell: Callable[[Job], Section | None], job: Job) -> Section | None:
    """One section; a note in its place where a record is damaged."""
    try:
        return tell(job)
    except UNREADABLE as error:
        name = tell.__name__.replace("_", " ").removeprefix("the ")
        return Section(
            f"{name[:1].upper()}{name[1:]}: not readable",
            (Note(f"A saved result is damaged ({error}). Run the command that makes it again."),),
        )

"""Everything that is wrong, unlikely or unwise in a project file, told at once."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import BaseModel

from fiddlehead.errors import ProjectFileError
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.project import slips
from fiddlehead.project.air import air_findings
from fiddlehead.project.air_section import AirSection
from fiddlehead.project.bench import bench_mistakes
from fiddlehead.project.bench_section import BenchSection
from fiddlehead.project.cross import (
    block_mistakes,
    design_advice,
    finger_mistakes,
    finger_parameters,
    material_mistakes,
    mount_mistakes,
    print_settings,
)
from fiddlehead.project.experiment import experiment_mistakes
from fiddlehead.project.experiment_section import ExperimentSection
from fiddlehead.project.fabricate_section import MountSection
from fiddlehead.project.fields import entries
from fiddlehead.project.findings import Finding, ordered
from fiddlehead.project.finger_section import FingerSection
from fiddlehead.project.grasp import grasp_mistakes
from fiddlehead.project.grasp_section import GraspSection
from fiddlehead.project.material_section import MaterialSection
from fiddlehead.project.objects import press_mistakes
from fiddlehead.project.pad_section import PadSection
from fiddlehead.project.read import find_project_file, parse, read_project_text
from fiddlehead.project.run_sections import LoadsSection, PrintSection, TestsSection
from fiddlehead.project.schema import SECTIONS, ProjectFile
from fiddlehead.project.study import study_mistakes
from fiddlehead.project.study_section import StudySection
from fiddlehead.project.validate import Source, questions, validate, written


@dataclass(frozen=True)
class Examination:
    """What a check found; ``sections`` is ``None`` when a mistake forbids to go on."""

    path: Path
    sections: ProjectFile | None
    findings: tuple[Finding, ...]

    def of_kind(self, kind: str) -> tuple[Finding, ...]:
        """The findings of one kind."""
        return tuple(finding for finding in self.findings if finding.kind == kind)

    @property
    def usable(self) -> bool:
        """Whether the project can be run."""
        return self.sections is not None

    def require(self) -> ProjectFile:
        """The sections.

        Raises
        ------
        ProjectFileError : the first mistake, with the number of the others
        """
        if self.sections is not None:
            return self.sections
        first, *others = self.of_kind("mistake")
        error = first.as_error()
        if others:
            rest = f"And {len(others)} more: fiddlehead check tells all."
            raise ProjectFileError(
                error.message,
                where=error.where,
                found=error.found,
                allowed=error.allowed,
                remedy=f"{error.remedy} {rest}".strip(),
            )
        raise error


def examine(place: Path) -> Examination:
    """Check a project file (or the one in a folder).

    Raises
    ------
    ProjectFileError : there is no file, or it is no text, or no TOML: nothing more can be said
    """
    path = find_project_file(place)
    return examine_text(read_project_text(path), path)


def examine_text(text: str, path: Path) -> Examination:
    """Check the text of a project file that stands, or could stand, at ``path``.

    Raises
    ------
    ProjectFileError : it is no TOML
    """
    data, source = parse(text, path.name)
    findings: list[Finding] = list(_unknown_sections(data, source))
    valid: dict[str, BaseModel] = {}
    for name, model in SECTIONS.items():
        if name == "pad" and name not in data:
            continue
        section, found = validate(model, data.get(name, {}), (name,), source)
        findings += found
        findings += questions(model, data.get(name, {}), (name,), source)
        if section is not None:
            valid[name] = section
    findings += _together(valid, "pad" in data, path.parent, source)
    mistakes = any(finding.kind == "mistake" for finding in findings)
    sections = None if mistakes else ProjectFile.model_validate(valid)
    return Examination(path, sections, ordered(findings))


def _together(
    valid: dict[str, BaseModel], with_pad: bool, folder: Path, source: Source
) -> Iterator[Finding]:
    """Checks over several entries, as far as the sections they need are right."""
    finger, pad, material = (valid.get(name) for name in ("finger", "pad", "material"))
    parameters: FingerParameters | None = None
    if isinstance(finger, FingerSection) and (pad is not None or not with_pad):
        parameters = finger_parameters(finger, pad if isinstance(pad, PadSection) else None)
        found = list(finger_mistakes(parameters, source))
        yield from found
        printing = valid.get("print")
        if isinstance(printing, PrintSection):
            yield from design_advice(parameters, print_settings(printing), source)
        parameters = None if found else parameters
        mount = valid.get("mount")
        if parameters is not None and isinstance(mount, MountSection):
            yield from mount_mistakes(mount, parameters, source)
    if isinstance(material, MaterialSection):
        yield from material_mistakes(material, folder, source)
    air, loads, experiment = (valid.get(name) for name in ("air", "loads", "experiment"))
    if isinstance(air, AirSection) and isinstance(loads, LoadsSection):
        yield from air_findings(air, loads, source)
    if isinstance(experiment, ExperimentSection):
        yield from experiment_mistakes(experiment, source)
    study = valid.get("study")
    if isinstance(study, StudySection):
        yield from study_mistakes(study, with_pad, source)
    tests = valid.get("tests")
    if isinstance(tests, TestsSection):
        yield from block_mistakes(tests.block, parameters, source)
        yield from press_mistakes(tests.press, folder, source)
    grasp = valid.get("grasp")
    if isinstance(grasp, GraspSection):
        yield from grasp_mistakes(grasp, folder, source)
    bench = valid.get("bench")
    if isinstance(bench, BenchSection):
        yield from bench_mistakes(bench, folder, source)


def _unknown_sections(data: dict[str, Any], source: Source) -> Iterator[Finding]:
    homes = {entry.name: name for name, model in SECTIONS.items() for entry in entries(model)}
    for name, value in data.items():
        if name in SECTIONS:
            continue
        near = slips.nearest(name, SECTIONS)
        if near:
            remedy = f"Did you mean [{near}]?"
        elif name in homes:
            remedy = f"{name} belongs below [{homes[name]}]."
        else:
            remedy = f"Known sections: {', '.join(SECTIONS)}."
        yield Finding(
            kind="mistake",
            message="there is no such section" if isinstance(value, dict) else "an entry outside",
            found=f"[{name}]" if isinstance(value, dict) else f"{name} = {written(value)}",
            remedy=remedy,
            **source.place((name,)),
        )

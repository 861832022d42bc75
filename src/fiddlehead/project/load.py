"""A checked project as frozen parts that the other rooms take, and its fingerprint."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from fiddlehead.fabricate.base import BaseParameters
from fiddlehead.fabricate.fittings import Fittings
from fiddlehead.fabricate.process import Process, process
from fiddlehead.files import sha256
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.finger.print_settings import PrintSettings
from fiddlehead.material.curves import CurveFile
from fiddlehead.mesh.settings import MeshSettings, mesh_settings
from fiddlehead.project.check import Examination, examine
from fiddlehead.project.cross import curve_files, finger_parameters, fittings, print_settings
from fiddlehead.project.material_section import MaterialSection
from fiddlehead.project.run_sections import LoadsSection, MeshSection, TestsSection
from fiddlehead.project.schema import ProjectFile


@dataclass(frozen=True)
class Project:
    """One project, ready to run.

    path : the project file; relative paths in it count from its folder
    data_hashes : SHA-256 of every test file, by the name the project file uses
    input_hash : SHA-256 of all entries that a prediction rests on (defaults included, [bench],
        [study] and [report] not) and of the test files; comments and the order of entries do not
        matter
    """

    path: Path
    sections: ProjectFile
    finger: FingerParameters
    printing: PrintSettings
    mesh: MeshSettings
    data_hashes: tuple[tuple[str, str], ...]
    input_hash: str

    @property
    def name(self) -> str:
        """What the project is called."""
        return self.sections.project.name

    @property
    def material(self) -> MaterialSection:
        """What the law is made from."""
        return self.sections.material

    @property
    def loads(self) -> LoadsSection:
        """Pressure, steps and strain limits."""
        return self.sections.loads

    @property
    def tests(self) -> TestsSection:
        """The simulated tests."""
        return self.sections.tests

    @property
    def fittings(self) -> Fittings:
        """Mount, port and serial of the printed finger."""
        return fittings(self.sections.mount, self.finger, self.printing.line_width_mm)

    @property
    def base(self) -> BaseParameters:
        """The base that carries the fingers."""
        return BaseParameters(fingers=self.sections.air.fingers, **self.sections.base.model_dump())

    @property
    def process(self) -> Process:
        """How it will be printed, machine and filament included."""
        machine = self.sections.printer.model_dump()
        flow = machine.pop("flow_percent") / 100.0
        density = self.material.density_g_per_cm3
        return process(self.printing, flow=flow, density_g_per_cm3=density, **machine)

    @property
    def curve_files(self) -> tuple[CurveFile, ...]:
        """Test files as the ``material`` room reads them."""
        return tuple(_curve_files(self.material, self.path.parent))

    def pressures_mpa(self, working_pressure_kpa: float | None = None) -> tuple[float, ...]:
        """Equal steps to the working pressure (or to another one), zero left out, MPa."""
        own = self.loads.working_pressure_kpa
        top = own if working_pressure_kpa is None else working_pressure_kpa
        steps = self.loads.pressure_steps
        return tuple(1e-3 * top * step / steps for step in range(1, steps + 1))


def load_project(place: Path) -> Project:
    """Read, check and assemble a project.

    Parameters
    ----------
    place : the project file, or the folder that holds ``fiddlehead.toml``

    Raises
    ------
    ProjectFileError : there is no such file, or it holds mistakes (:func:`check.examine` tells
        all of them, this only the first)
    """
    return assemble(examine(place))


def assemble(examination: Examination) -> Project:
    """The project of a check without mistakes.

    Raises
    ------
    ProjectFileError : the check found mistakes
    """
    sections = examination.require()
    folder = examination.path.parent
    used = list(_curve_files(sections.material, folder))
    hashes = tuple((os.path.relpath(f.path, folder), sha256(f.path)) for f in used)
    return Project(
        path=examination.path,
        sections=sections,
        finger=finger_parameters(sections.finger, sections.pad),
        printing=print_settings(sections.print),
        mesh=mesh_of_section(sections.mesh),
        data_hashes=hashes,
        input_hash=_fingerprint(sections, hashes),
    )


def mesh_of_section(section: MeshSection, preset: str | None = None) -> MeshSettings:
    """The named mesh (``preset`` wins over the section's) with the section's own numbers on top.

    Raises
    ------
    ParameterError : no preset of that name
    """
    base = mesh_settings(preset or section.preset)
    if preset:
        return base
    own = section.model_dump(exclude={"preset"}, exclude_none=True)
    return MeshSettings(**{**base.__dict__, **own})


def _curve_files(material: MaterialSection, folder: Path) -> Iterator[CurveFile]:
    if material.law_from == "tests":
        for tests in material.tests:
            yield from curve_files(tests, folder, material.unusual_modulus_confirmed)


def _fingerprint(sections: ProjectFile, hashes: tuple[tuple[str, str], ...]) -> str:
    predicted_from = sections.model_dump(mode="json", exclude={"bench", "study", "report"})
    content = {"entries": predicted_from, "test files": sorted(hashes)}
    text = json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()

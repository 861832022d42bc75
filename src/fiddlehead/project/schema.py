"""The project file as a whole: its sections in the order of the example."""

from __future__ import annotations

from collections.abc import Iterator

from pydantic import BaseModel

from fiddlehead.project.air_section import AirSection
from fiddlehead.project.bench_section import TABLES as BENCH_TABLES
from fiddlehead.project.bench_section import BenchSection
from fiddlehead.project.experiment_section import ExperimentSection
from fiddlehead.project.fabricate_section import BaseSection, MountSection, PrinterSection
from fiddlehead.project.fields import Section, entry
from fiddlehead.project.finger_section import FingerSection
from fiddlehead.project.grasp_section import GraspSection
from fiddlehead.project.material_section import MaterialSection, TestFiles
from fiddlehead.project.pad_section import PadSection
from fiddlehead.project.report_section import ReportSection
from fiddlehead.project.run_sections import (
    BendSection,
    BlockSection,
    LoadsSection,
    MeshSection,
    PressSection,
    PrintSection,
    TestsSection,
)
from fiddlehead.project.study_section import StudySection


class ProjectSection(Section):
    """What this project is called."""

    name: str = entry("unnamed", says="Short name; heads pictures and records.", min_length=1)
    note: str = entry("", says="Anything worth remembering.")


class ProjectFile(Section):
    """All sections of ``fiddlehead.toml``.

    Pressures are gauge pressures; strains in percent are nominal unless the entry says log.
    """

    project: ProjectSection = ProjectSection()
    material: MaterialSection
    finger: FingerSection = FingerSection()
    pad: PadSection | None = None
    print: PrintSection = PrintSection()
    printer: PrinterSection = PrinterSection()
    mount: MountSection = MountSection()
    base: BaseSection = BaseSection()
    loads: LoadsSection = LoadsSection()
    mesh: MeshSection = MeshSection()
    tests: TestsSection = TestsSection()
    study: StudySection = StudySection()
    experiment: ExperimentSection = ExperimentSection()
    air: AirSection = AirSection()
    grasp: GraspSection = GraspSection()
    bench: BenchSection = BenchSection()
    report: ReportSection = ReportSection()


SECTIONS: dict[str, type[BaseModel]] = {
    "project": ProjectSection,
    "material": MaterialSection,
    "finger": FingerSection,
    "pad": PadSection,
    "print": PrintSection,
    "printer": PrinterSection,
    "mount": MountSection,
    "base": BaseSection,
    "loads": LoadsSection,
    "mesh": MeshSection,
    "tests": TestsSection,
    "study": StudySection,
    "experiment": ExperimentSection,
    "air": AirSection,
    "grasp": GraspSection,
    "bench": BenchSection,
    "report": ReportSection,
}
"""Each section by its name in the file."""


def tables() -> Iterator[tuple[str, type[BaseModel]]]:
    """Every table of the file with its model, sections within sections included."""
    for name, model in SECTIONS.items():
        if model is TestsSection:
            yield "tests.bend", BendSection
            yield "tests.block", BlockSection
            yield "tests.press", PressSection
        else:
            yield name, model
        if model is MaterialSection:
            yield "material.tests", TestFiles
        if model is BenchSection:
            yield from BENCH_TABLES.items()


REPEATED = {"material.tests", *BENCH_TABLES}
"""Tables that may come several times."""

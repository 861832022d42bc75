"""What a results folder holds: each part, whether it is whole and of this project."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from fiddlehead.errors import StoreError
from fiddlehead.files import sha256
from fiddlehead.project.bench import expand
from fiddlehead.project.load import Project
from fiddlehead.project.material import material_hash
from fiddlehead.report.document import Picture
from fiddlehead.report.results import CANCELLED, CONTENTS

State = Literal["current", "stale", "broken"]


@dataclass(frozen=True)
class Part:
    """One folder of results: its name, the command that makes it, and what it tells."""

    name: str
    verb: str
    tells: str


PARTS = (
    Part("material", "fit", "test data, law and material card"),
    Part("bend", "bend", "free bending"),
    Part("block", "block", "blocked force"),
    Part("press", "press", "pressing on objects"),
    Part("pads", "pads", "pads compared"),
    Part("lateral", "lateral", "lateral stiffness"),
    Part("grasp-table", "grasp-table", "grasp table"),
    Part("study", "explore", "study of designs"),
    Part("optimise", "optimise", "search for better designs"),
    Part("tolerance", "tolerance", "printing scatter"),
    Part("solid", "solid", "printable finger and drawing"),
    Part("printcheck", "printcheck", "layer check"),
    Part("sheet", "sheet", "slicing sheet"),
    Part("base", "base", "printed base"),
    Part("experiment-plan", "experiment plan", "plan of the airtightness experiment"),
    Part("experiment-analysis", "experiment analyse", "what the experiment says"),
    Part("air", "air", "air supply"),
    Part("measured", "measure", "measurements on the bench"),
    Part("compared", "compare", "measurement over prediction"),
    Part("calibrated", "calibrate", "calibrated unknowns"),
    Part("handover", "handover", "pressure label and parts list"),
)
"""In the order of the job."""

NOT_REPORTED = {"report", "protocols", "slopes"}
"""Folders of ours that hold no result."""


@dataclass(frozen=True)
class Found:
    """One part as it was found; ``told`` says in a sentence what is the matter with it."""

    part: Part
    state: State
    told: str = ""


@dataclass(frozen=True)
class Job:
    """A project with what its results folder holds.

    day : the date of the report, ISO 8601
    found : parts that are there, by name
    cancelled : folders of runs that were cancelled; they are kept, but not reported
    """

    project: Project
    results: Path
    day: str
    found: Mapping[str, Found]
    cancelled: tuple[str, ...] = ()

    def has(self, name: str) -> bool:
        """Whether a part is there and readable (it may be stale)."""
        return name in self.found and self.found[name].state != "broken"

    def made_by(self, verb: str) -> tuple[str, ...]:
        """Parts that a command made, one folder for each object or case."""
        return tuple(name for name, found in self.found.items() if found.part.verb == verb)

    def document(self, part: str, file: str) -> dict[str, Any]:
        """A JSON document of a part.

        Raises
        ------
        StoreError : it cannot be read
        """
        return read_json(self.results / part / file)

    def picture(self, part: str, name: str) -> str:
        """Where a picture of a part lies, counted from the results folder; "" where there is none.

        ``name`` may hold a folder within the part.
        """
        for suffix in (".svg", ".png"):
            if (self.results / part / f"{name}{suffix}").is_file():
                return f"{part}/{name}{suffix}"
        return ""

    def pictures(self, part: str, *wanted: tuple[str, ...]) -> tuple[Picture, ...]:
        """Those of the named pictures that are there.

        Parameters
        ----------
        wanted : name, what it shows and, where that says more, the same in words
        """
        placed = ((self.picture(part, name), *told) for name, *told in wanted)
        return tuple(Picture(*one) for one in placed if one[0])


def read_json(path: Path) -> dict[str, Any]:
    """A JSON document whose outermost level is a table.

    Raises
    ------
    StoreError : missing, unreadable or something else
    """
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise StoreError("this result cannot be read", where=str(path), found=str(error)) from error
    if not isinstance(found, dict):
        raise StoreError("this result is of another format", where=str(path))
    return found


def look_through(project: Project, results: Path, day: str) -> Job:
    """See what there is.

    Raises
    ------
    StoreError : there is nothing to report
    """
    known = [part for part in PARTS if (results / part.name).is_dir()]
    parts = [*known, *_further_parts(results)]
    found = {part.name: _examined(part, project, results) for part in parts}
    cancelled = tuple(sorted(p.name for p in results.glob(f"*-{CANCELLED}") if p.is_dir()))
    if not found:
        raise StoreError(
            "there are no results to report yet",
            where=str(results),
            remedy=f"Start with fiddlehead fit and fiddlehead bend {project.path.parent}.",
        )
    return Job(project, results, day, found, cancelled)


def _further_parts(results: Path) -> list[Part]:
    """Every other folder of results, those that lie in a folder together included."""
    told = {part.name for part in PARTS} | NOT_REPORTED
    marks = sorted((*results.glob(f"*/{CONTENTS}"), *results.glob(f"*/*/{CONTENTS}")))
    found = []
    for mark in marks:
        name = mark.parent.relative_to(results).as_posix()
        if name.split("/")[0] not in told and not name.endswith(f"-{CANCELLED}"):
            try:
                verb = str(read_json(mark)["kind"])
            except (StoreError, KeyError):
                verb = name.split("/")[0]
            found.append(
                Part(name, verb, name.replace("/", ": ").replace("-", " ").replace("_", " "))
            )
    return found


def _examined(part: Part, project: Project, results: Path) -> Found:
    folder = results / part.name
    again = f"Run fiddlehead {part.verb} again."
    try:
        contents = read_json(folder / CONTENTS)
        missing = [name for name in contents["files"] if not (folder / name).is_file()]
    except (StoreError, KeyError, TypeError) as error:
        told = f"{part.name}/{CONTENTS} cannot be read ({error}), so nothing of it is shown."
        return Found(part, "broken", f"{told} {again}")
    if missing:
        told = f"{len(missing)} files are missing, {missing[0]} first; nothing of it is shown."
        return Found(part, "broken", f"{told} {again}")
    reason = _outdated(part, project, results, contents)
    return Found(part, "stale", f"{reason} {again}") if reason else Found(part, "current")


def _outdated(part: Part, project: Project, results: Path, contents: dict[str, Any]) -> str:
    """Why a part no longer belongs to the project file; "" where it does."""
    made_for = contents.get("input_hash_sha256")
    now = material_hash(project) if part.name == "material" else project.input_hash
    if made_for is not None and made_for != now:
        return (
            f"Made from an older project file (input {str(made_for)[:12]}, now {now[:12]}): "
            "its numbers may not hold for this design."
        )
    if part.name == "measured":
        return _raw_files_changed(project, results)
    if part.name in ("compared", "calibrated"):
        return _older_than_measured(part, results)
    return ""


def _raw_files_changed(project: Project, results: Path) -> str:
    try:
        known = read_json(results / "measured" / "measured.json")["raw_files_sha256"]
    except (StoreError, KeyError):
        return ""
    for path in raw_bench_files(project):
        if path.name in known and known[path.name] != sha256(path):
            return f"{path.name} is not the file that was measured with."
    return ""


def raw_bench_files(project: Project) -> list[Path]:
    """Every measured file and photo that the project names and that is there."""
    bench = project.sections.bench
    records = (pattern for part in bench.records for pattern in part.files)
    photos = (pattern for part in bench.photos for pattern in part.files)
    named = expand(project.path.parent, (*records, *photos))
    return [path for path in named if path.is_file()]


def _older_than_measured(part: Part, results: Path) -> str:
    names = {"compared": "compared.json", "calibrated": "calibration.json"}
    try:
        made = read_json(results / part.name / names[part.name])["date"]
        measured = read_json(results / "measured" / "measured.json")["date"]
    except (StoreError, KeyError):
        return ""
    return "Older than the measurements beside it." if str(made) < str(measured) else ""

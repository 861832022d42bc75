"""The data package: everything needed to check, read and rebuild a job, in one ZIP.

README.md                  what this is, who made it, units, how to read and rebuild it
LICENCE.txt                what others may do with the data
ro-crate-metadata.json     the same for machines
columns.csv                every column of every table: unit and meaning
manifest-sha256.txt        checksums, as ``sha256sum --check`` reads them
report.html, report.pdf
project/                   project file, raw test data
results/                   what the verbs saved
"""

from __future__ import annotations

import hashlib
import io
import zipfile
from collections.abc import Iterator, Mapping
from datetime import date
from pathlib import Path

from packaging.licenses import InvalidLicenseExpression, canonicalize_license_expression

from fiddlehead import __version__
from fiddlehead.errors import ParameterError
from fiddlehead.project.load import Project
from fiddlehead.report.job.columns import as_csv, columns_of
from fiddlehead.report.job.crate import MANIFEST, METADATA, Licence, Made, crate
from fiddlehead.report.job.origin import record_of
from fiddlehead.report.job.parts import Job, raw_bench_files
from fiddlehead.report.job.readme import readme

STORED = {".png", ".jpg", ".npz", ".pdf", ".3mf", ".xlsx"}
"""Already compressed."""
NO_LICENCE = (
    "No licence was given for these data: all rights are reserved. Ask whoever made them, or name "
    "a licence in the project file: [report] data_licence, an SPDX identifier such as CC-BY-4.0."
)


def data_package(job: Job, report: Mapping[str, bytes]) -> bytes:
    """The package as a ZIP; the same content and day give the same bytes.

    Parameters
    ----------
    report : the report's files by name

    Raises
    ------
    ParameterError : the licence is none that SPDX lists
    StoreError : a file cannot be read
    """
    licence = licence_of(job.project)
    content = dict(sorted({**report, **dict(_project(job.project)), **dict(_results(job))}.items()))
    tables = {place: data for place, data in content.items() if place.endswith((".csv", ".tsv"))}
    content["columns.csv"] = as_csv(columns_of(job.project, tables))
    content["LICENCE.txt"] = f"{licence.name}\n\n{licence.terms}\n".encode()
    made = tuple(_made(job))
    content["README.md"] = readme(job, licence, made).encode()
    section = job.project.sections.report
    content[METADATA] = crate(
        name=f"{job.project.name}: data of a printed pneumatic soft gripper",
        description=job.project.sections.project.note
        or "Test data, predictions and measurements of a printed pneumatic soft gripper.",
        day=job.day,
        author=section.author,
        licence=licence,
        content=content,
        made=made,
    )
    content[MANIFEST] = _manifest(content)
    return _zip(content, job.day)


def licence_of(project: Project) -> Licence:
    """The licence the project file names.

    Raises
    ------
    ParameterError : none that SPDX lists
    """
    written = project.sections.report.data_licence
    if not written:
        return Licence("LICENCE.txt", "No licence given", NO_LICENCE)
    try:
        name = canonicalize_license_expression(written)
    except InvalidLicenseExpression as error:
        raise ParameterError(
            "this is no licence that SPDX lists",
            where=f"{project.path.name}: report.data_licence",
            found=repr(written),
            allowed="an SPDX identifier such as CC-BY-4.0, CC0-1.0 or ODbL-1.0",
        ) from error
    place = f"https://spdx.org/licenses/{name}"
    simple = " " not in name
    terms = f"These data may be used under {name}; its text: {place}" if simple else name
    return Licence(place if simple else "LICENCE.txt", name, terms)


def _project(project: Project) -> Iterator[tuple[str, bytes]]:
    """The project file and every data file it names."""
    folder = project.path.parent
    raw = [folder / name for name, _ in project.data_hashes]
    for path in (project.path, *raw, *raw_bench_files(project)):
        if path.is_file():
            yield f"project/{_place(path, folder)}", path.read_bytes()


def _place(path: Path, folder: Path) -> str:
    """Where a file lies in the package; files from outside the project folder come together."""
    whole, home = path.resolve(), folder.resolve()
    if whole.is_relative_to(home):
        return whole.relative_to(home).as_posix()
    return f"from-elsewhere/{path.name}"


def _results(job: Job) -> Iterator[tuple[str, bytes]]:
    for name, found in job.found.items():
        if found.state != "broken":
            for path in sorted((job.results / name).rglob("*")):
                if path.is_file():
                    place = path.relative_to(job.results).as_posix()
                    yield f"results/{place}", path.read_bytes()


def _made(job: Job) -> Iterator[Made]:
    for name, found in job.found.items():
        if found.state != "broken":
            record = record_of(job, name)
            version = str(record.get("versions", {}).get("fiddlehead", __version__))
            yield Made(
                f"results/{name}",
                found.part.tells,
                f"fiddlehead {found.part.verb}",
                str(record.get("date", "")),
                version,
            )


def _manifest(content: Mapping[str, bytes]) -> bytes:
    lines = (f"{hashlib.sha256(data).hexdigest()}  {name}" for name, data in content.items())
    return ("\n".join(lines) + "\n").encode()


def _zip(content: Mapping[str, bytes], day: str) -> bytes:
    stamp = date.fromisoformat(day)
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as archive:
        for name, data in content.items():
            entry = zipfile.ZipInfo(name, (max(stamp.year, 1980), stamp.month, stamp.day, 0, 0, 0))
            entry.create_system, entry.external_attr = 3, 0o644 << 16
            packed = Path(name).suffix.lower() in STORED
            entry.compress_type = zipfile.ZIP_STORED if packed else zipfile.ZIP_DEFLATED
            archive.writestr(entry, data)
    return made.getvalue()

"""Where everything came from: state of the parts, hashes, versions, seeds, times."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from fiddlehead.errors import StoreError
from fiddlehead.report.about import versions
from fiddlehead.report.document import Block, Note, Section, Table
from fiddlehead.report.job.parts import PARTS, Job, read_json

RECORDS = {
    "bend": "record.json",
    "lateral": "record.json",
    "measured": "measured.json",
    "compared": "compared.json",
    "calibrated": "calibration.json",
    "handover": "handover.json",
}
"""Which file of a part holds its date and versions."""


def state_of_parts(job: Job) -> Section | None:
    """What stands in the way of trusting this report; None where nothing does."""
    notes: list[Block] = [
        Note(f"{one.part.tells[:1].upper()}{one.part.tells[1:]}: {one.told}")
        for one in job.found.values()
        if one.told
    ]
    notes += [
        Note(f"A cancelled run lies in {name}; it is not reported.") for name in job.cancelled
    ]
    return Section("Mind before you read on", tuple(notes)) if notes else None


def provenance(job: Job) -> Section:
    """Hashes of what went in, versions of what computed, seeds and times."""
    project = job.project
    inputs = (
        ("project file", project.path.name),
        ("all entries and test files", project.input_hash),
        *project.data_hashes,
        *_raw(job),
    )
    seeds = [("order of the leak experiment", str(project.sections.experiment.seed))]
    for name in job.found:
        seeds += [(f"{name}: {where}", str(seed)) for where, seed in _seeds(record_of(job, name))]
    return Section(
        "Provenance",
        (
            Table(("input", "SHA-256"), inputs, "What went in"),
            Table(("part", "command", "made", "state"), tuple(_parts(job)), "What was done"),
            Table(("program", "version"), tuple(_versions(job)), "What computed it"),
            Table(("random draw", "seed"), tuple(seeds), "Seeds"),
            "Predictions are no measurements. Numbers marked as common practice, from memory or "
            "as our proposal have no source behind them.",
        ),
    )


def _seeds(record: dict[str, Any], where: str = "run") -> Iterator[tuple[str, int]]:
    """Every seed that a record names, wherever it stands; entries of the project apart."""
    for key, value in record.items():
        if key == "seed" and isinstance(value, int):
            yield where, value
        elif isinstance(value, dict) and key != "project":
            yield from _seeds(value, key)


def _raw(job: Job) -> tuple[tuple[str, str], ...]:
    if not job.has("measured"):
        return ()
    raw = job.document("measured", "measured.json")["raw_files_sha256"]
    return tuple((f"bench: {name}", digest) for name, digest in raw.items())


def _parts(job: Job) -> Iterator[tuple[str, ...]]:
    further = (found.part for found in job.found.values() if found.part not in PARTS)
    for part in (*PARTS, *further):
        found = job.found.get(part.name)
        state = "not made" if found is None else found.state
        date = str(record_of(job, part.name).get("date", ""))[:16].replace("T", " ")
        yield part.tells, f"fiddlehead {part.verb}", date, state


def _versions(job: Job) -> Iterator[tuple[str, str]]:
    """Versions of this report and, where they differ, of the runs."""
    now = versions()
    for name, number in now.items():
        others = {
            str(used[name])
            for part in job.found
            if name in (used := record_of(job, part).get("versions", {}))
        } - {number}
        more = f" (some parts: {', '.join(sorted(others))})" if others else ""
        yield name, number + more


def record_of(job: Job, part: str) -> dict[str, Any]:
    """The record of a part where it keeps one, else nothing."""
    if not job.has(part):
        return {}
    folder = job.results / part
    places = [folder / RECORDS.get(part, "record.json")]
    if part == "block":
        places = sorted(folder.glob("preset_*_deg/record.json"))[:1]
    if part == "material":
        places = [folder / "fits.json"]
    try:
        return read_json(places[0]) if places else {}
    except StoreError:
        return {}

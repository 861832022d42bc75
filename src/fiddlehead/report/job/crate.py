"""Metadata of a data package that machines read: RO-Crate 1.1, one JSON-LD file.

Source: RO-Crate Metadata Specification 1.1 (researchobject.org, 2020), sections "Root Data Entity",
"Data Entities", "Provenance of entities"; value from memory, held by the tests to what the rocrate
library reads.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import Any

METADATA, MANIFEST = "ro-crate-metadata.json", "manifest-sha256.txt"
CONTEXT = "https://w3id.org/ro/crate/1.1/context"
CONFORMS_TO = "https://w3id.org/ro/crate/1.1"
FORMATS = {
    ".3mf": "model/3mf",
    ".csv": "text/csv",
    ".html": "text/html",
    ".jpg": "image/jpeg",
    ".json": "application/json",
    ".md": "text/markdown",
    ".npz": "application/zip",
    ".pdf": "application/pdf",
    ".png": "image/png",
    ".pvd": "application/xml",
    ".step": "model/step",
    ".stl": "model/stl",
    ".svg": "image/svg+xml",
    ".toml": "application/toml",
    ".tsv": "text/tab-separated-values",
    ".txt": "text/plain",
    ".vtu": "application/xml",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}


@dataclass(frozen=True)
class Licence:
    """What others may do with the data: where the terms stand, their name, and the terms."""

    place: str
    name: str
    terms: str


@dataclass(frozen=True)
class Made:
    """One folder of results and the command that made it; ``date`` ISO 8601 or ""."""

    folder: str
    tells: str
    command: str
    date: str
    version: str


def crate(
    *,
    name: str,
    description: str,
    day: str,
    author: str,
    licence: Licence,
    content: Mapping[str, bytes],
    made: tuple[Made, ...],
) -> bytes:
    """The metadata file.

    Parameters
    ----------
    content : every other file of the package but the manifest, which is written last
    """
    folders = {f"{one.folder}/": one for one in made}
    inside = {folder: [f for f in content if f.startswith(folder)] for folder in folders}
    loose = [f for f in content if not any(f.startswith(folder) for folder in folders)]
    root: dict[str, Any] = {
        "@id": "./",
        "@type": "Dataset",
        "name": name,
        "description": description,
        "datePublished": day,
        "license": {"@id": licence.place},
        "hasPart": [{"@id": place} for place in (*loose, MANIFEST, *folders)],
    }
    people: list[dict[str, Any]] = []
    if author:
        root["author"] = {"@id": "#author"}
        people.append({"@id": "#author", "@type": "Person", "name": author})
    terms = {"name": licence.name, "description": licence.terms}
    entities = {place: _file(place, len(data)) for place, data in content.items()}
    entities[MANIFEST] = {key: _file(MANIFEST, 0)[key] for key in ("@id", "@type", "name")}
    rights = {"@id": licence.place, "@type": "CreativeWork"}
    entities[licence.place] = {**rights, **entities.get(licence.place, {}), **terms}
    graph = [
        {
            "@id": METADATA,
            "@type": "CreativeWork",
            "conformsTo": {"@id": CONFORMS_TO},
            "about": {"@id": "./"},
        },
        root,
        *people,
        *({"@id": folder, "@type": "Dataset", "name": one.tells,
           "hasPart": [{"@id": place} for place in inside[folder]]}
          for folder, one in folders.items()),
        *entities.values(),
        *_programs(made),
        *(_action(one) for one in made),
    ]  # fmt: skip
    document = {"@context": CONTEXT, "@graph": graph}
    return (json.dumps(document, indent=2, ensure_ascii=False) + "\n").encode()


def _file(place: str, size: int) -> dict[str, Any]:
    path = PurePosixPath(place)
    kind = FORMATS.get(path.suffix.lower(), "application/octet-stream")
    return {
        "@id": place,
        "@type": "File",
        "name": path.name,
        "contentSize": str(size),
        "encodingFormat": kind,
    }


def _programs(made: tuple[Made, ...]) -> list[dict[str, Any]]:
    """fiddlehead in every version that took part."""
    return [
        {
            "@id": f"#fiddlehead-{version}",
            "@type": "SoftwareApplication",
            "name": "fiddlehead",
            "version": version,
        }
        for version in sorted({one.version for one in made})
    ]


def _action(one: Made) -> dict[str, Any]:
    """A command that made a folder."""
    found: dict[str, Any] = {
        "@id": f"#run-{one.folder.rpartition('/')[2]}",
        "@type": "CreateAction",
        "name": one.command,
        "instrument": {"@id": f"#fiddlehead-{one.version}"},
        "result": {"@id": f"{one.folder}/"},
    }
    return {**found, "endTime": one.date} if one.date else found

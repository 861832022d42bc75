"""What every record tells beside its numbers: input, material, mesh, versions, time."""

from __future__ import annotations

import dataclasses
import platform
from importlib.metadata import PackageNotFoundError, version
from typing import Any

from fiddlehead import __version__
from fiddlehead.material.card import MaterialCard
from fiddlehead.material.catalogue import law_entry
from fiddlehead.mesh.quality import mesh_quality
from fiddlehead.mesh.records import Mesh
from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.project.load import Project

PACKAGES = ("numpy", "scipy", "jax", "jaxlib", "pydantic", "matplotlib", "meshio")


def versions() -> dict[str, str]:
    """Versions of everything a result depends on."""
    found = {"fiddlehead": __version__, "python": platform.python_version()}
    for package in PACKAGES:
        try:
            found[package] = version(package)
        except PackageNotFoundError:
            found[package] = "not installed"
    return found


def about_project(project: Project) -> dict[str, Any]:
    """The project with its input hash, every entry and the hashes of its test files."""
    return {
        "name": project.name,
        "input_hash_sha256": project.input_hash,
        "test_files_sha256": dict(project.data_hashes),
        "entries": project.sections.model_dump(mode="json"),
    }


def about_card(card: MaterialCard) -> dict[str, Any]:
    """The law that was used and where it came from."""
    entry = law_entry(card.law_name)
    return {**dataclasses.asdict(card), "law_title": entry.title, "law_source": entry.source}


def about_mesh(mesh: Mesh, settings: MeshSettings) -> dict[str, Any]:
    """Size and quality of the mesh of the half finger."""
    quality = mesh_quality(mesh)
    return {
        "elements": len(mesh.elements),
        "element_kind": "20-node brick, half finger by symmetry",
        "nodes": len(mesh.points),
        "settings": dataclasses.asdict(settings),
        "smallest_scaled_jacobian": float(quality.scaled_jacobian.min()),
        "largest_aspect": float(quality.aspect.max()),
        "worst_shape": quality.summary(),
    }


def about_run(
    project: Project, card: MaterialCard, mesh: Mesh, settings: MeshSettings, date: str
) -> dict[str, Any]:
    """All of it."""
    return {
        "date": date,
        "versions": versions(),
        "machine": f"{platform.system()} {platform.machine()}",
        "project": about_project(project),
        "material": about_card(card),
        "mesh": about_mesh(mesh, settings),
    }


def detail_line(card: MaterialCard, mesh: Mesh) -> str:
    """The small print under a picture's heading."""
    return f"{card.name}, {law_entry(card.law_name).title} law; {len(mesh.elements)} elements"

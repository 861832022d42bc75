"""The design while it is being changed: its section with dimensions, its sizes, its surface."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
from jaxtyping import Float, Int

from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.finger.volumes import cavity_volume_mm3, mass_g, material_volume_mm3
from fiddlehead.mesh.build import build_mesh
from fiddlehead.mesh.settings import mesh_settings
from fiddlehead.report.figures.section import section_picture, wall_note
from fiddlehead.report.surface import EDGES, Surface, whole_surface
from fiddlehead.web.pack import Arrays, packed


def section(finger: FingerParameters) -> dict[str, Any]:
    """Outlines and dimensions of the section, mm.

    Raises
    ------
    ParameterError : the parameters contradict each other
    """
    picture = section_picture(finger, "")
    along = picture.along
    return {
        "outer": along.outer.tolist(),
        "cavity": along.cavity.tolist(),
        "voids": [loop.tolist() for loop in along.voids],
        "inlet": None if along.inlet is None else along.inlet.tolist(),
        "dimensions": [dataclasses.asdict(one) for one in picture.along_dimensions],
        "across": {
            "outer": picture.across_outer.tolist(),
            "chamber": picture.across_chamber.tolist(),
            "channel": picture.across_channel.tolist(),
            "dimensions": [dataclasses.asdict(one) for one in picture.across_dimensions],
        },
        "note": wall_note(finger),
    }


def measures(finger: FingerParameters, density_g_per_cm3: float) -> dict[str, float]:
    """Sizes a person asks for first; units are in the names."""
    return {
        "length_mm": float(finger.length_mm),
        "material_volume_cm3": 1e-3 * material_volume_mm3(finger),
        "cavity_volume_cm3": 1e-3 * cavity_volume_mm3(finger),
        "mass_g": mass_g(finger, density_g_per_cm3),
    }


def solid_shape(finger: FingerParameters, told: dict[str, Any]) -> bytes:
    """The finger's surface at rest, packed for the page with what else is ``told``.

    Raises
    ------
    ParameterError, MeshError : the parameters describe no finger
    """
    mesh = build_mesh(finger, mesh_settings("preview"))
    surface = whole_surface(mesh)
    places = with_centres(surface, surface.place(mesh.points))[None]
    arrays: Arrays = {
        "positions": places.astype("<f4"),
        "triangles": triangles(surface).astype("<u4"),
        "edges": edges(surface).astype("<u4"),
    }
    return packed({**told, "steps": [{"label": "at rest"}], "fields": []}, arrays)


def with_centres(
    surface: Surface, values: Float[np.ndarray, "vertex *component"]
) -> Float[np.ndarray, "all *component"]:
    """Values at the surface's nodes, then at the middle of each face (its own shape functions)."""
    corners, middles = values[surface.faces[:, :4]], values[surface.faces[:, 4:]]
    return np.concatenate([values, 0.5 * middles.sum(1) - 0.25 * corners.sum(1)])


def spread(surface: Surface, values: Float[np.ndarray, " vertex"]) -> Float[np.ndarray, " all"]:
    """A field at the surface's nodes, then the mean over each face: never beyond its nodes."""
    return np.concatenate([values, values[surface.faces].mean(1)])


def triangles(surface: Surface) -> Int[np.ndarray, "triangle 3"]:
    """Eight triangles around the middle of each face, seen from outside counter-clockwise."""
    ring = surface.faces[:, [0, 4, 1, 5, 2, 6, 3, 7]]
    centre = len(surface.node) + np.arange(len(ring))
    fans = [np.stack([ring[:, k], ring[:, (k + 1) % 8], centre], 1) for k in range(8)]
    return np.concatenate(fans)


def edges(surface: Surface) -> Int[np.ndarray, "edge 2"]:
    """Both halves of every border of the faces, each once."""
    halves = [surface.faces[:, [a, b]] for s, m, e in EDGES for a, b in ((s, m), (m, e))]
    return np.unique(np.sort(np.concatenate(halves), axis=1), axis=0)

"""Reading a scanned object from STL, and its signed distance on a grid.

The nearest point of the surface is sought among the triangles around it, its distance taken from
the triangle itself; inside and outside follow from how often a line along z enters and leaves the
surface, which is certain for a watertight one.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import jax.numpy as jnp
import numpy as np
from jaxtyping import Bool, Float, Int

from fiddlehead.errors import InputError, ParameterError
from fiddlehead.objects.shapes.scanned import Scanned

STEPS_ALONG = 48
"""Grid steps along the longest side of a scan, unless asked otherwise (our choice)."""
MARGIN = 3
"""Grid steps around the surface's box."""
MOST_TRIANGLES = 300_000
NEAR = 24
"""Triangles around a point among which the nearest is sought, by the points sown on them."""


def read_scan(path: Path, *, steps_along: int = STEPS_ALONG, scale: float = 1.0) -> Scanned:
    """A watertight STL as a shape, its origin where the file has it.

    Parameters
    ----------
    path : the STL, binary or text; its numbers are taken as mm
    steps_along : grid steps along the longest side
    scale : factor on all coordinates, 25.4 for inches

    Raises
    ------
    InputError : the file cannot be read, holds no surface, is open, or is turned inside out
    ParameterError : a grid that cannot be made
    """
    if not isinstance(steps_along, int) or not 8 <= steps_along <= 160:
        raise ParameterError(
            "no such grid", where="steps_along", found=repr(steps_along), allowed="8 to 160"
        )
    points, triangles = read_surface(path, scale)
    return sampled(points, triangles, steps_along)


def read_surface(
    path: Path, scale: float = 1.0
) -> tuple[Float[np.ndarray, "point 3"], Int[np.ndarray, "triangle 3"]]:
    """Points and triangles of an STL, proven closed and right side out; see :func:`read_scan`."""
    import trimesh

    where = str(path)
    if not path.is_file():
        raise InputError("there is no such file", where=where, remedy="Check the path.")
    try:
        mesh: Any = trimesh.load_mesh(path, file_type="stl")
        mesh.merge_vertices()
        mesh.update_faces(mesh.nondegenerate_faces())
        count = len(mesh.faces)
    except Exception as error:  # readers of damaged files fail in many ways
        raise InputError(
            "this is no STL that can be read",
            where=where,
            found=type(error).__name__,
            remedy="Save it again as binary STL.",
        ) from error
    if not 4 <= count <= MOST_TRIANGLES or not np.all(np.isfinite(mesh.vertices)):
        raise InputError(
            "this STL holds no usable surface",
            where=where,
            found=f"{count} triangles",
            allowed=f"4 to {MOST_TRIANGLES}, with finite coordinates",
            remedy="Thin out the scan, or save it again.",
        )
    _closed(mesh, where)
    return scale * np.asarray(mesh.vertices, float), np.asarray(mesh.faces)


def _closed(mesh: Any, where: str) -> None:
    edges, uses = np.unique(mesh.edges_sorted, axis=0, return_counts=True)
    if np.any(uses != 2):
        at = mesh.vertices[edges[np.argmax(uses != 2)]].mean(axis=0)
        open_edges, shared = int((uses == 1).sum()), int((uses > 2).sum())
        fault = f"{open_edges} open edges" if open_edges else f"{shared} edges of 3 or more faces"
        raise InputError(
            "the surface is open" if open_edges else "the surface meets itself along edges",
            where=where,
            found=f"{fault}, one near x {at[0]:.3g}, y {at[1]:.3g}, z {at[2]:.3g} mm",
            allowed="a watertight surface, every edge in two triangles",
            remedy="Close the holes in the program that made it.",
        )
    if not mesh.is_winding_consistent:
        raise InputError(
            "some triangles are turned inside out",
            where=where,
            allowed="all normals pointing outwards",
            remedy="Let the program that made it unify the normals.",
        )
    if mesh.volume <= 0:
        raise InputError(
            "the surface is inside out: its normals point inwards",
            where=where,
            found=f"volume {mesh.volume:.4g} mm³",
            allowed="normals pointing outwards, a volume above 0",
            remedy="Flip the normals in the program that made it.",
        )


def sampled(
    points: Float[np.ndarray, "point 3"],
    triangles: Int[np.ndarray, "triangle 3"],
    steps_along: int = STEPS_ALONG,
) -> Scanned:
    """The signed distance of a closed surface on a cubic grid.

    Parameters
    ----------
    points : corners, mm
    triangles : their numbers, counter-clockwise seen from outside
    steps_along : grid steps along the longest side of the surface's box
    """
    from scipy.ndimage import spline_filter

    low, high = points.min(axis=0), points.max(axis=0)
    step = float((high - low).max() / steps_along)
    origin = low - MARGIN * step
    shape = tuple(int(n) for n in np.ceil((high - low) / step).astype(int) + 2 * MARGIN + 1)
    axes = [origin[axis] + step * np.arange(shape[axis]) for axis in range(3)]
    nodes = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)
    value = unsigned_distance(nodes, points[triangles], step).reshape(shape)
    value = np.where(inside(axes, points[triangles]), -value, value)
    return Scanned(
        coefficients=jnp.asarray(spline_filter(value, order=3, mode="mirror")),
        origin_mm=jnp.asarray(origin),
        step_mm=jnp.asarray(step),
        low_mm=jnp.asarray(low),
        high_mm=jnp.asarray(high),
    )


def unsigned_distance(
    places: Float[np.ndarray, "place 3"],
    corners: Float[np.ndarray, "triangle 3 3"],
    spacing: float,
) -> Float[np.ndarray, " place"]:
    """Distance from each place to the nearest triangle, mm.

    Points are sown over the triangles at most ``spacing`` apart; the triangles of the ``NEAR``
    sown points nearest to a place are measured exactly.
    """
    from scipy.spatial import cKDTree

    longest = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)
    cuts = np.maximum(np.ceil(longest / spacing).astype(int), 1)
    seeds, owners = [], []
    for count in np.unique(cuts):
        which = np.flatnonzero(cuts == count)
        i, j = (k.ravel() for k in np.meshgrid(*2 * [np.arange(count)], indexing="ij"))
        keep = i + j < count
        share = (np.stack([i, j], axis=1)[keep] + 1 / 3) / count
        weight = np.column_stack([1 - share.sum(axis=1), share])
        seeds.append(np.einsum("sk,tkc->tsc", weight, corners[which]).reshape(-1, 3))
        owners.append(np.repeat(which, len(weight)))
    owner = np.concatenate(owners)
    tree = cKDTree(np.concatenate(seeds))
    found = np.empty(len(places))
    for part in np.array_split(np.arange(len(places)), max(len(places) // 20_000, 1)):
        _, near = tree.query(places[part], k=min(NEAR, len(owner)))
        candidates = owner[near.reshape(len(part), -1)]
        gaps = [_to_triangle(places[part], corners[k]) for k in candidates.T]
        found[part] = np.min(gaps, axis=0)
    return found


def _to_triangle(
    places: Float[np.ndarray, "place 3"], corners: Float[np.ndarray, "place 3 3"]
) -> Float[np.ndarray, " place"]:
    """Distance from each place to its own triangle: to its plane, or to its nearest edge."""
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    normal = np.cross(b - a, c - a)
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    height = np.einsum("pi,pi->p", places - a, normal)
    over = np.ones(len(places), dtype=bool)
    edge = np.full(len(places), np.inf)
    for start, end in ((a, b), (b, c), (c, a)):
        along, to = end - start, places - start
        over &= np.einsum("pi,pi->p", np.cross(along, to), normal) >= 0
        share = np.einsum("pi,pi->p", to, along) / np.einsum("pi,pi->p", along, along)
        foot = start + np.clip(share, 0, 1)[:, None] * along
        edge = np.minimum(edge, np.linalg.norm(places - foot, axis=1))
    return np.where(over, np.abs(height), edge)


def inside(
    axes: list[Float[np.ndarray, "_node"]], corners: Float[np.ndarray, "triangle 3 3"]
) -> Bool[np.ndarray, "x y z"]:
    """Which nodes of a grid lie inside: an odd number of crossings below them on a line along z.

    The lines are shifted by an irrational fraction of a step so that none meets an edge.
    """
    x, y, z = axes
    step = x[1] - x[0]
    x, y = x + step * 1e-4 * np.sqrt(2), y + step * 1e-4 * np.sqrt(3)
    crossings = np.zeros((len(x), len(y), len(z) + 1), dtype=int)
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    twice = (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]
    low, high = corners.min(axis=1), corners.max(axis=1)
    first = np.stack([np.searchsorted(x, low[:, 0]), np.searchsorted(y, low[:, 1])], axis=1)
    last = np.stack([np.searchsorted(x, high[:, 0]), np.searchsorted(y, high[:, 1])], axis=1)
    for t in np.flatnonzero((twice != 0) & np.all(last > first, axis=1)):
        i, j = np.meshgrid(np.arange(first[t, 0], last[t, 0]), np.arange(first[t, 1], last[t, 1]))
        u = (x[i] - a[t, 0]) * (c - a)[t, 1] - (y[j] - a[t, 1]) * (c - a)[t, 0]
        v = (b - a)[t, 0] * (y[j] - a[t, 1]) - (b - a)[t, 1] * (x[i] - a[t, 0])
        u, v = u / twice[t], v / twice[t]
        hit = (u >= 0) & (v >= 0) & (u + v <= 1)
        level = a[t, 2] + u * (b - a)[t, 2] + v * (c - a)[t, 2]
        np.add.at(crossings, (i[hit], j[hit], np.searchsorted(z, level[hit])), 1)
    return np.cumsum(crossings, axis=2)[:, :, :-1] % 2 == 1

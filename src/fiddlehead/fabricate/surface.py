"""Is a triangle surface printable: closed, oriented, free of self-intersections?"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import shapely
from jaxtyping import Float, Int

from fiddlehead.errors import InputError
from fiddlehead.fabricate.records import Part

TOUCH_MM = 1e-7
"""Triangles that pass each other by less only touch."""
PAIRS_AT_ONCE = 200_000


def surface_problems(part: Part) -> list[str]:
    """Everything that keeps a surface from bounding a solid, in plain words; empty when sound.

    Every edge must belong to exactly two triangles that run along it in opposite directions (3MF
    Core Specification 1.4.0, section 4.1.1); no triangle may be without area or pass through
    another; the volume must be positive.
    """
    found = []
    corners, triangles = part.vertices, part.triangles
    if len(triangles) == 0:
        return ["there are no triangles"]
    if not np.isfinite(corners).all():
        return ["vertices are not finite numbers"]
    edges = np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]])
    _, shared = np.unique(np.sort(edges, axis=1), axis=0, return_counts=True)
    if (shared != 2).any():
        open_edges, crowded = int((shared == 1).sum()), int((shared > 2).sum())
        found.append(f"not closed: {open_edges} edges with one triangle, {crowded} with over two")
    elif len(np.unique(edges, axis=0)) != len(edges):
        found.append("neighbouring triangles face opposite sides")
    elif part.volume_mm3 <= 0:
        found.append("turned inside out: its volume is not positive")
    a, b, c = np.moveaxis(part.corners, 1, 0)
    flat = np.linalg.norm(np.cross(b - a, c - a), axis=1) == 0.0
    if flat.any():
        found.append(f"{int(flat.sum())} triangles without area")
    crossing = crossing_triangles(part)
    if len(crossing):
        place = part.corners[crossing[0, 0]].mean(axis=0)
        found.append(
            f"{len(crossing)} pairs of triangles pass through each other, first near "
            f"x {place[0]:.2f}, y {place[1]:.2f}, z {place[2]:.2f} mm"
        )
    return found


def bodies(part: Part) -> int:
    """Number of shells that hang together by vertices."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    i, j = part.triangles[:, [0, 1]].ravel(), part.triangles[:, [1, 2]].ravel()
    used = np.unique(part.triangles)
    number = np.zeros(len(part.vertices), dtype=int)
    number[used] = np.arange(len(used))
    graph = coo_matrix((np.ones(len(i)), (number[i], number[j])), shape=(len(used), len(used)))
    return int(connected_components(graph, directed=False)[0])


def crossing_triangles(part: Part) -> Int[np.ndarray, "pair 2"]:
    """Pairs of triangles without a common vertex of which an edge of one pierces the other."""
    pairs = _near_pairs(part.corners)
    t = part.triangles
    shares = (t[pairs[:, 0]][:, :, None] == t[pairs[:, 1]][:, None, :]).any(axis=(1, 2))
    pairs = pairs[~shares]
    crossing = [
        chunk[_pierces(part.corners, chunk) | _pierces(part.corners, chunk[:, ::-1])]
        for chunk in np.array_split(pairs, max(1, len(pairs) // PAIRS_AT_ONCE + 1))
    ]
    return np.concatenate(crossing)


def _near_pairs(corners: Float[np.ndarray, "triangle 3 3"]) -> Int[np.ndarray, "pair 2"]:
    """Pairs (i < j) whose bounding boxes overlap."""
    low, high = corners.min(axis=1), corners.max(axis=1)
    boxes = shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1])
    first, second = shapely.STRtree(boxes).query(boxes)
    keep = first < second
    first, second = first[keep], second[keep]
    level = (low[first, 2] <= high[second, 2]) & (low[second, 2] <= high[first, 2])
    return np.stack([first[level], second[level]], axis=1)


def _pierces(
    corners: Float[np.ndarray, "triangle 3 3"], pairs: Int[np.ndarray, "pair 2"]
) -> np.ndarray:
    """Whether an edge of the first triangle of each pair passes through the second's inside.

    Signs of the volumes of tetrahedra (Segura and Feito, 2001): the edge's ends lie on both sides
    of the plane, and the edge passes all three sides of the triangle on the same hand.
    """
    one, two = corners[pairs[:, 0]], corners[pairs[:, 1]]
    a, b, c = np.moveaxis(two, 1, 0)
    hit = np.zeros(len(pairs), dtype=bool)
    normal = np.cross(b - a, c - a)
    size = np.linalg.norm(normal, axis=1)
    size[size == 0] = np.inf
    for k in range(3):
        p, q = one[:, k], one[:, (k + 1) % 3]
        above = np.einsum("ti,ti->t", p - a, normal) / size
        below = np.einsum("ti,ti->t", q - a, normal) / size
        passes = (above * below < 0) & (np.minimum(abs(above), abs(below)) > TOUCH_MM)
        sides = [
            np.einsum("ti,ti->t", q - p, np.cross(u - p, v - p))
            for u, v in ((a, b), (b, c), (c, a))
        ]
        limit = TOUCH_MM * np.linalg.norm(q - p, axis=1) * np.sqrt(np.where(size < 1e9, size, 0))
        inside = np.logical_or(
            np.all([s > limit for s in sides], axis=0), np.all([s < -limit for s in sides], axis=0)
        )
        hit |= passes & inside
    return hit


def read_stl(path: Path, name: str = "") -> Part:
    """Read an STL file (binary or text), corners that coincide joined.

    Raises
    ------
    InputError : there is no such file, it is no STL, or it bounds no solid
    """
    import trimesh

    if not path.is_file():
        raise InputError("there is no such file", where=str(path))
    _must_be_stl(path)
    try:
        with path.open("rb") as stream:
            mesh = trimesh.load_mesh(stream, file_type="stl", process=False)
        vertices, number = np.unique(np.asarray(mesh.vertices), axis=0, return_inverse=True)
        triangles = number.reshape(-1)[np.asarray(mesh.faces)]
    except Exception as error:  # readers of broken files fail in every way
        raise InputError(
            "this file cannot be read as STL",
            where=str(path),
            found=f"{path.stat().st_size} bytes",
            remedy="Export it again as binary STL in millimetres.",
        ) from error
    part = Part(name or path.stem, vertices, triangles)
    problems = surface_problems(part)
    if problems:
        raise InputError(
            "the surface bounds no solid: " + "; ".join(problems),
            where=str(path),
            remedy="Mend it where it was drawn and export it again.",
        )
    return part


def _must_be_stl(path: Path) -> None:
    """Binary: 80 bytes, a count, 50 bytes for each triangle. Text: ``solid`` and facets."""
    size = path.stat().st_size
    with path.open("rb") as stream:
        head = stream.read(1024)
    promised = int.from_bytes(head[80:84], "little") if size >= 84 else 0
    if promised and size == 84 + 50 * promised:
        return
    if head.lstrip().startswith(b"solid") and (b"facet" in head or size < len(head)):
        return
    if 84 < size < 84 + 50 * promised and promised < 1e8:
        raise InputError(
            "this STL file is cut off",
            where=str(path),
            found=f"{(size - 84) // 50} triangles",
            allowed=f"{promised}, as its header says",
            remedy="Copy or export it again.",
        )
    if size < 84 or size != 84 + 50 * promised:
        raise InputError(
            "this is no STL file",
            where=str(path),
            found=f"{size} bytes" if size else "an empty file",
            remedy="Export the part as binary STL in millimetres.",
        )

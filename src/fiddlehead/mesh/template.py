"""The mesh without its sizes: bricks, faces and node weights shared by all fingers of a layout."""

from __future__ import annotations

import dataclasses
from functools import lru_cache
from typing import Any

import numpy as np
from jaxtyping import Bool, Float, Int

from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.finger.profile import ProfileLayout
from fiddlehead.mesh.planar import PlanarGrid, planar_grid
from fiddlehead.mesh.settings import MeshSettings

FACE_SETS = ("cavity", "root", "tip", "symmetry", "underside", "outside", "void")
FACE_OF_EDGE = np.array([
    [e, (e + 1) % 4, (e + 1) % 4 + 4, e + 4, 8 + e, 16 + (e + 1) % 4, 12 + e, 16 + e]
    for e in range(4)
])  # fmt: skip
"""Local nodes of the face that stands on each planar edge, normal outwards."""
LOWER_FACE = np.array([0, 3, 2, 1, 11, 10, 9, 8])
UPPER_FACE = np.array([4, 5, 6, 7, 12, 13, 14, 15])


@dataclasses.dataclass(frozen=True, eq=False)
class MeshTemplate:
    """Everything about a mesh but its coordinates.

    A node lies at ``sum(planar_weights * vertices[planar_vertices])`` in the profile's plane and
    at ``sum(width_weights * stations[width_stations])`` across it. Compared and hashed by
    identity; equal requests give the same object, so it can key compiled programs.
    """

    layout: ProfileLayout
    settings: MeshSettings
    elements: Int[np.ndarray, "element 20"]
    element_region: Int[np.ndarray, " element"]
    region_names: tuple[str, ...]
    faces: dict[str, Int[np.ndarray, "face 8"]]
    void_loops: tuple[Int[np.ndarray, "_face 8"], ...]
    """The faces of the ``void`` set, one array for each opening of the pad, in order around it."""
    planar_vertices: Int[np.ndarray, "node 4"]
    planar_weights: Float[np.ndarray, "node 4"]
    width_stations: Int[np.ndarray, "node 2"]
    width_weights: Float[np.ndarray, "node 2"]

    @property
    def node_count(self) -> int:
        """Number of nodes."""
        return len(self.planar_vertices)

    def place(self, parameters: Any, xp: Any = np) -> Float[Any, "node 3"]:
        """Node coordinates, mm, for anything with the attributes of ``FingerParameters``.

        ``xp`` is ``numpy`` or ``jax.numpy``; the coordinates are smooth in the parameters
        but for a kink where a corner block of a thin flank stops shrinking (``finger.profile``).
        """
        vertices = self.layout.vertices(parameters, xp)
        stations = self.layout.width_stations(parameters, xp)
        plane = xp.sum(self.planar_weights[:, :, None] * vertices[self.planar_vertices], axis=1)
        width = xp.sum(self.width_weights * stations[self.width_stations], axis=1)
        return xp.concatenate([plane, width[:, None]], axis=1)

    def points(self, parameters: FingerParameters) -> Float[np.ndarray, "node 3"]:
        """Node coordinates of one finger, mm."""
        return np.asarray(self.place(parameters))


@lru_cache(maxsize=64)
def mesh_template(layout: ProfileLayout, settings: MeshSettings) -> MeshTemplate:
    """Extrude the divided profile into bricks and collect the face sets."""
    grid = planar_grid(layout, settings)
    layer_interval = np.repeat(
        np.arange(layout.interval_count), settings.layers(layout.narrow_channel)
    )
    open_intervals = np.array([layout.void_intervals(region) for region in layout.regions])
    solid = layer_interval[None, :] >= open_intervals[grid.cell_region][:, None]
    cell, layer = np.nonzero(solid)
    levels = 2 * len(layer_interval) + 1
    bricks = _bricks(grid, levels)
    elements = bricks[cell, layer]
    faces, loops = _faces(layout, grid, solid, bricks)

    used, compact = np.unique(elements, return_inverse=True)
    renumber = np.full(len(grid.vertices) * levels, -1)
    renumber[used] = np.arange(len(used))
    planar, level = np.divmod(used, levels)
    stations, station_weights = _levels(settings.layers(layout.narrow_channel))
    names, region_of = _names(layout, grid.cell_region[cell], layer_interval[layer])
    return MeshTemplate(
        layout=layout,
        settings=settings,
        elements=compact.reshape(elements.shape),
        element_region=region_of,
        region_names=names,
        faces={name: renumber[face] for name, face in faces.items()},
        void_loops=tuple(renumber[loop] for loop in loops),
        planar_vertices=grid.vertices[planar],
        planar_weights=grid.weights[planar],
        width_stations=stations[level],
        width_weights=station_weights[level],
    )


def _bricks(grid: PlanarGrid, levels: int) -> Int[np.ndarray, "cell layer 20"]:
    """Node numbers ``planar node * levels + level`` of every brick, void or solid."""
    low = np.arange(0, levels - 1, 2)[None, :, None]
    node = grid.cells[:, None, :] * levels
    lower, middle, upper = node + low, node[..., :4] + low + 1, node + low + 2
    return np.concatenate(
        [lower[..., :4], upper[..., :4], lower[..., 4:], upper[..., 4:], middle], axis=-1
    )


def _levels(
    layers: tuple[int, ...],
) -> tuple[Int[np.ndarray, "level 2"], Float[np.ndarray, "level 2"]]:
    """Width stations around each level and their weights; two levels per layer and one more."""
    stations, weights = [(0, 0)], [(1.0, 0.0)]
    for interval, count in enumerate(layers):
        for k in range(1, 2 * count + 1):
            share = k / (2 * count)
            stations.append((interval, interval + 1))
            weights.append((1 - share, share))
    return np.array(stations), np.array(weights)


def _names(
    layout: ProfileLayout,
    region: Int[np.ndarray, " element"],
    interval: Int[np.ndarray, " element"],
) -> tuple[tuple[str, ...], Int[np.ndarray, " element"]]:
    """Distinct place names and each element's index into them."""
    words = [layout.name(layout.regions[r], int(k)) for r, k in zip(region, interval, strict=True)]
    names = tuple(dict.fromkeys(words))
    index = {name: i for i, name in enumerate(names)}
    return names, np.array([index[word] for word in words])


def _faces(
    layout: ProfileLayout,
    grid: PlanarGrid,
    solid: Bool[np.ndarray, "cell layer"],
    bricks: Int[np.ndarray, "cell layer 20"],
) -> tuple[dict[str, Int[np.ndarray, "_face 8"]], list[Int[np.ndarray, "_face 8"]]]:
    """Faces between solid and void, the outer faces by where they lie, and those around each
    opening of the pad."""
    found: dict[str, list[np.ndarray]] = {name: [] for name in FACE_SETS}
    cells_at: dict[int, list[int]] = {}
    for cell, nodes in enumerate(grid.cells):
        for edge in nodes[4:]:
            cells_at.setdefault(int(edge), []).append(cell)

    around: dict[tuple[int, int], list[tuple[float, np.ndarray]]] = {}
    for cell, nodes in enumerate(grid.cells):
        corners = layout.regions[grid.cell_region[cell]].corners
        for e in range(4):
            standing = bricks[cell][:, FACE_OF_EDGE[e]]
            neighbours = [c for c in cells_at[int(nodes[4 + e])] if c != cell]
            start, end = corners[e], corners[(e + 1) % 4]
            if neighbours:
                found["cavity"].extend(standing[solid[cell] & ~solid[neighbours[0]]])
            elif (side := layout.boundary(start, end)) == "void":
                middle = nodes[4 + e]
                share = float(grid.weights[middle] @ (grid.vertices[middle] == end))
                around.setdefault((start, end), []).append((share, standing))
            else:
                found[side].extend(standing[solid[cell]])
        lower, upper = bricks[cell][:, LOWER_FACE], bricks[cell][:, UPPER_FACE]
        found["symmetry"].extend(lower[:1][solid[cell, :1]])
        found["outside"].extend(upper[-1:][solid[cell, -1:]])
        found["cavity"].extend(lower[1:][solid[cell, 1:] & ~solid[cell, :-1]])
    loops = []
    for loop in layout.void_loops:
        edges = [(loop[k], loop[(k + 1) % len(loop)]) for k in range(len(loop))]
        ordered = [s for edge in edges for _, s in sorted(around[edge], key=lambda place: place[0])]
        loops.append(np.concatenate(ordered))
        found["void"].extend(loops[-1])
    return {n: np.array(faces, dtype=int).reshape(-1, 8) for n, faces in found.items()}, loops

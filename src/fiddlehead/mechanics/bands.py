"""Cut a slender body into bands of nodes so that its tangent is block tridiagonal.

A node couples only to nodes of the elements it belongs to. Sort the nodes along the body and cut
them so that no element reaches beyond the next band: the tangent then has blocks on the diagonal
and beside it, and one dense elimination sweep solves it without any sparse package.
"""

from __future__ import annotations

import dataclasses

import numpy as np
from jaxtyping import Float, Int

from fiddlehead.errors import MeshError


@dataclasses.dataclass(frozen=True)
class Bands:
    """Where each node's unknowns stand: band number and place within the band."""

    band: Int[np.ndarray, " node"]
    place: Int[np.ndarray, " node"]
    count: int
    width: int
    """Nodes in the widest band; narrower ones are padded."""

    @property
    def cost(self) -> float:
        """Relative work of one elimination sweep."""
        return self.count * float(self.width) ** 3


def _from_levels(level: Int[np.ndarray, " node"]) -> Bands:
    sizes = np.bincount(level)
    order = np.argsort(level, kind="stable")
    starts = np.concatenate([[0], np.cumsum(sizes)[:-1]])
    place = np.empty_like(level)
    place[order] = np.arange(len(level)) - np.repeat(starts, sizes)
    return Bands(level, place, len(sizes), int(sizes.max()))


def _breadth_first(
    elements: Int[np.ndarray, "element node"], nodes: int, first: np.ndarray
) -> Bands:
    """Level structure: band k + 1 holds the nodes first reached from band k."""
    level = np.full(nodes, -1)
    level[first] = 0
    depth = 0
    while np.any(level < 0):
        reached = np.unique(elements[np.any(level[elements] == depth, axis=1)])
        fresh = reached[level[reached] < 0]
        if len(fresh) == 0:
            raise MeshError(
                "the mesh is in separate pieces",
                found=f"{int(np.sum(level < 0))} nodes not connected to the clamped end",
                remedy="Every element must hang together with the clamped face.",
            )
        level[fresh] = depth + 1
        depth += 1
    return _from_levels(level)


def _swept(elements: Int[np.ndarray, "element node"], along: np.ndarray, first: int) -> Bands:
    """Cut the nodes in the order of ``along``; each band ends where the one before it reaches."""
    nodes = len(along)
    rank = np.empty(nodes, dtype=int)
    rank[np.argsort(along, kind="stable")] = np.arange(nodes)
    ranked = rank[elements]
    reach = np.zeros(nodes, dtype=int)
    np.maximum.at(reach, ranked.ravel(), np.repeat(ranked.max(1), elements.shape[1]))
    reach = np.maximum.accumulate(reach)
    cuts = [0, first]
    while cuts[-1] < nodes:
        cuts.append(min(nodes, max(int(reach[cuts[-1] - 1]) + 1, cuts[-1] + 1)))
    level = np.searchsorted(np.array(cuts), rank, side="right") - 1
    return _from_levels(level)


def cut_into_bands(
    points: Float[np.ndarray, "node 3"], elements: Int[np.ndarray, "element 20"]
) -> Bands:
    """The cheapest of several cuts: level by level from the low-x end, or swept along x.

    Raises
    ------
    MeshError : elements that do not hang together
    """
    x = points[:, 0]
    first = np.flatnonzero(x <= x.min() + 1e-9 * max(1.0, float(np.ptp(x))))
    candidates = [_breadth_first(elements, len(points), first)]
    candidates += [_swept(elements, x, max(1, len(first) * k // 2)) for k in (1, 2, 3, 4)]
    return min(candidates, key=lambda bands: bands.cost)

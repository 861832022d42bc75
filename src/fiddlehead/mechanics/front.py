"""Order of elimination: a front of active nodes that sweeps along a slender body.

Cells enter one by one along the body. A node is active from the first step that touches it until
its last cell has entered; then its equations are eliminated and its slot in the front is free for
a node that comes later. The front therefore stays as small as the body's cross-section, and one
small dense matrix serves the whole elimination. Source: Irons (1970), A frontal solution program
for finite element analysis, IJNME 2, 5-32.
"""

from __future__ import annotations

import dataclasses
import heapq
from collections.abc import Sequence

import numpy as np
from jaxtyping import Float, Int
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from fiddlehead.errors import MeshError

NODES_PER_STEP = 32
SLOTS_ROUNDED_TO = 8
MOST_SEGMENTS = 3
WORTH_A_SEGMENT = 0.08
"""Least saving, of the whole sweep, for which the front changes its size once more."""


@dataclasses.dataclass(frozen=True)
class Segment:
    """A run of steps that share one size of the front."""

    first: int
    stop: int
    slots: int


@dataclasses.dataclass(frozen=True)
class Front:
    """When each node is eliminated (step, place within it) and which slot it holds until then."""

    step: Int[np.ndarray, " node"]
    place: Int[np.ndarray, " node"]
    slot: Int[np.ndarray, " node"]
    slots: Int[np.ndarray, "step place"]
    """Slot of every place; places left over in the last step hold slots nobody uses."""
    segments: tuple[Segment, ...]

    @property
    def cost(self) -> float:
        """Relative work of one elimination."""
        width = self.slots.shape[1]
        return float(sum((s.stop - s.first) * width * s.slots**2 for s in self.segments))


def plan_front(
    along: Float[np.ndarray, " nodes"],
    cells: Sequence[Int[np.ndarray, "_ _"]],
    nodes_per_step: int = NODES_PER_STEP,
) -> Front:
    """The cheaper of the sweeps in both directions.

    Parameters
    ----------
    along : coordinate of every node along the body
    cells : groups of nodes whose equations are coupled (elements, pairs of faces in contact),
        each (cell, node)

    Raises
    ------
    MeshError : cells that do not hang together
    """
    node = np.concatenate([c.ravel() for c in cells])
    cell = np.concatenate(
        [
            np.repeat(np.arange(len(c)), c.shape[1]) + start
            for c, start in zip(cells, np.cumsum([0, *map(len, cells)]), strict=False)
        ]
    )
    _refuse_pieces(node, cell, len(along))
    middle = np.bincount(cell, along[node]) / np.bincount(cell)
    # rounded, so that cells in one cross-section are not told apart by round-off
    middle = np.round(middle, 9)
    sweeps = [_sweep(node, cell, len(along), key, nodes_per_step) for key in (middle, -middle)]
    return min(sweeps, key=lambda front: front.cost)


def _refuse_pieces(node: np.ndarray, cell: np.ndarray, nodes: int) -> None:
    joined = coo_matrix(
        (np.ones(len(node)), (node, nodes + cell)), shape=(nodes + cell.max() + 1,) * 2
    )
    pieces, label = connected_components(joined, directed=False)
    if pieces > 1:
        stray = int(np.sum(label[:nodes] != label[node[0]]))
        raise MeshError(
            "the mesh is in separate pieces",
            found=f"{stray} of {nodes} nodes not connected to the rest",
            remedy="Every element must hang together with the clamped face.",
        )


def _sweep(
    node: np.ndarray, cell: np.ndarray, nodes: int, key: np.ndarray, nodes_per_step: int
) -> Front:
    entry = np.empty(len(key), dtype=int)
    entry[np.argsort(key, kind="stable")] = np.arange(len(key))
    last = np.zeros(nodes, dtype=int)
    np.maximum.at(last, node, entry[cell])
    rank = np.empty(nodes, dtype=int)
    rank[np.argsort(last, kind="stable")] = np.arange(nodes)
    width = min(nodes_per_step, nodes)
    step, place = rank // width, rank % width
    # a node is touched by the first step that eliminates one of its neighbours
    cell_start = np.full(len(key), nodes)
    np.minimum.at(cell_start, cell, step[node])
    first = np.full(nodes, nodes)
    np.minimum.at(first, node, cell_start[cell])
    slot, used = _allot(first, step, rank)
    used = np.maximum(used, width)
    segments = _segments(-(-used // SLOTS_ROUNDED_TO) * SLOTS_ROUNDED_TO)
    slots = np.full((len(used), width), -1)
    slots[step, place] = slot
    spare = np.setdiff1d(np.arange(segments[-1].slots), slots[-1])
    slots[-1, slots[-1] < 0] = spare[: np.sum(slots[-1] < 0)]
    return Front(step, place, slot, slots, segments)


def _allot(
    first: np.ndarray, step: np.ndarray, rank: np.ndarray
) -> tuple[Int[np.ndarray, " node"], Int[np.ndarray, " step"]]:
    """Lowest free slot for every node, and how many slots each step needs."""
    steps = int(step.max()) + 1
    slot = np.empty(len(step), dtype=int)
    used = np.zeros(steps, dtype=int)
    arriving = np.split(np.lexsort((rank, first)), np.cumsum(np.bincount(first, minlength=steps)))
    leaving = np.split(np.argsort(step, kind="stable"), np.cumsum(np.bincount(step)))
    free: list[int] = []
    busy: set[int] = set()
    for k in range(steps):
        for new in arriving[k]:
            slot[new] = heapq.heappop(free) if free else len(busy)
            busy.add(int(slot[new]))
        used[k] = max(busy) + 1
        for done in leaving[k]:
            busy.discard(int(slot[done]))
            heapq.heappush(free, int(slot[done]))
    return slot, used


def _segments(used: Int[np.ndarray, " step"]) -> tuple[Segment, ...]:
    """Cut the sweep into few runs of one size each, so that little is padded."""
    steps = len(used)
    # cost[i] of one run from step i to the end; then of two runs, of three
    best = [_run_costs(used, steps)]
    cut = [np.full(steps, steps)]
    for _ in range(MOST_SEGMENTS - 1):
        cost, where = best[-1].copy(), cut[-1].copy()
        for i in range(steps - 1):
            stops = np.arange(i + 1, steps)
            runs = np.maximum.accumulate(used[i:-1]).astype(float) ** 2 * (stops - i)
            total = runs + best[-1][i + 1 :]
            k = int(np.argmin(total))
            if total[k] < cost[i] - WORTH_A_SEGMENT * best[0][0]:
                cost[i], where[i] = total[k], stops[k]
        best.append(cost)
        cut.append(where)
    segments, start = [], 0
    for where in reversed(cut):
        stop = int(where[start])
        segments.append(Segment(start, stop, int(used[start:stop].max())))
        start = stop
        if start == steps:
            break
    return tuple(segments)


def _run_costs(used: np.ndarray, steps: int) -> np.ndarray:
    from_here = np.maximum.accumulate(used[::-1])[::-1].astype(float)
    return from_here**2 * (steps - np.arange(steps))

"""Which dot is which mark: the root group by its shape, then along the finger to the tip."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from jaxtyping import Float, Int

from fiddlehead.bench.photos.layout import angle_of, rigid
from fiddlehead.bench.photos.records import Setup

SHAPE = 0.06
"""Relative tolerance of the distances within a group of marks."""
STRETCH = (0.75, 1.4)
"""A piece of the finger between two marks may shorten or stretch so much."""
TURN_DEG = 40.0
"""Largest unforeseen turn from one piece to the next."""


class Match(NamedTuple):
    """Candidate number of each mark in the order root, path, tip (-1 where none), and its worth."""

    number: Int[np.ndarray, " mark"]
    residual: float
    """Root mean square of the root and tip groups about their drawn shapes, mm."""
    scale: float
    """Measured over drawn distances in the root group."""
    ambiguous: bool

    @property
    def found(self) -> int:
        """How many marks were found."""
        return int((self.number >= 0).sum())


def match_marks(
    candidates: Float[np.ndarray, "dot 2"], setup: Setup, *, scale: tuple[float, float]
) -> Match | None:
    """Best assignment of candidates (y up) to marks; None where even the root group is not seen.

    Parameters
    ----------
    scale : smallest and largest ratio of candidate distances to drawn ones
    """
    matches = [
        match
        for root in _congruent(candidates, setup.root, scale)
        if (match := _follow(candidates, setup, root)) is not None
    ]
    if not matches:
        return None
    matches.sort(key=lambda match: (-match.found, match.residual))
    best = matches[0]
    rivals = [
        match
        for match in matches[1:]
        if match.found == best.found
        and match.residual < 2.0 * best.residual + 0.1
        and (match.number != best.number).any()
    ]
    return best._replace(ambiguous=best.ambiguous or bool(rivals))


def _congruent(
    candidates: Float[np.ndarray, "dot 2"],
    group: Float[np.ndarray, "mark 2"],
    scale: tuple[float, float],
) -> list[Int[np.ndarray, " mark"]]:
    """Ordered choices of candidates with the shape of ``group``, not mirrored."""
    count = len(candidates)
    if count < len(group):
        return []
    apart = np.linalg.norm(candidates[:, None] - candidates[None], axis=-1)
    first = np.linalg.norm(group[1] - group[0])
    ratio = apart / first
    starts = np.argwhere((ratio >= scale[0]) & (ratio <= scale[1]))
    found = []
    for pair in starts:
        chosen = list(pair)
        size = ratio[pair[0], pair[1]]
        for extra in range(2, len(group)):
            wish = _carried(group[: len(chosen)], candidates[chosen], group[extra])
            off = np.linalg.norm(candidates - wish, axis=1)
            nearest = int(np.argmin(off))
            if off[nearest] > SHAPE * size * first or nearest in chosen:
                break
            chosen.append(nearest)
        if len(chosen) == len(group):
            found.append(np.array(chosen))
    return found


def _carried(
    drawn: Float[np.ndarray, "mark 2"],
    placed: Float[np.ndarray, "mark 2"],
    point: Float[np.ndarray, "2"],
) -> Float[np.ndarray, "2"]:
    """Where a drawn point lies after turn, shift and scale of its group."""
    size = _size(placed) / _size(drawn)
    turn, shift = rigid(size * drawn, placed)
    return turn @ (size * point) + shift


def _size(points: Float[np.ndarray, "mark 2"]) -> float:
    return float(np.sqrt(((points - points.mean(0)) ** 2).sum()))


def _follow(
    candidates: Float[np.ndarray, "dot 2"], setup: Setup, root: Int[np.ndarray, " mark"]
) -> Match | None:
    """Walk from the root group mark by mark; marks not seen are stepped over."""
    scale = _size(candidates[root]) / _size(setup.root)
    turn, _ = rigid(scale * setup.root, candidates[root])
    chain = np.concatenate([setup.path, setup.tip[:1]])
    number = np.full(len(setup.marks), -1)
    number[: len(root)] = root
    taken = set(root.tolist())
    last = int(np.argmax(setup.root @ _axis(setup)))
    place, drawn_place = candidates[root[last]], setup.root[last]
    start = angle_of(turn)
    heading, bend, ambiguous, length = start, 0.0, False, 0.0
    for step, drawn in enumerate(chain):
        piece = drawn - drawn_place
        reach = scale * float(np.linalg.norm(piece))
        drawn_angle = float(np.degrees(np.arctan2(piece[1], piece[0])))
        share = 0.5 * (reach + length) / length if length else 1.0
        chosen, unsure = _next(
            candidates, taken, place, reach, drawn_angle + heading + bend * share
        )
        ambiguous |= unsure
        if chosen < 0:
            continue
        number[len(root) + step] = chosen
        taken.add(chosen)
        away = candidates[chosen] - place
        now = float(np.degrees(np.arctan2(away[1], away[0]))) - drawn_angle
        now = heading + float(_wrap(np.array([now - heading]))[0])
        bend, heading, length = now - heading, now, reach
        place, drawn_place = candidates[chosen], drawn
    first = len(root) + len(setup.path)
    if number[first] >= 0 and len(setup.tip) > 1:
        _tip_group(candidates, setup, number, first, scale, heading + 0.5 * bend, taken)
    return Match(number, _residual(candidates, setup, number, scale), scale, ambiguous)


def _axis(setup: Setup) -> Float[np.ndarray, "2"]:
    """Along the finger from root to tip, in the drawing."""
    return np.array([1.0 if setup.tip_point[0] >= 0 else -1.0, 0.0])


def _next(
    candidates: Float[np.ndarray, "dot 2"],
    taken: set[int],
    place: Float[np.ndarray, "2"],
    reach: float,
    direction_deg: float,
) -> tuple[int, bool]:
    """The most likely next candidate (-1 for none) and whether another is as likely."""
    away = candidates - place
    far = np.linalg.norm(away, axis=1) / reach
    off = np.degrees(np.arctan2(away[:, 1], away[:, 0])) - direction_deg
    off = _wrap(off)
    cost = ((far - 1.05) / 0.15) ** 2 + (off / 12.0) ** 2
    allowed = (far > STRETCH[0]) & (far < STRETCH[1]) & (np.abs(off) < TURN_DEG)
    allowed[list(taken)] = False
    cost = np.where(allowed, cost, np.inf)
    order = np.argsort(cost)
    if not len(order) or not np.isfinite(cost[order[0]]):
        return -1, False
    close = len(order) > 1 and cost[order[1]] < cost[order[0]] + 0.5
    return int(order[0]), bool(close)


def _wrap(angle: Float[np.ndarray, " dot"]) -> Float[np.ndarray, " dot"]:
    return (angle + 180.0) % 360.0 - 180.0


def _tip_group(
    candidates: Float[np.ndarray, "dot 2"],
    setup: Setup,
    number: Int[np.ndarray, " mark"],
    first: int,
    scale: float,
    heading_deg: float,
    taken: set[int],
) -> None:
    """Find the other marks of the tip block around its first one."""
    a = np.radians(heading_deg)
    turn = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])
    place = candidates[number[first]]
    for extra in range(1, len(setup.tip)):
        arm = scale * (setup.tip[extra] - setup.tip[0])
        reach = float(np.linalg.norm(arm))
        wish = turn @ arm
        away = candidates - place
        far = np.linalg.norm(away, axis=1) / reach
        cross = wish[0] * away[:, 1] - wish[1] * away[:, 0]
        off = np.degrees(np.arctan2(cross, away @ wish))
        allowed = (np.abs(far - 1.0) < 2.0 * SHAPE) & (np.abs(off) < TURN_DEG)
        allowed[list(taken)] = False
        if allowed.any():
            cost = np.where(allowed, np.abs(off), np.inf)
            number[first + extra] = int(np.argmin(cost))
            taken.add(number[first + extra])


def _residual(
    candidates: Float[np.ndarray, "dot 2"],
    setup: Setup,
    number: Int[np.ndarray, " mark"],
    scale: float,
) -> float:
    """Root mean square distance of both groups from their drawn shapes, drawn mm."""
    total, count = 0.0, 0
    roots = len(setup.root)
    groups = ((setup.root, number[:roots]), (setup.tip, number[roots + len(setup.path) :]))
    for drawn, chosen in groups:
        if (chosen < 0).any() or len(drawn) < 2:
            continue
        turn, shift = rigid(scale * drawn, candidates[chosen])
        off = (candidates[chosen] - (scale * drawn @ turn.T + shift)) / scale
        total, count = total + float((off**2).sum()), count + len(drawn)
    return float(np.sqrt(total / count)) if count else np.inf

r"""Re-entrant and hexagonal cells: chains of slanted struts, joined by upright ones.

Chain ``k`` runs along the pad and zigzags over nodes ``j = 0, 1, ...``, half a cell apart; its
ends merge with the end walls. Uprights stand between chains ``k`` and ``k + 1`` (or a skin) where
``j - k`` is even, so every inner node has one. With the same joints, cells are hexagonal when the
nodes lie towards their uprights, re-entrant when they lie away from them.

    skin  ====+=========+====
              |         |          uprights of row 0
             / \       / \
    chain 1     \     /            a node: p, m, q on the upright, r on the far side,
                 \   /             cl and cr where the joint's blocks end
                   |               uprights of row 1
    skin  =========+=========
"""

from __future__ import annotations

import dataclasses
from collections.abc import Hashable

from fiddlehead.finger.pad.lengths import ZERO, Length, named
from fiddlehead.finger.pad.sheet import (
    END_WALL,
    START,
    Foot,
    Joint,
    Sheet,
    SkinLine,
    draw_wall,
    with_walls,
)

HALF, ROW, RISE, T = named("cell half"), named("cell row"), named("cell rise"), named("strut")
NEAR, FAR = named("joint near"), named("joint far")
CUT_ALONG, CUT_ACROSS = named("cut along"), named("cut across")
WALL_RISE, TOP = named("wall rise"), named("cells top")
LEFT, MIDDLE, RIGHT = range(3)


JOINT_QUADS = (("p", "cl", "r", "m"), ("m", "r", "cr", "q"))
"""The two blocks of a joint whose upright goes up, counter-clockwise."""


def joint(up: bool) -> dict[str, tuple[Length, Length]]:
    """Vertices of a joint as seen from its ideal node; ``up`` tells where its upright goes."""
    sign = 1.0 if up else -1.0
    near, across = sign * NEAR, sign * CUT_ACROSS
    return {
        "p": (-0.5 * T, near),
        "m": (ZERO, near),
        "q": (0.5 * T, near),
        "r": (ZERO, -sign * FAR),
        "cl": (-CUT_ALONG, across),
        "cr": (CUT_ALONG, across),
    }


def cut_name(up: bool, *, right: bool, high: bool) -> str:
    """Vertex of a joint where the slanted strut on one side begins, above or below."""
    if high == up:
        return "q" if right else "p"
    return "cr" if right else "cl"


@dataclasses.dataclass(frozen=True)
class Honeycomb:
    """``count`` cells along, ``rows`` chains through the depth."""

    count: int
    rows: int

    @property
    def last(self) -> int:
        """Number of the node in the end wall at the tip."""
        return 2 * self.count

    def uprights(self, row: int) -> range:
        """Nodes with an upright below chain ``row`` (row 0: below the upper skin)."""
        return range(2 if row % 2 == 0 else 1, self.last, 2)

    def feet(self, *, lower: bool) -> tuple[Foot, ...]:
        """Feet on the skin above or below, end walls included."""
        found = []
        for j in self.uprights(self.rows if lower else 0):
            x = _x(j)
            found.append(Foot(j / self.last, (x - 0.5 * T, x, x + 0.5 * T)))
        return with_walls(found)

    def draw(self, sheet: Sheet, upper: SkinLine, lower: SkinLine) -> None:
        """Draw walls, nodes, slanted struts and uprights."""
        for side, j in (("root", 0), ("tip", self.last)):
            joints = [self._wall_joint(side, k, j) for k in range(1, self.rows + 1)]
            draw_wall(sheet, side, upper, lower, joints, "cells")
        for k in range(1, self.rows + 1):
            for j in range(1, self.last):
                self._node(sheet, k, j)
            for j in range(self.last):
                self._slanted(sheet, k, j)
        for row in range(self.rows + 1):
            for number, j in enumerate(self.uprights(row), 1):
                self._upright(sheet, row, j, number, upper, lower)

    def _up(self, k: int, j: int) -> bool:
        """Whether the upright of a node goes up (to the skin above, or to the chain above)."""
        return (j - k) % 2 == 1

    def _y(self, k: int, j: int) -> Length:
        """y of an ideal node."""
        return TOP - (k - 0.5) * ROW + (1.0 if self._up(k, j) else -1.0) * RISE

    def _wall_joint(self, side: str, k: int, j: int) -> Joint:
        """Where a chain's end meets the inner side of an end wall."""
        y = self._y(k, j) - (1.0 if self._up(k, j) else -1.0) * WALL_RISE
        return Joint(((side, k, "high"), (side, k, "low")), (y + FAR, y - FAR))

    def _node(self, sheet: Sheet, k: int, j: int) -> None:
        up = self._up(k, j)
        for name, (dx, dy) in joint(up).items():
            sheet.mark((k, j, name), _x(j) + dx, self._y(k, j) + dy)
        for corners in JOINT_QUADS:
            named_corners = [(k, j, name) for name in corners]
            edges = ("column", "column")
            sheet.quad(f"joint {j} of chain {k}", named_corners, edges, mirrored=not up)

    def _cut(self, k: int, j: int, *, right: bool, high: bool) -> Hashable:
        """Vertex where the slanted strut beside a node begins, on its upper or lower side."""
        if j in (0, self.last):
            return ("root" if j == 0 else "tip", k, "high" if high else "low")
        return (k, j, cut_name(self._up(k, j), right=right, high=high))

    def _slanted(self, sheet: Sheet, k: int, j: int) -> None:
        corners = [
            self._cut(k, j, right=True, high=False),
            self._cut(k, j + 1, right=False, high=False),
            self._cut(k, j + 1, right=False, high=True),
            self._cut(k, j, right=True, high=True),
        ]
        sheet.quad(f"slanted strut {j + 1} of chain {k}", corners, ("strut", "column"))

    def _upright(
        self, sheet: Sheet, row: int, j: int, foot: int, upper: SkinLine, lower: SkinLine
    ) -> None:
        high: list[Hashable] = [upper.at(foot, k) for k in range(3)]
        low: list[Hashable] = [lower.at(foot, k) for k in range(3)]
        if row > 0:
            high = [(row, j, name) for name in "pmq"]
        if row < self.rows:
            low = [(row + 1, j, name) for name in "pmq"]
        place = f"upright strut {foot} of row {row + 1}"
        for left, right in ((LEFT, MIDDLE), (MIDDLE, RIGHT)):
            corners = [low[left], low[right], high[right], high[left]]
            sheet.quad(place, corners, ("column", "strut"))


def _x(j: int) -> Length:
    """x of a node: node 0 and the last lie in the middle of the end walls."""
    return START + 0.5 * END_WALL + float(j) * HALF

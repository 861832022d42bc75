"""Rotating squares: squares turned against each other, joined by narrow necks at their corners."""

from __future__ import annotations

import dataclasses
from collections.abc import Hashable, Sequence

from fiddlehead.finger.pad.lengths import Length, between, named
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

WIDTH, ROW, NECK, TOP = named("square"), named("cell row"), named("strut"), named("cells top")
ALONG, ACROSS = named("hinge along"), named("hinge across")


@dataclasses.dataclass(frozen=True)
class RotatingSquares:
    """``count`` squares along, ``rows`` through the depth."""

    count: int
    rows: int

    def feet(self, *, lower: bool) -> tuple[Foot, ...]:
        """Feet on the skin above or below, end walls included."""
        found = []
        for i in range(self.count):
            x = self.upright_hinge(i, self.rows if lower else 0)[0]
            borders = (x - 0.5 * NECK, x, x + 0.5 * NECK)
            found.append(Foot((i + 0.5) / self.count, borders))
        return with_walls(found)

    def draw(self, sheet: Sheet, upper: SkinLine, lower: SkinLine) -> None:
        """Draw walls, necks and squares."""
        for side, i in (("root", 0), ("tip", self.count)):
            joints = []
            for k in range(self.rows):
                y = self.level_hinge(i, k)[1]
                names = tuple(("level", i, k, part) for part in range(3))
                joints.append(Joint(names, (y + 0.5 * NECK, y, y - 0.5 * NECK)))
            draw_wall(sheet, side, upper, lower, joints, "cells")
        for k in range(self.rows):
            for i in range(1, self.count):
                x, y = self.level_hinge(i, k)
                for part, dy in enumerate((0.5, 0.0, -0.5)):
                    sheet.mark(("level", i, k, part), x, y + dy * NECK)
        for k in range(1, self.rows):
            for i in range(self.count):
                x, y = self.upright_hinge(i, k)
                for part, dx in enumerate((-0.5, 0.0, 0.5)):
                    sheet.mark(("upright", i, k, part), x + dx * NECK, y)
        for k in range(self.rows):
            for i in range(self.count):
                self._square(sheet, i, k, upper, lower)

    def _sign(self, i: int, k: int) -> float:
        return 1.0 if (i + k) % 2 == 0 else -1.0

    def middle(self, i: int, k: int) -> tuple[Length, Length]:
        """Middle of a square."""
        return START + END_WALL + (i + 0.5) * WIDTH, TOP - (k + 0.5) * ROW

    def level_hinge(self, i: int, k: int) -> tuple[Length, Length]:
        """Corner between squares ``i - 1`` and ``i`` of row ``k``, or at an end wall."""
        y = TOP - (k + 0.5) * ROW - self._sign(i, k) * ACROSS
        return START + END_WALL + float(i) * WIDTH, y

    def upright_hinge(self, i: int, k: int) -> tuple[Length, Length]:
        """Corner between square ``i`` of rows ``k - 1`` and ``k``, or at a skin."""
        x = START + END_WALL + (i + 0.5) * WIDTH - self._sign(i, k) * ALONG
        return x, TOP - float(k) * ROW

    def sides(self, i: int, k: int) -> list[tuple[Length, Length]]:
        """Middles of a square's sides between its necks, counter-clockwise after the right one."""
        ends = [
            self.level_hinge(i + 1, k),
            self.upright_hinge(i, k),
            self.level_hinge(i, k),
            self.upright_hinge(i, k + 1),
        ]
        turns = [(0.0, 1.0), (-1.0, 0.0), (0.0, -1.0), (1.0, 0.0)]  # ahead along each neck
        found = []
        for h in range(4):
            (x0, y0), (x1, y1) = ends[h], ends[(h + 1) % 4]
            (dx0, dy0), (dx1, dy1) = turns[h], turns[(h + 1) % 4]
            x = between(x0 + 0.5 * dx0 * NECK, x1 - 0.5 * dx1 * NECK, 0.5)
            found.append((x, between(y0 + 0.5 * dy0 * NECK, y1 - 0.5 * dy1 * NECK, 0.5)))
        return found

    def _square(self, sheet: Sheet, i: int, k: int, upper: SkinLine, lower: SkinLine) -> None:
        """Eight quadrilaterals around the middle, two to each neck."""

        def upright(row: int) -> list[Hashable]:
            if row in (0, self.rows):
                line = upper if row == 0 else lower
                return [line.at(i + 1, part) for part in range(3)]
            return [("upright", i, row, part) for part in range(3)]

        level = [[("level", side, k, part) for part in range(3)] for side in (i, i + 1)]
        necks: list[list[Hashable]] = [  # counter-clockwise, from the right
            list(reversed(level[1])),
            list(reversed(upright(k))),
            list(level[0]),
            upright(k + 1),
        ]
        sheet.mark(("middle", i, k), *self.middle(i, k))
        for h, (x, y) in enumerate(self.sides(i, k)):
            sheet.mark(("side", i, k, h), x, y)
        for corners, edges in eight(("middle", i, k), necks, [("side", i, k, h) for h in range(4)]):
            sheet.quad(f"square {i + 1} of row {k + 1}", corners, edges)


def eight(
    middle: Hashable, necks: Sequence[Sequence[Hashable]], sides: Sequence[Hashable]
) -> list[tuple[list[Hashable], tuple[str, str]]]:
    """Corners and edges of the eight quadrilaterals of a square.

    Parameters
    ----------
    middle : name of its middle
    necks : names of the three vertices of each neck, all counter-clockwise from the right
    sides : names of the middles of the sides, each after its neck
    """
    found: list[tuple[list[Hashable], tuple[str, str]]] = []
    for h, (behind, neck, ahead) in enumerate(necks):
        found.append(([middle, sides[h - 1], behind, neck], ("column", "strut")))
        found.append(([middle, neck, ahead, sides[h]], ("strut", "column")))
    return found

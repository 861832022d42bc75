"""Rotating squares: squares turned against each other, joined by narrow necks at their corners."""

from __future__ import annotations

import dataclasses
from collections.abc import Hashable

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
            x = self._upright_hinge(i, self.rows if lower else 0)[0]
            borders = (x - 0.5 * NECK, x, x + 0.5 * NECK)
            found.append(Foot((i + 0.5) / self.count, borders))
        return with_walls(found)

    def draw(self, sheet: Sheet, upper: SkinLine, lower: SkinLine) -> None:
        """Draw walls, necks and squares."""
        for side, i in (("root", 0), ("tip", self.count)):
            joints = []
            for k in range(self.rows):
                y = self._level_hinge(i, k)[1]
                names = tuple(("level", i, k, part) for part in range(3))
                joints.append(Joint(names, (y + 0.5 * NECK, y, y - 0.5 * NECK)))
            draw_wall(sheet, side, upper, lower, joints, "cells")
        for k in range(self.rows):
            for i in range(1, self.count):
                x, y = self._level_hinge(i, k)
                for part, dy in enumerate((0.5, 0.0, -0.5)):
                    sheet.mark(("level", i, k, part), x, y + dy * NECK)
        for k in range(1, self.rows):
            for i in range(self.count):
                x, y = self._upright_hinge(i, k)
                for part, dx in enumerate((-0.5, 0.0, 0.5)):
                    sheet.mark(("upright", i, k, part), x + dx * NECK, y)
        for k in range(self.rows):
            for i in range(self.count):
                self._square(sheet, i, k, upper, lower)

    def _sign(self, i: int, k: int) -> float:
        return 1.0 if (i + k) % 2 == 0 else -1.0

    def _middle(self, i: int, k: int) -> tuple[Length, Length]:
        return START + END_WALL + (i + 0.5) * WIDTH, TOP - (k + 0.5) * ROW

    def _level_hinge(self, i: int, k: int) -> tuple[Length, Length]:
        """Corner between squares ``i - 1`` and ``i`` of row ``k``, or at an end wall."""
        y = TOP - (k + 0.5) * ROW - self._sign(i, k) * ACROSS
        return START + END_WALL + float(i) * WIDTH, y

    def _upright_hinge(self, i: int, k: int) -> tuple[Length, Length]:
        """Corner between square ``i`` of rows ``k - 1`` and ``k``, or at a skin."""
        x = START + END_WALL + (i + 0.5) * WIDTH - self._sign(i, k) * ALONG
        return x, TOP - float(k) * ROW

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
        place = f"square {i + 1} of row {k + 1}"
        middle = ("middle", i, k)
        sheet.mark(middle, *self._middle(i, k))
        ends = [
            self._level_hinge(i + 1, k),
            self._upright_hinge(i, k),
            self._level_hinge(i, k),
            self._upright_hinge(i, k + 1),
        ]
        half = 0.5 * NECK
        turns = [(0.0, 1.0), (-1.0, 0.0), (0.0, -1.0), (1.0, 0.0)]  # ahead along each neck
        for h in range(4):
            (x0, y0), (x1, y1) = ends[h], ends[(h + 1) % 4]
            (dx0, dy0), (dx1, dy1) = turns[h], turns[(h + 1) % 4]
            x = between(x0 + dx0 * half, x1 - dx1 * half, 0.5)
            y = between(y0 + dy0 * half, y1 - dy1 * half, 0.5)
            sheet.mark(("side", i, k, h), x, y)
        for h, (behind, neck, ahead) in enumerate(necks):
            before, after = ("side", i, k, (h - 1) % 4), ("side", i, k, h)
            sheet.quad(place, [middle, before, behind, neck], ("column", "strut"))
            sheet.quad(place, [middle, neck, ahead, after], ("strut", "column"))

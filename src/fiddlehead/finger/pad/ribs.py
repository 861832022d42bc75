"""Compliant ribs: parallel beams between two skins."""

from __future__ import annotations

import dataclasses

from fiddlehead.finger.pad.lengths import between, named
from fiddlehead.finger.pad.sheet import START, Foot, Sheet, SkinLine, draw_wall, with_walls

FOOT, GAP, LEAN = named("rib foot"), named("rib gap"), named("rib lean")
FIRST = START + named("rib first")


@dataclasses.dataclass(frozen=True)
class Ribs:
    """``count`` ribs that lean by ``lean_fifths`` fifths of their spacing from one skin to the
    other; ``across`` columns through each."""

    count: int
    lean_fifths: int
    across: int

    def feet(self, *, lower: bool) -> tuple[Foot, ...]:
        """Feet on the skin above or below, end walls included."""
        steps = self.lean_fifths / 5 / (self.count + 1)
        lean = steps / (1 + abs(steps))  # share of the pad's length
        shift = max(-lean, 0.0) + (lean if lower else 0.0)
        found = []
        for i in range(self.count):
            left = FIRST + float(i) * (FOOT + GAP)
            if lower:
                left = left + LEAN
            place = (i + 1) / (self.count + 1) * (1 - abs(lean)) + shift
            borders = [between(left, left + FOOT, k / self.across) for k in range(self.across + 1)]
            found.append(Foot(place, tuple(borders)))
        return with_walls(found)

    def draw(self, sheet: Sheet, upper: SkinLine, lower: SkinLine) -> None:
        """Draw the ribs and the end walls beside them."""
        for side in ("root", "tip"):
            draw_wall(sheet, side, upper, lower, (), "ribs")
        for i in range(1, self.count + 1):
            for k in range(self.across):
                corners = [lower.at(i, k), lower.at(i, k + 1), upper.at(i, k + 1), upper.at(i, k)]
                sheet.quad(f"rib {i}", corners, ("column", "strut"))

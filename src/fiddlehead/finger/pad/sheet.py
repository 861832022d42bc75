"""What the pad is drawn on: named vertices, and quadrilaterals between them."""

from __future__ import annotations

import dataclasses
from collections.abc import Hashable, Sequence
from itertools import pairwise

from fiddlehead.finger.pad.lengths import Length, between, named
from fiddlehead.finger.regions import Place, Region

START, END, END_WALL = named("start"), named("end"), named("end wall")


@dataclasses.dataclass(frozen=True)
class Foot:
    """Where something stands on a skin: the borders of its columns along x, and its middle as a
    share of the pad's length by counts alone."""

    place: float
    borders: tuple[Length, ...]

    @property
    def width(self) -> int:
        """Number of columns it takes."""
        return len(self.borders) - 1


def with_walls(feet: Sequence[Foot]) -> tuple[Foot, ...]:
    """The feet between those of the two end walls."""
    first = Foot(0.0, (START, START + END_WALL))
    return (first, *feet, Foot(1.0, (END - END_WALL, END)))


@dataclasses.dataclass(frozen=True)
class SkinLine:
    """One face of a skin: its vertices from the root to the tip.

    ``starts`` holds the first column of every foot on it, end walls included.
    """

    name: str
    y: Length
    x: tuple[Length, ...]
    starts: tuple[int, ...]

    def at(self, foot: int, border: int) -> Hashable:
        """Name of the vertex at a border of a foot's columns."""
        return (self.name, self.starts[foot] + border)


def line_under(
    name: str, y: Length, feet: Sequence[Foot], starts: tuple[int, ...], columns: int
) -> SkinLine:
    """Vertices at the borders of the feet, and evenly in the gaps between them."""
    x: dict[int, Length] = {}
    for foot, start in zip(feet, starts, strict=True):
        x |= {start + k: border for k, border in enumerate(foot.borders)}
    known = sorted(x)
    for left, right in pairwise(known):
        for k in range(left + 1, right):
            x[k] = between(x[left], x[right], (k - left) / (right - left))
    return SkinLine(name, y, tuple(x[k] for k in range(columns + 1)), starts)


@dataclasses.dataclass
class Sheet:
    """Vertices and regions as they are drawn. ``base`` is the number of the base line's first
    vertex over the pad, ``first`` the number of the pad's own first vertex."""

    base: int
    first: int
    numbers: dict[Hashable, int] = dataclasses.field(default_factory=dict)
    places: list[tuple[Length, Length]] = dataclasses.field(default_factory=list)
    regions: list[Region] = dataclasses.field(default_factory=list)

    def mark(self, name: Hashable, x: Length, y: Length) -> None:
        """Give a vertex its place."""
        assert name not in self.numbers, f"{name} drawn twice"
        self.numbers[name] = self.first + len(self.places)
        self.places.append((x, y))

    def mark_line(self, line: SkinLine) -> None:
        """Give all vertices of a skin's face their places."""
        for k, x in enumerate(line.x):
            self.mark((line.name, k), x, line.y)

    def base_line(self, line: SkinLine) -> None:
        """Take the vertices of the base layer's face, which the finger numbers."""
        self.numbers |= {(line.name, k): self.base + k for k in range(len(line.x))}

    def quad(
        self,
        place: str,
        corners: Sequence[Hashable],
        edges: tuple[str, str],
        *,
        mirrored: bool = False,
    ) -> None:
        """Draw a region; ``mirrored`` when the corners as given run clockwise."""
        a, b, c, d = (self.numbers[corner] for corner in corners)
        turned = (b, a, d, c) if mirrored else (a, b, c, d)
        self.regions.append(Region(Place(place), turned, edges))

    def skin(self, place: str, upper: SkinLine, lower: SkinLine) -> None:
        """Draw a skin between its two faces."""
        u, w = upper.name, lower.name
        for k in range(len(upper.x) - 1):
            self.quad(place, [(w, k), (w, k + 1), (u, k + 1), (u, k)], ("column", "skin"))


@dataclasses.dataclass(frozen=True)
class Joint:
    """Vertices of an end wall's inner side where something meets it, from above down."""

    names: tuple[Hashable, ...]
    y: tuple[Length, ...]


def draw_wall(
    sheet: Sheet, side: str, upper: SkinLine, lower: SkinLine, joints: Sequence[Joint], layer: str
) -> None:
    """Draw an end wall (``root`` or ``tip``) piece by piece between two skins.

    The joints' vertices on the inner side are marked here; each piece beside a joint is divided
    like what meets it there.
    """
    at_root = side == "root"
    inner, outer = (START + END_WALL, START) if at_root else (END - END_WALL, END)
    foot, (far, near) = (0, (0, 1)) if at_root else (-1, (1, 0))
    place = f"pad's end wall at the {side}"
    above = upper.at(foot, near), upper.at(foot, far)
    pieces: list[tuple[tuple[Hashable, Hashable], str]] = []
    for number, joint in enumerate(joints):
        for k, (name, y) in enumerate(zip(joint.names, joint.y, strict=True)):
            sheet.mark(name, inner, y)
            beside = (layer, side, number, k)
            sheet.mark(beside, outer, y)
            pieces.append(((name, beside), "column" if k else "strut"))
    pieces.append(((lower.at(foot, near), lower.at(foot, far)), "strut"))
    for below, along in pieces:
        corners = [below[1], below[0], above[0], above[1]]
        sheet.quad(place, corners, ("column", along), mirrored=not at_root)
        above = below


GAP_COLUMNS = 2
"""Columns of a skin between two feet."""


def skin_under(name: str, y: Length, feet: Sequence[Foot]) -> SkinLine:
    """The upper face of a skin with nothing on its lower one."""
    starts, count = [], 0
    for foot in feet:
        starts.append(count)
        count += foot.width + GAP_COLUMNS
    return line_under(name, y, feet, tuple(starts), count - GAP_COLUMNS)


def skin_between(
    names: tuple[str, str],
    y: tuple[Length, Length],
    feet: tuple[Sequence[Foot], Sequence[Foot]],
    order: str,
) -> tuple[SkinLine, SkinLine]:
    """Both faces of a skin with feet on each, all two columns wide but for the end walls.

    Opposite a foot, the other face is divided at the same x; two feet that share their columns
    are joined by leaning ones.

    Parameters
    ----------
    feet : on the upper and on the lower face, end walls included
    order : which foot comes next, as ``columns.merged`` tells it
    """
    own: tuple[list[Foot], list[Foot]] = ([], [])
    starts: tuple[list[int], list[int]] = ([], [])
    lines: tuple[list[tuple[int, Foot]], list[tuple[int, Foot]]] = ([], [])
    count = 0
    for kind in ("B", *order, "B"):
        pair = [
            feet[side][len(own[side])] if kind in ("B", "UL"[side]) else None for side in (0, 1)
        ]
        shown = [here or other for here, other in (pair, pair[::-1])]
        for side, (mine, seen) in enumerate(zip(pair, shown, strict=True)):
            assert seen is not None
            lines[side].append((count, seen))
            if mine is not None:
                own[side].append(mine)
                starts[side].append(count)
        assert shown[0] is not None
        count += shown[0].width + GAP_COLUMNS
    found = []
    for side in (0, 1):
        at = tuple(start for start, _ in lines[side])
        everything = [foot for _, foot in lines[side]]
        line = line_under(names[side], y[side], everything, at, count - GAP_COLUMNS)
        found.append(dataclasses.replace(line, starts=tuple(starts[side])))
    return found[0], found[1]

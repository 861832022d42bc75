"""The pad without its sizes: which vertices make which regions, by kinds and counts alone."""

from __future__ import annotations

import dataclasses
import math
from functools import cached_property
from typing import Any, Protocol

import numpy as np
from jaxtyping import Float

from fiddlehead.finger.pad.columns import Proportions, base_columns_for, merged
from fiddlehead.finger.pad.honeycomb import Honeycomb
from fiddlehead.finger.pad.lengths import ZERO, evaluate, matrix, named
from fiddlehead.finger.pad.measures import pad_measures
from fiddlehead.finger.pad.parameters import LATTICES, CellKind, PadParameters
from fiddlehead.finger.pad.ribs import Ribs
from fiddlehead.finger.pad.sheet import Foot, Sheet, SkinLine, line_under, skin_between, skin_under
from fiddlehead.finger.pad.squares import RotatingSquares
from fiddlehead.finger.regions import Region


class Layer(Protocol):
    """Something that stands between two skins."""

    def feet(self, *, lower: bool) -> tuple[Foot, ...]:
        """Feet on the skin above or below, end walls included."""

    def draw(self, sheet: Sheet, upper: SkinLine, lower: SkinLine) -> None:
        """Draw all regions between the two skins."""


@dataclasses.dataclass(frozen=True, eq=False)
class PadDrawing:
    """Vertices of the pad as sums of named lengths, and its regions.

    ``base_x`` are the vertices of the base line over the pad; ``places`` the pad's own, numbered
    behind the finger's.
    """

    names: tuple[str, ...]
    base_x: Float[np.ndarray, "column name"]
    x: Float[np.ndarray, "vertex name"]
    y: Float[np.ndarray, "vertex name"]
    regions: tuple[Region, ...]
    contact: frozenset[int]
    """Vertices of the gripping face."""
    ends: tuple[int, int]
    """Vertices at the gripping face's ends, at the root and at the tip."""


@dataclasses.dataclass(frozen=True)
class PadLayout:
    """Kinds and counts of a pad.

    ``lean_fifths`` (lean of the ribs, in fifths of their spacing) and ``above`` are rounded from
    the sizes: they choose the columns the pad stands on, nothing else.
    """

    rib_count: int
    cells: CellKind
    cell_count: int
    cell_rows: int
    lean_fifths: int
    above: Proportions | None
    middle: str
    """Order of the feet on the middle skin (``columns.merged``)."""

    @property
    def plain(self) -> bool:
        """Whether it is one solid layer."""
        return not self.layers

    @cached_property
    def layers(self) -> tuple[Layer, ...]:
        """What has voids, from the base layer down."""
        found: list[Layer] = []
        if self.rib_count:
            across = 2 if self.cells in LATTICES else 1  # as many as struts, which share their feet
            found.append(Ribs(self.rib_count, self.lean_fifths, across))
        if self.cells in LATTICES:
            kind = RotatingSquares if self.cells == "rotating squares" else Honeycomb
            found.append(kind(self.cell_count, self.cell_rows))
        return tuple(found)

    @property
    def base_splits(self) -> tuple[int, ...]:
        """Columns of each part of the base layer over the pad, from station 1 to the tip."""
        return self._on_base[0]

    @property
    def _on_base(self) -> tuple[tuple[int, ...], tuple[int, ...]]:
        assert self.above is not None
        feet = self.layers[0].feet(lower=False)
        places, widths = tuple(f.place for f in feet), tuple(f.width for f in feet)
        return base_columns_for(places, widths, self.above)

    def draw(self, base: int, first: int) -> PadDrawing:
        """Draw the pad.

        Parameters
        ----------
        base : number of the base line's first vertex over the pad
        first : number of the pad's first own vertex
        """
        splits, starts = self._on_base
        sheet = Sheet(base, first)
        above = self.layers[0].feet(lower=False)
        upper = line_under("base", ZERO, above, starts, sum(splits))
        sheet.base_line(upper)
        base_x = upper.x
        for layer, below in zip(self.layers, [*self.layers[1:], None], strict=True):
            standing = layer.feet(lower=True)
            y = named("ribs bottom" if isinstance(layer, Ribs) else "cells bottom")
            if below is None:
                lower = skin_under("contact skin", y, standing)
                face = SkinLine("contact", named("contact"), lower.x, ())
            else:
                lower, face = skin_between(
                    ("middle skin", "cells"),
                    (y, named("cells top")),
                    (standing, below.feet(lower=False)),
                    self.middle,
                )
            for line in (lower, face):
                sheet.mark_line(line)
            layer.draw(sheet, upper, lower)
            sheet.skin(lower.name, lower, face)
            upper = face
        contact = [sheet.numbers[("contact", k)] for k in range(len(upper.x))]
        names = tuple(sorted({n for x, y in sheet.places for n, _ in (*x.terms, *y.terms)}))
        return PadDrawing(
            names,
            matrix(base_x, names),
            matrix([x for x, _ in sheet.places], names),
            matrix([y for _, y in sheet.places], names),
            tuple(sheet.regions),
            frozenset(contact),
            (contact[0], contact[-1]),
        )

    def vertices(
        self, drawing: PadDrawing, pad: Any, root: Any, length: Any, xp: Any
    ) -> tuple[Any, Any]:
        """x of the base line over the pad, and x and y of the pad's own vertices, mm."""
        measures = pad_measures(pad, self, root, length, xp)
        values = [measures[name] for name in drawing.names]
        own = [evaluate(factors, values, xp) for factors in (drawing.x, drawing.y)]
        return evaluate(drawing.base_x, values, xp), xp.stack(own, axis=1)


def pad_layout(pad: PadParameters, above: Proportions, span_mm: float) -> PadLayout:
    """Kinds and counts of a pad, with the rounded ratios that its columns follow.

    Parameters
    ----------
    pad : the pad
    above : of the bellows
    span_mm : length of the pad, from the root block to the tip
    """
    lattice = pad.cells in LATTICES
    lean = 0.0
    if pad.has_ribs:
        across = pad.rib_depth_mm / math.tan(math.radians(pad.rib_angle_deg))
        spacing = max(span_mm - abs(across), 1e-3) / (pad.rib_count + 1)
        lean = min(max(5 * across / spacing, -10.0 * pad.rib_count), 10.0 * pad.rib_count)
    layout = PadLayout(
        rib_count=int(pad.rib_count),
        cells=pad.cells,
        cell_count=int(pad.cell_count) if lattice else 0,
        cell_rows=int(pad.cell_rows) if lattice else 0,
        lean_fifths=round(lean),
        above=above if lattice or pad.has_ribs else None,
        middle="",
    )
    if len(layout.layers) < 2:
        return layout
    measures = pad_measures(pad, layout, 0.0, span_mm, np)
    ribs, cells = layout.layers
    sides = []
    for feet in (ribs.feet(lower=True)[1:-1], cells.feet(lower=False)[1:-1]):
        ends = [border for foot in feet for border in (foot.borders[0], foot.borders[-1])]
        x = matrix(ends, measures) @ np.array([float(value) for value in measures.values()])
        sides.append(list(zip(x[::2], x[1::2], strict=True)))
    return dataclasses.replace(layout, middle=merged(*sides))

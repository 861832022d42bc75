"""How fast searches find the front: hypervolume over true simulations."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from jaxtyping import Float

from fiddlehead.report.figures.style import DASHES, LINES, MARKERS, sheet, title
from fiddlehead.study.evolution import Search

if TYPE_CHECKING:
    from matplotlib.figure import Figure


@dataclass(frozen=True, eq=False)
class SearchPicture:
    """One line for each search.

    lines : name, simulations after each step, share of the best hypervolume reached by any
    """

    heading: str
    detail: str
    lines: tuple[tuple[str, Float[np.ndarray, " step"], Float[np.ndarray, " step"]], ...]


def search_picture(
    searches: Mapping[str, Search],
    reference: Float[np.ndarray, " objective"],
    heading: str,
    detail: str,
) -> SearchPicture:
    """The numbers of the picture; one reference point for all searches."""
    grown = {name: search.growth(reference) for name, search in searches.items()}
    best = max((float(g.max()) for g in grown.values() if len(g)), default=0.0) or 1.0
    return SearchPicture(
        heading,
        detail,
        tuple((n, searches[n].asked.astype(float), g / best) for n, g in grown.items()),
    )


def draw_search(picture: SearchPicture) -> Figure:
    """Steps, because the hypervolume only grows when designs come back."""
    with sheet(120.0, 80.0) as (figure, axes):
        for k, (name, asked, share) in enumerate(picture.lines):
            axes.step(asked, share, where="post", color=LINES[k % len(LINES)], label=name,
                      linestyle=DASHES[k % len(DASHES)], marker=MARKERS[k % len(MARKERS)],
                      markersize=3.0)  # fmt: skip
        axes.set_xlabel("true simulations")
        axes.set_ylabel("hypervolume, 1 = the largest reached")
        axes.set_ylim(0.0, 1.05)
        axes.set_xlim(left=0.0)
        axes.legend(loc="lower right")
        title(axes, picture.heading, picture.detail)
        return figure

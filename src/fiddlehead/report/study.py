"""A study on paper: ranking, pictures, tables in open formats.

results/
├── studies.sqlite  all designs of all studies
├── study/          front, parallel, matrix, effects, foretold, best (PNG and SVG);
│                   designs, ranking (Parquet and CSV); record.json
├── optimise/       search, front; searched.csv; record.json
└── tolerance/      odds; odds.csv; record.json
"""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

import numpy as np
from jaxtyping import Float

from fiddlehead.errors import ParameterError
from fiddlehead.files import write_text
from fiddlehead.project.load import Project
from fiddlehead.report.about import versions
from fiddlehead.report.export.tables import write_table
from fiddlehead.report.figures.study.designs import designs_picture, draw_designs
from fiddlehead.report.figures.study.effects import draw_effects, effects_picture
from fiddlehead.report.figures.study.foretold import draw_foretold, foretold_picture
from fiddlehead.report.figures.study.front import draw_front, front_picture
from fiddlehead.report.figures.study.matrix import draw_matrix, matrix_picture
from fiddlehead.report.figures.study.odds import draw_odds, odds_picture
from fiddlehead.report.figures.study.parallel import draw_parallel, parallel_picture
from fiddlehead.report.figures.study.search import draw_search, search_picture
from fiddlehead.report.figures.style import save
from fiddlehead.report.results import Written, write_result
from fiddlehead.study.definition import Study
from fiddlehead.study.evolution import Search
from fiddlehead.study.exports import write_frame
from fiddlehead.study.tolerance import Tolerance
from fiddlehead.study.understand import Understanding

MOST_COMPARED = 3
"""Designs beside the project's own."""


def detail_of(study: Study, designs: int) -> str:
    """The small print: how many designs, on which mesh."""
    again = "" if study.mesh == study.full_mesh else f"; best again on {study.full_mesh_name}"
    return f"{designs} designs on the {study.mesh_name} mesh{again}; study {study.name!r}"


def write_study(
    results: Path,
    project: Project,
    study: Study,
    found: Understanding,
    compared: Sequence[int] = (),
) -> Written:
    """Write everything that is told of a study.

    Parameters
    ----------
    compared : numbers of designs to put side by side; the best when empty

    Raises
    ------
    StoreError : the folder cannot be written
    ParameterError : no such design
    """
    detail = detail_of(study, len(found.frame))
    goals, rows, columns = study.goals, found.rows, found.columns

    def fill(folder: Path) -> None:
        head = f"{project.name}: "
        save(draw_front(front_picture(goals, columns, found.numbers, found.best,
                                      head + "objectives and front", detail)),
             folder, "front")  # fmt: skip
        save(draw_parallel(parallel_picture(study.space, goals, rows, columns, found.best,
                                            head + "all designs", detail)),
             folder, "parallel")  # fmt: skip
        save(draw_matrix(matrix_picture(study.space, goals, rows, columns, found.best,
                                        head + "goals over variables", detail)),
             folder, "matrix")  # fmt: skip
        if found.surrogate is not None:
            by = "by a Gaussian process, others averaged over their ranges; band 95 %"
            save(draw_effects(effects_picture(found.quantities, found.effects, found.indices,
                                              head + "main effects and Sobol indices",
                                              f"{detail}\n{by}")),
                 folder, "effects")  # fmt: skip
            save(draw_foretold(foretold_picture(found.surrogate.checked,
                                                head + "prediction without simulation",
                                                f"{detail}\neach design left out in turn")),
                 folder, "foretold")  # fmt: skip
        picture = side_by_side(study, found, compared, head + "side by side", detail)
        save(draw_designs(picture), folder, "best")
        write_frame(folder, "ranking", found.frame)
        write_text(folder / "record.json", _json(_record(project, study, found)))

    more = ("effects", "foretold") if found.surrogate else ()
    drawn = ("front", "best", "parallel", "matrix", *more)
    return write_result(results / "study", fill, "study", project.input_hash, drawn)


def side_by_side(
    study: Study, found: Understanding, compared: Sequence[int], heading: str, detail: str
) -> Any:
    """The project's own design beside some others, by number.

    Raises
    ------
    ParameterError : no such number, or a design that cannot be made
    """
    place = {int(number): k for k, number in enumerate(found.numbers)}
    unknown = [number for number in compared if number not in place]
    if unknown:
        raise ParameterError(
            "no such design in this study", found=str(unknown[0]),
            remedy="Numbers stand in ranking.csv.",
        )  # fmt: skip
    chosen = [place[number] for number in compared] or list(found.best)[:MOST_COMPARED]
    start = study.pattern.start(study.space.names)
    quantities = [q for q in study.goals.quantities if q not in study.space.names]
    own = study.pattern.design(start).finger
    told = {q: float("nan") for q in quantities}
    if found.surrogate is not None:
        with suppress(ParameterError):  # the project's own value may be none of the choices
            told = {q: float(p.mean[0]) for q, p in found.surrogate.predict([start]).items()}
    foretold = ", foretold" if any(value == value for value in told.values()) else ""
    cards = [(f"the project's own{foretold}", own, start, told)]
    for k in chosen:
        row = found.rows[k]
        values = {q: float(found.columns[q][k]) for q in quantities}
        cards.append((f"design {found.numbers[k]}", study.pattern.design(row).finger, row, values))
    return designs_picture(cards, study.goals, heading, detail)


def _record(project: Project, study: Study, found: Understanding) -> dict[str, Any]:
    return {
        "project": project.name,
        "input_hash_sha256": project.input_hash,
        "study": study.content(),
        "designs": len(found.frame),
        "best": [int(found.numbers[k]) for k in found.best],
        "surrogate": {
            name: {"q2": c.q2, "typical_error": c.typical_error, "band_held": c.inside,
                   "widened": c.widened}
            for name, c in (found.surrogate.checked.items() if found.surrogate else ())
        },
        "sobol_indices": {
            q: {n: {"first": float(a), "total": float(t)}
                for n, a, t in zip(i.variables, i.first, i.total, strict=True)}
            for q, i in zip(found.quantities, found.indices, strict=True)
        },
        "smallest_change": dataclasses.asdict(found.change) if found.change else None,
        "remarks": list(found.remarks),
        "versions": versions(),
    }  # fmt: skip


def _json(content: Any) -> str:
    return json.dumps(content, indent=2, ensure_ascii=False, default=str) + "\n"


def write_search(
    results: Path,
    project: Project,
    study: Study,
    searches: Mapping[str, Search],
    reference: Float[np.ndarray, " objective"],
) -> Written:
    """Write what searches found, side by side.

    Raises
    ------
    StoreError : the folder cannot be written
    """
    names = [goal.quantity for goal in study.goals.objectives]
    signs = [goal.sign for goal in study.goals.objectives]

    def fill(folder: Path) -> None:
        detail = f"{study.mesh_name} mesh; hypervolume of designs that keep all limits"
        head = f"{project.name}: hypervolume over simulations"
        save(draw_search(search_picture(searches, reference, head, detail)), folder, "search")
        for by, search in searches.items():
            table: dict[str, list[Any]] = {"design": list(range(1, len(search.rows) + 1))}
            for name in study.space.names:
                table[name] = [row[name] for row in search.rows]
            for k, name in enumerate(names):
                table[name] = list(signs[k] * search.costs[:, k])
            kept = set(search.front.tolist())
            table["on_front"] = [k in kept for k in range(len(search.rows))]
            write_table(folder / f"{by}.csv", table)
        grown = {
            by: {"simulations": s.asked.tolist(), "hypervolume": s.growth(reference).tolist()}
            for by, s in searches.items()
        }
        write_text(
            folder / "record.json",
            _json({"study": study.content(), "reference": list(reference), "searches": grown}),
        )

    return write_result(results / "optimise", fill, "optimise", project.input_hash, ("search",))


def write_tolerance(
    results: Path, project: Project, study: Study, found: Tolerance, design: str
) -> Written:
    """Write the odds of one design.

    Raises
    ------
    StoreError : the folder cannot be written
    """

    def fill(folder: Path) -> None:
        by = "a plane by the adjoint" if found.by == "adjoint" else "a surrogate"
        detail = f"{design}; {by} of {found.simulations} simulations on the {study.mesh_name} mesh"
        save(draw_odds(odds_picture(found, f"{project.name}: printing scatter", detail)),
             folder, "odds")  # fmt: skip
        write_table(folder / "odds.csv", odds_columns(found))
        record = dataclasses.asdict(found)
        for limit in record["limits"]:
            del limit["draws"]
        write_text(folder / "record.json", _json({"design": design, **record}))

    return write_result(results / "tolerance", fill, "tolerance", project.input_hash, ("odds",))


def odds_columns(found: Tolerance) -> dict[str, list[Any]]:
    """One row for each limit."""
    rows = found.limits
    return {
        "limit": [row.limit.says for row in rows],
        "chance_percent": [100.0 * row.chance for row in rows],
        "chance_with_model_error_percent": [
            f"{100 * row.chance_low:.1f} to {100 * row.chance_high:.1f}" for row in rows
        ],
        "middle": [row.middle for row in rows],
        "standard_deviation": [row.sd for row in rows],
        "worst_by_model": [row.worst for row in rows],
        "worst_simulated": ["" if r.worst_simulated is None else r.worst_simulated for r in rows],
        "causes_that_matter": [", ".join(row.matter) for row in rows],
    }
